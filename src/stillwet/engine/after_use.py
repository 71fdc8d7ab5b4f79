"""What was used, per asset and per crew, against what was planned; and what it cost."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from stillwet.domain.after import Amounts, AssetUse, Cost, CrewUse, LineUse, StockUse
from stillwet.domain.crew_plan import CrewPlan, CrewRun, StepKind
from stillwet.domain.job import Job
from stillwet.domain.log import CoatLaid, Entry, Stock
from stillwet.domain.plan import Plan, SurfacePlan
from stillwet.domain.products import Crew, Product, RatioBasis
from stillwet.engine.after_lines import Stretch, planned_amounts, wetted_work
from stillwet.engine.after_work import LaidWork, WorkSum
from stillwet.engine.line_work import crew_of
from stillwet.engine.mixing import (
    MIX_DENSITY_KG_M3,
    concentrate_share,
    packs_for,
    water_share,
)
from stillwet.engine.quantities import amount_for, reference_crew


def laid_work(
    job: Job,
    plan: Plan,
    entries: Iterable[Entry],
    stretches: Mapping[str, Stretch] | None = None,
) -> tuple[LaidWork, ...]:
    """What each logged coat took on each asset, and each wetting along the lines.

    An amount of mix counts as it is, shared by area; a coat read off the face, and one laid as
    planned, count as the mix they need at the job's transfer efficiency.
    """
    told = tuple(entries)
    wetted = wetted_work(job, stretches or {}, told)
    planned = {face.surface.id: face for asset in plan.assets for face in asset.surfaces}
    found: list[LaidWork] = []
    at: dict[str, str] = {}  # where each crew was last
    for entry in told:
        if entry.id in wetted:
            found.append(wetted[entry.id])
            at[wetted[entry.id].crew_id] = ""  # away from any asset
        if isinstance(entry.body, CoatLaid):
            for work in _of_entry(job, planned, entry, entry.body):
                found.append(work if at.get(work.crew_id) == work.place_id else _set_up(job, work))
                at[work.crew_id] = work.place_id
    return tuple(found)


def _set_up(job: Job, work: LaidWork) -> LaidWork:
    """The work with the setting up that comes before it, once a visit."""
    setup = Amounts(work_s=_crew(job, work.crew_id).setup_s)
    return replace(work, amounts=work.amounts + setup)


def _crew(job: Job, crew_id: str) -> Crew:
    return next((one for one in job.crews if one.id == crew_id), reference_crew(job))


def _of_entry(
    job: Job, planned: dict[str, SurfacePlan], entry: Entry, body: CoatLaid
) -> list[LaidWork]:
    crew = _crew(job, body.crew_id)
    faces = [planned[name] for name in body.surface_ids if name in planned]
    by_asset: dict[str, list[SurfacePlan]] = {}
    for face in faces:
        by_asset.setdefault(face.surface.asset_id, []).append(face)
    area_m2 = sum(face.surface.area_m2 for face in faces)
    is_said = body.mix_m3 is not None or body.coat_kg_m2 is not None
    works = []
    for asset_id, own in by_asset.items():
        sprayed = sum((_of_face(job, face, body, crew, area_m2) for face in own), Amounts())
        if sprayed.mix_m3 > 0.0:
            works.append(LaidWork(asset_id, body.crew_id, entry.when_s, sprayed, is_said))
    return works


def _of_face(job: Job, face: SurfacePlan, body: CoatLaid, crew: Crew, area_m2: float) -> Amounts:
    ratio = face.mix_ratio if body.ratio is None else body.ratio
    if body.mix_m3 is not None:
        mix = body.mix_m3 * face.surface.area_m2 / area_m2
        return Amounts(
            mix,
            mix * water_share(job.product, ratio),
            mix * concentrate_share(job.product, ratio),
            mix / crew.spray_flow_m3_s,
        )
    took = amount_for(
        job.product,
        area_m2=face.surface.area_m2,
        coat_kg_m2=face.coat_kg_m2 if body.coat_kg_m2 is None else body.coat_kg_m2,
        ratio=ratio,
        transfer_efficiency=job.practice.transfer_efficiency,
        flow_m3_s=crew.spray_flow_m3_s,
    )
    return Amounts(took.mix_m3, took.water_m3, took.concentrate_m3, took.spray_s)


def asset_use(plan: Plan, works: Iterable[LaidWork]) -> tuple[AssetUse, ...]:
    """Every asset that was planned to be coated or was, in the plan's order."""
    sums: dict[str, WorkSum] = {}
    for work in works:
        if not work.is_line:
            sums.setdefault(work.place_id, WorkSum()).add(work)
    rows = []
    for asset in plan.assets:
        own = sums.get(asset.asset_id, WorkSum())
        if asset.mix_m3 > 0.0 or own.coats:
            asked = Amounts(asset.mix_m3, asset.water_m3, asset.concentrate_m3, asset.work_s)
            rows.append(
                AssetUse(asset.asset_id, asset.name, asked, own.amounts, own.coats, own.said)
            )
    return tuple(rows)


def crew_use(
    job: Job,
    day: CrewPlan | None,
    works: Iterable[LaidWork],
    entries: Iterable[Entry],
    stretches: Mapping[str, Stretch] | None = None,
) -> tuple[CrewUse, ...]:
    """Every crew of the job, and whoever else is named in the log.

    Planned is a crew's day and the lines that it is to wet.
    """
    on_lines = _on_lines(job, stretches or {})
    sums: dict[str, WorkSum] = {}
    for work in works:
        sums.setdefault(work.crew_id, WorkSum()).add(work)
    told = [entry for entry in entries if isinstance(entry.body, Stock)]
    names = {crew.id: crew.name for crew in job.crews}
    runs = {} if day is None else {run.crew_id: run for run in day.crews}
    strangers = {*sums, *(_stock(entry).crew_id for entry in told)} - set(names)
    rows = []
    for crew_id in (*names, *sorted(strangers)):
        own, asked = sums.get(crew_id, WorkSum()), None
        if day is not None:
            asked = _planned(job, runs.get(crew_id)) + on_lines.get(crew_id, Amounts())
        rows.append(
            CrewUse(
                crew_id=crew_id,
                name=names.get(crew_id, crew_id or "crew not named"),
                planned=asked,
                used=own.amounts,
                coats=own.coats,
                said=own.said,
                first_s=min(own.times_s, default=None),
                last_s=max(own.times_s, default=None),
                stock=_stock_use(job, crew_id, told),
            )
        )
    return tuple(rows)


def _on_lines(job: Job, stretches: Mapping[str, Stretch]) -> dict[str, Amounts]:
    """By crew: what the plan of the lines asks of it."""
    found: dict[str, Amounts] = {}
    for stretch in stretches.values():
        asked = planned_amounts(stretch)
        if asked is not None:
            crew_id = crew_of(job, stretch.line).id
            found[crew_id] = found.get(crew_id, Amounts()) + asked
    return found


def _planned(job: Job, run: CrewRun | None) -> Amounts:
    """What a crew's day asks of it: its visits."""
    total = Amounts()
    for step in () if run is None else run.steps_of(StepKind.COAT):
        water = step.amount_m3 * water_share(job.product, step.mix_ratio or 0.0)
        total += Amounts(step.amount_m3, water, step.concentrate_m3, step.finish_s - step.start_s)
    return total


def _stock(entry: Entry) -> Stock:
    assert isinstance(entry.body, Stock)
    return entry.body


def _stock_use(job: Job, crew_id: str, told: list[Entry]) -> StockUse | None:
    """What a crew used by its stock entries, in order of what happened; None without any."""
    own = [_stock(entry) for entry in told if _stock(entry).crew_id == crew_id]
    if not own:
        return None
    crew = next((one for one in job.crews if one.id == crew_id), None)
    water_m3 = None if crew is None else crew.water_m3
    if crew is not None and water_m3 is None:
        water_m3 = crew.tank_m3  # as the crews' day takes it: a full tank at the start
    water_gone = _gone(water_m3, [(one.water_taken_m3, one.water_left_m3) for one in own])
    gone = _gone(
        None if crew is None else crew.concentrate_m3,
        [(one.concentrate_taken_m3, one.concentrate_left_m3) for one in own],
    )
    return StockUse(
        water_m3=water_gone,
        concentrate_m3=gone,
        taken_water_m3=sum(one.water_taken_m3 or 0.0 for one in own),
        taken_concentrate_m3=sum(one.concentrate_taken_m3 or 0.0 for one in own),
        ratio=_ratio(job.product, water_gone, gone),
    )


def _ratio(product: Product, water_m3: float | None, concentrate_m3: float | None) -> float | None:
    """The ratio of a mix of so much water and concentrate, in the product's basis."""
    if water_m3 is None or concentrate_m3 is None or min(water_m3, concentrate_m3) <= 0.0:
        return None
    if product.ratio_basis is RatioBasis.VOLUME:
        return concentrate_m3 / (water_m3 + concentrate_m3)
    powder_kg = concentrate_m3 * product.density_kg_m3
    return powder_kg / (water_m3 * MIX_DENSITY_KG_M3)  # the inverse of concentrate_share


def _gone(first: float | None, moves: list[tuple[float | None, float | None]]) -> float | None:
    """What has gone by the last look at what is left; None without a look or a first amount.

    Of an entry with both, what was taken is in what is left. What is taken later is still there.
    """
    taken, gone = 0.0, None
    for took, left in moves:
        taken += took or 0.0
        if left is not None and first is not None:
            gone = first + taken - left
    return gone


def stock_notes(job: Job, crews: Iterable[CrewUse]) -> tuple[str, ...]:
    """Stock that cannot be right, or that says a mix was off its label."""
    notes = []
    for crew in crews:
        stock = crew.stock
        if stock is None:
            continue
        for what, gone in (("water", stock.water_m3), ("concentrate", stock.concentrate_m3)):
            if gone is not None and gone < 0.0:
                notes.append(
                    f"{crew.name}: more {what} left than it had and took; look at its stock entries"
                )
        low, high = job.product.ratio_low, job.product.ratio_high
        if stock.ratio is not None and not low <= stock.ratio <= high:
            notes.append(
                f"{crew.name}: {100.0 * stock.ratio:.2f} % by its own count, the label says "
                f"{100.0 * low:.2f} to {100.0 * high:.2f} %; check the proportioner, and whether "
                "water was used for anything else"
            )
    return tuple(notes)


def cost_of(job: Job, plan: Plan, crews: Iterable[CrewUse], lines: Iterable[LineUse] = ()) -> Cost:
    """Packs planned, and packs opened: by a crew's own count where it took stock, else by coats."""
    total, by_stock = 0.0, []
    for crew in crews:
        counted = None if crew.stock is None else crew.stock.concentrate_m3
        if counted is not None and counted >= 0.0:
            by_stock.append(crew.name)
            total += counted
        else:
            total += crew.used.concentrate_m3
    packs = packs_for(job.product, total)
    on_lines = sum(row.planned.concentrate_m3 for row in lines if row.planned is not None)
    planned_packs, planned_cost = plan.load.packs, plan.load.cost
    if on_lines > 0.0:  # packs are whole for coats and lines together
        planned_packs = packs_for(job.product, plan.load.concentrate_m3 + on_lines)
        planned_cost = job.product.price(planned_packs)
    return Cost(
        planned_packs=planned_packs,
        planned_cost=None if job.product.pack_price is None else planned_cost,
        used_packs=packs,
        used_cost=job.product.price(packs),
        concentrate_m3=total,
        by_stock=tuple(by_stock),
        currency=job.currency,
    )
