"""Why: the chain of numbers behind one asset's answer, and what a whole plan hangs on.

The steps, their models and sources are data (data/chain.toml); the numbers are the plan's own.
"""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Iterable
from typing import Any

from stillwet.domain.assets import Asset
from stillwet.domain.basis import Input
from stillwet.domain.chain import AssetShares, Chain, JobShares, Link, Share, Step
from stillwet.domain.fire import FireExposure
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan, Plan, SurfacePlan, Verdict
from stillwet.engine.exposure import leans_to_face
from stillwet.engine.fire_behaviour import settle_fire
from stillwet.engine.sensitivity import shares_of
from stillwet.errors import Problem, StillwetError, shown
from stillwet.tables import load_table

Progress = Callable[[str, float], None]

_SHOWN_IDS = 30
# Numbers of the work on a face: there are none when nothing is laid.
_OF_WORK = frozenset({"coat_kg_m2", "mix_ratio", "mix_m3", "spray_s"})


def asset_named(job: Job, text: str) -> Asset:
    """The asset with this id, or else this name. Raises StillwetError when none or several have."""
    wanted = text.strip().casefold()
    for words in (
        lambda asset: asset.id == text.strip(),
        lambda asset: wanted in (asset.id.casefold(), asset.name.strip().casefold()),
    ):
        found = [asset for asset in job.assets if words(asset)]
        if len(found) == 1:
            return found[0]
        if found:
            listed = ", ".join(asset.id for asset in found[:_SHOWN_IDS])
            got = f"{shown(text)}, which {len(found)} assets have"
            raise StillwetError(Problem("ASSET", f"one of the ids {listed}", got))
    ids = [asset.id for asset in job.assets]
    more = f" and {len(ids) - _SHOWN_IDS} more" if len(ids) > _SHOWN_IDS else ""
    known = "an id or a name: " + ", ".join(ids[:_SHOWN_IDS]) + more
    raise StillwetError(Problem("ASSET", known, shown(text), hint=_nearest(job, text)))


def _nearest(job: Job, text: str) -> str:
    names = [name for asset in job.assets for name in (asset.name, asset.id)]
    close = difflib.get_close_matches(text, names, n=1, cutoff=0.6)
    return f'did you mean "{close[0]}"?' if close else ""


def chain_of(job: Job, plan: Plan, asset: Asset) -> Chain:
    """Explain the governing face of one asset of a plan made from this job."""
    answer = next(item for item in plan.assets if item.asset_id == asset.id)
    inputs = answer.inputs + plan.inputs
    fire = settle_fire(job, asset.fire)
    steps = tuple(_step(row, fire, answer.governing, inputs) for row in _table()["step"])
    named = {item for step in steps for item in step.inputs}
    return Chain(
        plan=plan,
        asset=answer,
        steps=steps,
        others=tuple(item for item in inputs if item not in named),
        shares=_shares(job, asset, answer),
    )


def job_shares_of(job: Job, plan: Plan, *, progress: Progress | None = None) -> JobShares:
    """What the whole plan hangs on: shares of every asset to be coated, and their mean by value.

    Where all values are 0, each asset counts the same. ``progress`` is told each asset's name.
    """
    tell = progress or (lambda _label, _share: None)
    by_id = {asset.id: asset for asset in job.assets}
    coated = [item for item in plan.assets if item.verdict is not Verdict.DO_NOT_COAT]
    found = []
    for count, answer in enumerate(coated):
        tell(answer.name, count / len(coated))
        shares = _shares(job, by_id[answer.asset_id], answer)
        if shares:
            found.append(AssetShares(answer, shares))
    return JobShares(plan=plan, assets=tuple(found), shares=_mean_shares(found))


def _mean_shares(assets: Iterable[AssetShares]) -> tuple[Share, ...]:
    """The mean of first-order and total shares, weighted by the assets' value."""
    assets = list(assets)
    weights = [item.asset.value for item in assets]
    if not sum(weights) > 0:
        weights = [1.0] * len(assets)
    whole = sum(weights)
    sums: dict[str, tuple[float, float]] = {}
    for item, weight in zip(assets, weights, strict=True):
        for share in item.shares:
            first, total = sums.get(share.cause, (0.0, 0.0))
            sums[share.cause] = (
                first + weight / whole * share.first_order,
                total + weight / whole * share.total,
            )
    means = [Share(cause, first, total) for cause, (first, total) in sums.items()]
    return tuple(sorted(means, key=lambda share: (-share.total, share.cause)))


def _shares(job: Job, asset: Asset, answer: AssetPlan) -> tuple[Share, ...]:
    """The shares at the governing face, of the coat laid or, if none is, the best that clings."""
    face = answer.governing
    return shares_of(
        job,
        asset,
        face.surface,
        coat_kg_m2=face.coat_kg_m2 or min(face.cling_limit_kg_m2, face.coat_needed_kg_m2),
        ratio=face.mix_ratio,
        lay_s=face.lay_time_s,
    )


def _table() -> dict[str, Any]:
    return load_table("chain")


def _step(
    row: dict[str, Any], fire: FireExposure, face: SurfacePlan, inputs: tuple[Input, ...]
) -> Step:
    kind = _kind_of_fire(fire)
    links = [link for link in row["link"] if link.get("when", kind) == kind]
    return Step(
        question=row["question"],
        links=tuple(_link(link, face) for link in links),
        inputs=tuple(item for item in inputs if _plain_name(item) in row["inputs"]),
        causes=(*row["causes"], *(row.get("causes_by_fuel", ()) if fire.fuel else ())),
    )


def _kind_of_fire(fire: FireExposure) -> str:
    if fire.flux_peak_w_m2 is not None:
        return "typed"
    return "contact" if leans_to_face(fire) else "off"


def _link(row: dict[str, Any], face: SurfacePlan) -> Link:
    value = getattr(face, row["of"])
    is_number = value is not None and math.isfinite(value)
    if row["of"] in _OF_WORK and face.coat_kg_m2 == 0.0:
        is_number = False
    return Link(
        quantity=row["quantity"],
        value=float(value) if is_number else None,
        unit=row["unit"],
        model=row["model"],
        source=row["source"],
        absent=row.get("absent", "none"),
    )


def _plain_name(item: Input) -> str:
    """An input's name without the crew it belongs to ("Engine 4: tank" -> "tank")."""
    return item.name.rpartition(": ")[2]
