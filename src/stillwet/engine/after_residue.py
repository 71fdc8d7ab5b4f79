"""Gel still on faces and gel washed off; and what is still to be done, with its times."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from stillwet.domain.after import Due, DueKind, Residue, ResidueRow
from stillwet.domain.assets import Asset
from stillwet.domain.job import Job
from stillwet.domain.left import FaceLeft, Left
from stillwet.domain.log import Entry, Fate, FirePassed, Outcome, WashedOff
from stillwet.domain.plan import Plan, Verdict
from stillwet.domain.suitability import Task
from stillwet.engine.log_coats import LoggedCoats
from stillwet.engine.prepared import Prepared
from stillwet.engine.suitability import task_of
from stillwet.engine.surroundings import Surroundings, asset_shape, surroundings_of
from stillwet.tables import load_table
from stillwet.units import from_si

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


def setting(name: str) -> float:
    """One value of data/after.toml."""
    return float(load_table("after")["after"][name]["value"])


@dataclass(frozen=True, slots=True)
class Passing:
    """What the log says of fire at an asset: when it passed, and what became of the asset."""

    passed_s: float | None = None
    fate: Fate | None = None


def passings(entries: Iterable[Entry]) -> dict[str, Passing]:
    """By asset, from the standing entries in order: the last word counts."""
    found: dict[str, Passing] = {}
    for entry in entries:
        body = entry.body
        if isinstance(body, FirePassed):
            known = found.get(body.asset_id, Passing())
            found[body.asset_id] = Passing(entry.when_s, known.fate)
        elif isinstance(body, Outcome):
            known = found.get(body.asset_id, Passing())
            found[body.asset_id] = Passing(known.passed_s, body.fate)
    return found


def residue_of(
    prepared: Prepared, logged: LoggedCoats, entries: Iterable[Entry]
) -> tuple[ResidueRow, ...]:
    """Every face that has been coated, those still to be washed first, the longest due on top."""
    told = tuple(entries)
    around, met, washed = surroundings_of(prepared.job), passings(told), _washings(told)
    by_id = {asset.id: asset for asset in prepared.job.assets}
    rows = []
    for face, laid_s in _coated(logged).items():
        surface = prepared.surfaces[face]
        asset, done = by_id[surface.asset_id], washed.get(surface.id)
        passing = met.get(asset.id, Passing())
        is_washed = face in logged.washed and done is not None
        rows.append(
            ResidueRow(
                surface_id=surface.id,
                asset_id=asset.id,
                asset_name=asset.name,
                label=surface.label,
                state=_state(asset, passing, is_washed=is_washed),
                coats=max(1, sum(one.face == face for one in logged.coats)),
                laid_s=laid_s,
                washed_s=done.when_s if is_washed and done else None,
                washed_by=done.writer if is_washed and done else "",
                due_s=danger_over_s(prepared.job, asset, passing) + setting("wash_within"),
                wary=wary_of(asset, around),
            )
        )
    order = tuple(Residue)
    return tuple(sorted(rows, key=lambda row: (order.index(row.state), row.due_s, row.surface_id)))


def _coated(logged: LoggedCoats) -> dict[int, float]:
    """Every face that has gel on it, with when; how much there is matters to nobody who washes."""
    measured = {face: logged.coats[coat].laid_s for face, coat in logged.latest.items()}
    return {**measured, **logged.unmeasured}


def _washings(entries: tuple[Entry, ...]) -> dict[str, Entry]:
    """The last washing of each face."""
    return {
        name: entry
        for entry in entries
        if isinstance(entry.body, WashedOff)
        for name in entry.body.surface_ids
    }


def _state(asset: Asset, passing: Passing, *, is_washed: bool) -> Residue:
    if is_washed:
        return Residue.CLOSED
    if passing.fate is Fate.LOST:
        return Residue.GONE
    # Trade rule 10 asks it of structures (common practice, no source).
    return Residue.OPEN if task_of(asset) is not Task.VEGETATION else Residue.LEFT


def danger_over_s(job: Job, asset: Asset, passing: Passing) -> float:
    """When washing may begin: an ember period after the front passed, or was last expected."""
    front_s = asset.fire.arrival_to_s if passing.passed_s is None else passing.passed_s
    return front_s + job.practice.ember_period_s


def wary_of(asset: Asset, around: Surroundings) -> tuple[str, ...]:
    """What is near that wash water must not reach."""
    tank = ("its roof feeds a tank",) if asset.site.collects_rain else ()
    return (*near_water(asset_shape(asset), around), *tank)


def near_water(shape: BaseGeometry, around: Surroundings) -> tuple[str, ...]:
    """Waterways and wells so near a shape that gel there is watched, with their distance."""
    water_m, well_m = around.to_water_m(shape), around.to_well_m(shape)
    found = []
    if water_m is not None and water_m < setting("wary_of_water"):
        found.append(f"a waterway {water_m:.0f} m ({from_si(water_m, 'ft'):.0f} ft) away")
    if well_m is not None and well_m < setting("wary_of_wells"):
        found.append(f"a well or spring {well_m:.0f} m ({from_si(well_m, 'ft'):.0f} ft) away")
    return tuple(found)


def due_of(
    job: Job,
    plan: Plan,
    left: Left,
    residue: tuple[ResidueRow, ...],
    entries: Iterable[Entry],
) -> tuple[tuple[Due, ...], tuple[str, ...]]:
    """What is still to be done, in order of time, and notes on what can no longer be done."""
    met = passings(entries)
    again, notes = _recoats(job, plan, left, met)
    due = [*again, *_washes(job, residue, met, left.now_s)]
    return tuple(sorted(due, key=lambda one: (one.from_s, one.asset_id))), notes


def _recoats(
    job: Job, plan: Plan, left: Left, met: Mapping[str, Passing]
) -> tuple[list[Due], tuple[str, ...]]:
    """A fresh coat where the one on the face is not sure to meet the fire that is still to come.

    By the time that fewer than nine cases in ten hold, and gone by the plan's egress lead.
    """
    work = {asset.asset_id: asset.work_s for asset in plan.assets}
    due, late = [], []
    for asset_id, faces in _weak_faces(job, plan, left, met).items():
        gone_s = min(face.fire_from_s for face in faces) - job.practice.egress_lead_s
        by_s = min(gone_s, max(min(face.hold_90_s for face in faces), left.now_s))
        if gone_s <= left.now_s + work[asset_id]:
            late.append(faces[0].asset_name)
            continue
        by_s = max(by_s, left.now_s + work[asset_id])
        due.append(
            Due(
                kind=DueKind.RECOAT,
                asset_id=asset_id,
                asset_name=faces[0].asset_name,
                faces=tuple(face.label for face in faces),
                from_s=by_s - work[asset_id],
                to_s=by_s,
                words="A fresh coat: wetting a dried one again is not counted as restoring it. "
                "Escape route and safety zone first.",
            )
        )
    notes = (
        (f"no time is left to coat again: {', '.join(late)}. Nobody stays there",) if late else ()
    )
    return due, notes


def _weak_faces(
    job: Job, plan: Plan, left: Left, met: Mapping[str, Passing]
) -> dict[str, list[FaceLeft]]:
    """By asset that fire is still to come to: coated faces that are not sure to meet it.

    Where the plan allows no coat none is laid again.
    """
    banned = {one.asset_id for one in plan.assets if one.verdict is Verdict.DO_NOT_COAT}
    by_id = {asset.id: asset for asset in job.assets}
    weak: dict[str, list[FaceLeft]] = {}
    for face in left.faces:
        passing = met.get(face.asset_id, Passing())
        is_over = danger_over_s(job, by_id[face.asset_id], passing) < left.now_s
        is_weak = face.verdict is not Verdict.HOLDS or bool(face.flags)
        if is_weak and face.asset_id not in banned and passing.passed_s is None and not is_over:
            weak.setdefault(face.asset_id, []).append(face)
    return weak


def _washes(
    job: Job, residue: tuple[ResidueRow, ...], met: Mapping[str, Passing], now_s: float
) -> list[Due]:
    by_id = {asset.id: asset for asset in job.assets}
    open_rows: dict[str, list[ResidueRow]] = {}
    for row in residue:
        if row.state is Residue.OPEN:
            open_rows.setdefault(row.asset_id, []).append(row)
    found = []
    for asset_id, rows in open_rows.items():
        over_s = danger_over_s(job, by_id[asset_id], met.get(asset_id, Passing()))
        from_s = max(over_s, now_s)
        found.append(
            Due(
                kind=DueKind.WASH_OFF,
                asset_id=asset_id,
                asset_name=rows[0].asset_name,
                faces=tuple(row.label for row in rows),
                from_s=from_s,
                to_s=max(rows[0].due_s, from_s + 3600.0),
                words="Only once the danger has passed and the incident's command says so. Gel is "
                "slippery: from the ground or a ladder, nobody on the roof.",
                wary=rows[0].wary,
            )
        )
    return found
