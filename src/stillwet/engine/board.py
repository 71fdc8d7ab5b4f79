"""From what is left, the plan and the crews' plan to the wet board."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from stillwet.domain.assets import Asset
from stillwet.domain.board import Alarm, AlarmKind, Board, FaceRow, FaceState
from stillwet.domain.crew_plan import CrewPlan, StepKind
from stillwet.domain.job import Job
from stillwet.domain.left import FaceLeft, Left
from stillwet.domain.log import Entry, WeatherSeen
from stillwet.domain.plan import AssetPlan, Plan, SurfacePlan, Verdict

_ORDER = {state: number for number, state in enumerate(FaceState)}


def make_board(
    job: Job, plan: Plan, crew_plan: CrewPlan | None, left: Left, entries: Iterable[Entry]
) -> Board:
    """The board at the moment of ``left``; ``entries`` are those that stand."""
    rows = tuple(
        sorted(
            _rows(job, plan, crew_plan, left),
            key=lambda row: (_ORDER[row.state], row.key_s, row.surface_id),
        )
    )
    seen = [one.when_s for one in entries if _tells_weather(one) and one.when_s <= left.now_s]
    return Board(
        at_s=left.now_s,
        plan_id=plan.id,
        rows=rows,
        alarms=tuple(alarm for row in rows for alarm in _alarms(row, left.now_s)),
        left=left,
        weather_issued_s=job.weather.issued_s,
        weather_seen_s=max(seen, default=None),
    )


def _tells_weather(entry: Entry) -> bool:
    return isinstance(entry.body, WeatherSeen)


def _rows(job: Job, plan: Plan, crew_plan: CrewPlan | None, left: Left) -> Iterator[FaceRow]:
    coated = {face.surface_id: face for face in left.faces}
    fires = {asset.id: asset for asset in job.assets}
    visits = _visits(crew_plan)
    for asset in plan.assets:
        for face in asset.surfaces:
            found = coated.get(face.surface.id)
            is_due = face.mix_m3 > 0.0 and face.surface.id not in left.over
            if found is not None or is_due:
                visit = _next_visit(visits.get(face.surface.id, ()), found)
                yield _row(asset, face, fires[asset.asset_id], found, left.now_s, visit)


def _row(
    plan: AssetPlan,
    face: SurfacePlan,
    asset: Asset,
    found: FaceLeft | None,
    now_s: float,
    visit: tuple[str, float] | None,
) -> FaceRow:
    crew, at_s = visit or ("", None)
    return FaceRow(
        surface_id=face.surface.id,
        asset_id=plan.asset_id,
        asset_name=plan.name,
        label=face.surface.label,
        state=_state(face, found, now_s),
        left=found,
        coat_from_s=face.apply_from_s,
        coat_by_s=face.apply_until_s,
        fire_from_s=asset.fire.arrival_from_s,
        fire_to_s=asset.fire.arrival_to_s,
        crew=crew,
        crew_at_s=at_s,
    )


def _state(face: SurfacePlan, found: FaceLeft | None, now_s: float) -> FaceState:
    if found is not None and found.flags:
        return FaceState.LOOK
    if found is not None and found.verdict is Verdict.HOLDS:
        return FaceState.HOLDS
    if face.apply_until_s is None:
        return FaceState.NO_COAT
    if now_s > face.apply_until_s:
        return FaceState.TOO_LATE
    is_early = face.apply_from_s is not None and now_s < face.apply_from_s
    return FaceState.COAT_LATER if is_early else FaceState.COAT_NOW


def _visits(crew_plan: CrewPlan | None) -> dict[str, tuple[tuple[str, float], ...]]:
    """By face, who sprays it and when, in order."""
    found: dict[str, list[tuple[str, float]]] = {}
    for run in crew_plan.crews if crew_plan else ():
        for step in run.steps_of(StepKind.COAT):
            for work in step.faces:
                found.setdefault(work.surface_id, []).append((run.name, work.starts_s))
    return {name: tuple(sorted(who, key=lambda one: one[1])) for name, who in found.items()}


def _next_visit(
    visits: tuple[tuple[str, float], ...], found: FaceLeft | None
) -> tuple[str, float] | None:
    """The visit still to come; one that a logged coat has already answered is none."""
    done_s = float("-inf") if found is None else found.laid_s
    waiting = [visit for visit in visits if visit[1] > done_s]
    return waiting[0] if waiting else None


def _alarms(row: FaceRow, now_s: float) -> Iterator[Alarm]:
    if row.state is FaceState.LOOK:
        yield _alarm(row, AlarmKind.UNKNOWN, None)
    if row.state is FaceState.COAT_NOW:
        yield _alarm(row, AlarmKind.COAT_DUE, row.coat_by_s)
    runs_short = row.left is not None and row.left.verdict is not Verdict.HOLDS
    if runs_short and now_s < row.fire_to_s:
        yield _alarm(row, AlarmKind.BELOW_DEMAND, row.fire_from_s)


def _alarm(row: FaceRow, kind: AlarmKind, by_s: float | None) -> Alarm:
    laid = "" if row.left is None else f"{row.left.laid_s:.0f}"
    name = f"{row.surface_id}|{kind}|{laid}"
    flags = () if row.left is None or kind is not AlarmKind.UNKNOWN else row.left.flags
    return Alarm(name, kind, row.surface_id, row.asset_name, row.label, by_s, "; ".join(flags))
