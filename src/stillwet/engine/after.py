"""The account of a job: what was used, how the predictions did, what is left to clean and to do."""

from __future__ import annotations

from collections.abc import Iterable

from stillwet.domain.after import After, OutcomeRow, SpillRow
from stillwet.domain.crew_plan import CrewPlan
from stillwet.domain.line_plan import LinesPlan
from stillwet.domain.log import Entry, Spill
from stillwet.domain.plan import AssetPlan, Plan
from stillwet.engine.after_holding import (
    NOTHING_SEEN,
    Predicted,
    holding_of,
    predict,
    with_looks,
)
from stillwet.engine.after_lines import line_notes, line_use, stretches_of
from stillwet.engine.after_residue import Passing, due_of, passings, residue_of
from stillwet.engine.after_use import asset_use, cost_of, crew_use, laid_work, stock_notes
from stillwet.engine.inputs import table_inputs
from stillwet.engine.left import what_is_left
from stillwet.engine.log_coats import LoggedCoats, logged_coats
from stillwet.engine.prepared import Prepared

# By asset that the front has passed: the coat then on each face, and when it passed.
Fronts = dict[str, tuple[tuple[int, ...], float]]


def account_of(
    prepared: Prepared,
    plan: Plan,
    day: CrewPlan | None,
    entries: Iterable[Entry],
    *,
    now_s: float,
    seed: int,
    lines: LinesPlan | None = None,
) -> After:
    """The whole account at ``now_s``. ``entries`` are those that stand, in order.

    ``plan`` is the one that was worked by and must know every face of the job; ``day`` is the
    crews' plan and ``lines`` that of the lines, if there is one. Same job, plans, log and seed:
    same answer.
    """
    told = tuple(entry for entry in entries if entry.when_s <= now_s)
    job, met = prepared.job, passings(told)
    logged = logged_coats(prepared, plan, told)
    stretches = stretches_of(job, lines)
    works = laid_work(job, plan, told, stretches)
    crews = crew_use(job, day, works, told, stretches)
    wetted = line_use(job, stretches, works)
    left = what_is_left(prepared, plan, told, now_s=now_s, seed=seed)
    residue = residue_of(prepared, logged, told)
    due, late = due_of(job, plan, left, residue, told)
    fronts = _coats_at_fronts(prepared, logged, met)
    predicted = _predicted(prepared, logged, fronts, seed)
    return After(
        job_name=job.name,
        time_zone=job.time_zone,
        now_s=now_s,
        plan_id=plan.id,
        plan_made_s=plan.made_s,
        product_name=job.product.name,
        ratio_basis=job.product.ratio_basis.value,
        density_kg_m3=job.product.density_kg_m3,
        entries=len(told),
        assets=asset_use(plan, works),
        lines=wetted,
        crews=crews,
        cost=cost_of(job, plan, crews, wetted),
        holding=NOTHING_SEEN
        if predicted is None
        else holding_of(prepared, logged, predicted, seed=seed),
        learned=left.learned,
        residue=residue,
        outcomes=_outcomes(prepared, plan, logged, met, fronts, predicted),
        spills=_spills(told),
        due=due,
        trials=len(job.trials),
        notes=(
            *stock_notes(job, crews),
            *line_notes(job, stretches, works),
            *late,
            *logged.notes,
        ),
        cautions=left.cautions,
        inputs=(*left.inputs, *table_inputs("after")),
    )


def _predicted(
    prepared: Prepared, logged: LoggedCoats, fronts: Fronts, seed: int
) -> Predicted | None:
    """What was to be expected at every look, and after them at the coats that met a front."""
    if not logged.coats:
        return None
    moments = [(coat, when_s) for coats, when_s in fronts.values() for coat in coats]
    return predict(prepared, with_looks(logged, moments), seed=seed)


def _spills(entries: Iterable[Entry]) -> tuple[SpillRow, ...]:
    return tuple(
        SpillRow(
            when_s=entry.when_s,
            writer=entry.writer,
            substance=entry.body.substance,
            place=entry.body.place,
            amount_m3=entry.body.amount_m3,
            reached_water=entry.body.reached_water,
            note=entry.note,
        )
        for entry in entries
        if isinstance(entry.body, Spill)
    )


def _coats_at_fronts(prepared: Prepared, logged: LoggedCoats, met: dict[str, Passing]) -> Fronts:
    found: Fronts = {}
    for asset_id, passing in met.items():
        if passing.passed_s is None:
            continue
        last: dict[int, int] = {}
        for number, coat in enumerate(logged.coats):
            own = prepared.surfaces[coat.face].asset_id == asset_id
            if own and coat.laid_s <= passing.passed_s:
                last[coat.face] = number
        if last:
            found[asset_id] = (tuple(last.values()), passing.passed_s)
    return found


def _outcomes(
    prepared: Prepared,
    plan: Plan,
    logged: LoggedCoats,
    met: dict[str, Passing],
    fronts: Fronts,
    predicted: Predicted | None,
) -> tuple[OutcomeRow, ...]:
    """Every asset that was coated or of which the log tells fire or fate, in the plan's order."""
    wet: dict[str, float] = {}
    column = len(logged.looks)  # the looks at the fronts stand behind those of the log
    for asset_id, (coats, _) in fronts.items():
        assert predicted is not None  # a front finds coats only where there are some
        chance = predicted.chance_dry[:, column : column + len(coats)].mean(axis=0)
        wet[asset_id] = 1.0 - float(chance.max())
        column += len(coats)
    coated = {prepared.surfaces[coat.face].asset_id for coat in logged.coats}
    return tuple(
        _outcome(prepared, asset, logged, met.get(asset.asset_id, Passing()), wet)
        for asset in plan.assets
        if asset.asset_id in coated or asset.asset_id in met
    )


def _outcome(
    prepared: Prepared,
    asset: AssetPlan,
    logged: LoggedCoats,
    passing: Passing,
    wet: dict[str, float],
) -> OutcomeRow:
    until_s = float("inf") if passing.passed_s is None else passing.passed_s
    own = {
        number: coat
        for number, coat in enumerate(logged.coats)
        if prepared.surfaces[coat.face].asset_id == asset.asset_id and coat.laid_s <= until_s
    }
    on_face = {coat.face: coat for coat in own.values()}
    felt = [
        (look.when_s, look.feel)
        for look in logged.looks
        if look.coat in own and look.feel is not None and look.when_s <= until_s
    ]
    last_s, last_feel = max(felt, default=(None, None), key=lambda each: each[0])
    return OutcomeRow(
        asset_id=asset.asset_id,
        name=asset.name,
        kind=asset.kind,
        exposure=asset.exposure,
        verdict=asset.verdict,
        chance=asset.governing.probability,
        coats=len(own),
        laid_s=max((coat.laid_s for coat in own.values()), default=None),
        coat_kg_m2=min((coat.coat_kg_m2 for coat in on_face.values()), default=None),
        passed_s=passing.passed_s,
        chance_not_dry=wet.get(asset.asset_id),
        last_feel=last_feel,
        last_feel_s=last_s,
        fate=passing.fate,
    )
