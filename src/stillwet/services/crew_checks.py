"""A second look at a crew plan as people read it: passes, fresh coats and who waits for whom.

Takes the job's words and the plan's stops, and nothing of how the plan was made.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from itertools import pairwise

from stillwet.domain.assets import Asset
from stillwet.domain.crew_plan import CrewPlan, CrewStep, StepKind
from stillwet.domain.job import Job

_S = 1e-3  # tolerance of times
_SHARE = 1e-6  # tolerance of shares of a face

_ByAsset = dict[str, list[CrewStep]]


def turn_faults(job: Job, plan: CrewPlan) -> tuple[str, ...]:
    """Every pass that comes too soon, is laid by half or twice, and every asset out of turn."""
    made: _ByAsset = defaultdict(list)
    for run in plan.crews:
        for step in run.steps_of(StepKind.COAT):
            made[step.place_id].append(step)
    begun = {one.asset_id for one in plan.done}
    faults: list[str] = []
    for asset in job.assets:
        steps = made[asset.id]
        faults += _gaps(asset, steps)
        faults += _turns(asset, made)
        if asset.id not in begun:
            faults += _shares(asset, steps)
    return tuple(faults)


def _gaps(asset: Asset, steps: list[CrewStep]) -> Iterator[str]:
    """Each later coat starts the gap after the end of every visit of the one before."""
    coats = [[s for s in steps if not s.is_recoat and s.coat == coat] for coat in (1, 2)]
    coats.append([step for step in steps if step.is_recoat])
    coats = [coat for coat in coats if coat]
    for first, second in pairwise(coats):
        over = max(step.finish_s for step in first)
        starts = min(step.start_s for step in second)
        if starts < over + asset.coat_gap_s - _S:
            yield f"{asset.id}: a coat starts {over + asset.coat_gap_s - starts:.0f} s too soon"


def _turns(asset: Asset, made: _ByAsset) -> Iterator[str]:
    """An asset starts when the coat of the one it comes after is done."""
    if asset.after is None:
        return
    first = [step.finish_s for step in made[asset.after] if not step.is_recoat]
    starts = [step.start_s for step in made[asset.id] if not step.is_recoat]
    if first and starts and min(starts) < max(first) - _S:
        yield f"{asset.id}: starts before {asset.after} is done"


def _shares(asset: Asset, steps: list[CrewStep]) -> Iterator[str]:
    """Of a fresh day: every face visited is laid once in all, in as many passes as asked."""
    for is_recoat in (False, True):
        laid: dict[str, float] = defaultdict(float)
        for step in steps:
            if step.is_recoat is is_recoat:
                for face in step.faces:
                    laid[face.surface_id] += face.share
        for name, share in laid.items():
            if abs(share - 1.0) > _SHARE:
                yield f"{asset.id}: {name} is laid {share:.3f} times"
    coats = {step.coat for step in steps if not step.is_recoat}
    if coats and coats != set(range(1, asset.coats + 1)):
        yield f"{asset.id}: passes {sorted(coats)} of {asset.coats}"
    if any(step.is_recoat for step in steps) and not (coats and asset.recoat):
        yield f"{asset.id}: a fresh coat on none"
