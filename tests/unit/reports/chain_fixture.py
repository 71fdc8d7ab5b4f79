"""An explanation and comparisons of the invented plan, for the tests of the reports room."""

from __future__ import annotations

from dataclasses import replace

from stillwet.domain.chain import AssetShares, Chain, JobShares, Link, Share, Step
from stillwet.domain.comparison import AsLaid, Comparison, WhatIf, pair_plans
from stillwet.domain.plan import AssetPlan, Plan, Verdict

from .plan_fixture import HOUR, make_plan

SHARES = (
    Share("transfer efficiency", 0.41, 0.44),
    Share("coat variation", 0.36, 0.40),
    Share("wind", 0.09, 0.08),
    Share("flux", 0.004, 0.006),
    Share("yield stress", -0.01, 0.0),
)


def make_chain(plan: Plan | None = None, *, number: int = 6) -> Chain:
    """One asset's explanation: the ranch house unless told otherwise."""
    plan = plan or make_plan()
    asset = plan.assets[number]
    face = asset.governing
    links = (
        Link("peak heat flux", face.peak_flux_w_m2, "W/m2", "flat sheet", "AS 3959:2018", "none"),
        Link("bare face ignites", None, "s", "thick solid", "Janssens 1991", "never at this flux"),
        Link("coat to lay", face.coat_kg_m2 or None, "kg/m2", "m", "s", "nothing is laid"),
        Link("holds until", face.hold_until_90_s, "time", "m", "s", "nothing is laid"),
        Link("ratio", face.mix_ratio, "ratio", "m", "s", "nothing is laid"),
        Link("chance", face.probability, "fraction", "m", "s", "none"),
        Link("protection", 310.0, "s", "m", "s", "without end"),
        Link("mix", 1.23, "m3", "m", "s", "none"),
    )
    steps = (
        Step("What will the fire ask?", links[:2], asset.inputs, ("flux",)),
        Step("Until when does it hold?", links[2:], (), ()),
    )
    return Chain(plan, asset, steps, plan.inputs, SHARES)


def make_job_shares() -> JobShares:
    """Shares of every asset to be coated, all alike, and their mean."""
    plan = make_plan()
    coated = [asset for asset in plan.assets if asset.verdict is not Verdict.DO_NOT_COAT]
    return JobShares(plan, tuple(AssetShares(asset, SHARES) for asset in coated), SHARES)


def _worse(asset: AssetPlan) -> AssetPlan:
    """The asset doubtful, with a thicker coat and an hour less."""
    hold_s = asset.governing.hold_until_90_s
    face = replace(
        asset.governing,
        verdict=Verdict.DOUBTFUL,
        probability=0.7,
        coat_kg_m2=asset.governing.coat_kg_m2 + 1.0,
        hold_until_90_s=None if hold_s is None else hold_s - HOUR,
    )
    faces = tuple(face if each.surface.id == face.surface.id else each for each in asset.surfaces)
    return replace(asset, verdict=Verdict.DOUBTFUL, governing=face, surfaces=faces)


def make_comparison(
    *flips: int, let_down: tuple[int, ...] = (), text: str = "wind=+30%"
) -> Comparison:
    """The invented plan beside one in which these holding assets (by position) are doubtful, and
    in which these coats, already on, would not hold.
    """
    before = make_plan()
    after = replace(
        before,
        id="0ther1d",
        assets=tuple(
            _worse(asset) if index in flips else asset for index, asset in enumerate(before.assets)
        ),
        warnings=(*before.warnings, "Rain of 3.0 mm in an hour is forecast."),
    )
    laid = {
        asset.asset_id: AsLaid(Verdict.WILL_NOT_HOLD, 0.3, "north wall")
        if index in let_down
        else AsLaid(asset.verdict, asset.governing.probability, asset.governing.surface.label)
        for index, asset in enumerate(before.assets)
        if asset.governing.coat_kg_m2 > 0
    }
    return pair_plans((WhatIf(text, "wind times 1.3"),), before, after, laid)
