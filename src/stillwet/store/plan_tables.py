"""Plans and the routes in them: kept, never changed, each once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, TypeAlias, cast

from stillwet.domain.codec import CodecError, from_text, text_hash, to_text
from stillwet.domain.crew_plan import CrewPlan
from stillwet.domain.line_plan import LinesPlan
from stillwet.domain.plan import Plan
from stillwet.errors import Problem, StillwetError
from stillwet.store.geopackage import extent, line_blob
from stillwet.store.job_file import JobFile, iso
from stillwet.store.job_tables import sound

AnyPlan: TypeAlias = Plan | CrewPlan | LinesPlan


class PlanKind(StrEnum):
    """What a kept plan is of."""

    COATS = "coats"
    CREWS = "crews"
    LINES = "lines"


_RECORDS: dict[PlanKind, Any] = {
    PlanKind.COATS: Plan,
    PlanKind.CREWS: CrewPlan,
    PlanKind.LINES: LinesPlan,
}


@dataclass(frozen=True, slots=True)
class Made:
    """What a plan was made from: the hash of its inputs, the model's version, seed and members."""

    input_hash: str
    model_version: str
    seed: int
    members: int


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """One line of the list of plans."""

    row: int
    plan_id: str
    kind: PlanKind
    made_s: float
    made: Made


def keep_plan(job_file: JobFile, plan: AnyPlan, made: Made) -> bool:
    """Keep a plan beside those kept before; False when the very same answer is there already.

    Two plans are the same when only the moment of making differs.
    """
    kind = _kind_of(plan)
    text = to_text(plan, _RECORDS[kind])
    answer = text_hash(to_text(replace(plan, made_s=0.0), _RECORDS[kind]))
    with job_file.writing() as connection:
        added = connection.execute(
            "INSERT OR IGNORE INTO plans (plan_id, kind, made_s, model_version, seed, members, "
            "input_hash, answer_hash, record) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                plan.id,
                kind.value,
                plan.made_s,
                made.model_version,
                made.seed,
                made.members,
                made.input_hash,
                answer,
                text,
            ),
        )
        if added.rowcount != 1:
            return False
        if isinstance(plan, CrewPlan):
            _add_routes(job_file, plan, int(added.lastrowid or 0))
    return True


def kept_plans(job_file: JobFile) -> tuple[KeptPlan, ...]:
    """All plans in the file, oldest first."""
    with job_file.reading() as connection:
        rows = connection.execute(
            "SELECT id, plan_id, kind, made_s, input_hash, model_version, seed, members "
            "FROM plans ORDER BY id"
        ).fetchall()
    return tuple(
        KeptPlan(row, plan_id, PlanKind(kind), made_s, Made(*made))
        for row, plan_id, kind, made_s, *made in rows
    )


def load_plan(job_file: JobFile, row: int) -> AnyPlan:
    """One kept plan by its row in the list."""
    with job_file.reading() as connection:
        found = connection.execute("SELECT kind, record FROM plans WHERE id = ?", (row,)).fetchone()
    if found is None:
        raise StillwetError(Problem("plan", "one of the plans kept", str(row), str(job_file.path)))
    try:
        return cast(AnyPlan, from_text(found[1], _RECORDS[PlanKind(found[0])]))
    except CodecError as error:
        raise StillwetError(
            Problem("plan", "a sound record", str(error), str(job_file.path))
        ) from error


def _kind_of(plan: AnyPlan) -> PlanKind:
    return next(kind for kind, record in _RECORDS.items() if isinstance(plan, record))


def _add_routes(job_file: JobFile, plan: CrewPlan, plan_row: int) -> None:
    connection = job_file.connection
    (srs_id,) = connection.execute(
        "SELECT srs_id FROM gpkg_geometry_columns WHERE table_name = 'routes'"
    ).fetchone()
    for run in plan.crews:
        track = [run.start_at_m, *((step.x_m, step.y_m) for step in run.steps)]
        if len(track) < 2:
            continue
        connection.execute(
            "INSERT INTO routes (geom, plan_row, plan_id, crew_id, crew_name, stops, start_s, "
            "end_s) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (
                line_blob(track, srs_id),
                plan_row,
                plan.id,
                sound(run.crew_id),
                sound(run.name),
                len(run.steps),
                float(run.start_s),
                float(run.end_s),
            ),
        )
    _widen(job_file, plan)


def _widen(job_file: JobFile, plan: CrewPlan) -> None:
    """Let the layer's extent take in the new routes."""
    box = extent([(step.x_m, step.y_m) for run in plan.crews for step in run.steps])
    starts = extent([run.start_at_m for run in plan.crews if run.steps])
    for west, south, east, north in filter(None, (box, starts)):
        job_file.connection.execute(
            "UPDATE gpkg_contents SET min_x = min(ifnull(min_x, ?1), ?1), "
            "min_y = min(ifnull(min_y, ?2), ?2), max_x = max(ifnull(max_x, ?3), ?3), "
            "max_y = max(ifnull(max_y, ?4), ?4), last_change = ?5 WHERE table_name = 'routes'",
            (west, south, east, north, iso(plan.made_s)),
        )
