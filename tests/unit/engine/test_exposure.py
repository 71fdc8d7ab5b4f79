"""What several fires ask of the faces together, which faces flames touch, and embers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from job_fixture import make_asset, make_fire, make_job
from stillwet.domain.fire import StandingFire
from stillwet.domain.job import Job
from stillwet.domain.plan import AssetPlan
from stillwet.engine.exposure import FireAsk, ask_of_asset
from stillwet.engine.faces import faces_of
from stillwet.engine.make_plan import make_plan
from stillwet.engine.members import draw_members

EMBERS = "a low radiant flux does not make the face safe"


def pile(**changes: Any) -> StandingFire:
    """A burning wood pile 3 m north of the house."""
    values: dict[str, Any] = {
        "name": "burning wood pile",
        "flame_length_m": 3.0,
        "flame_width_m": 3.0,
        "flame_tilt_deg": 10.0,
        "residence_s": 1200.0,
        "setback_m": 3.0,
        "bearing_deg": 0.0,
    }
    return StandingFire(**(values | changes))


def job_with(**fire: Any) -> Job:
    """The job of one house that meets this fire."""
    return make_job(assets=(make_asset(fire=make_fire(**fire)),))


def ask_of(job: Job) -> FireAsk:
    """What the fire asks of the house."""
    asset = job.assets[0]
    return ask_of_asset(job, asset, faces_of(asset), draw_members(job))


def labels(job: Job) -> list[str]:
    """The faces' names in the order of the arrays."""
    return [face.label for face in faces_of(job.assets[0])]


def planned(job: Job) -> AssetPlan:
    """The plan of the house."""
    return make_plan(job, now_s=0.0).assets[0]


def test_a_pile_behind_the_house_heats_its_own_side() -> None:
    """The front in the south-west leaves the north wall cool; the pile to the north does not."""
    alone, both = ask_of(job_with()), ask_of(job_with(also=(pile(),)))
    north = labels(job_with()).index("north wall")
    south = labels(job_with()).index("south wall")
    assert alone.peak_flux_w_m2[north] < 1e3
    assert both.peak_flux_w_m2[north] > 10e3
    assert both.peak_flux_w_m2[south] == pytest.approx(alone.peak_flux_w_m2[south], rel=1e-6)
    assert both.water_demand_kg_m2[north].min() > alone.water_demand_kg_m2[north].max()


def test_two_equal_piles_give_twice_the_heat_of_one() -> None:
    """Radiation adds: the dose of both less the front's is twice that of one."""

    def dose(count: int) -> float:
        ask = ask_of(job_with(also=(pile(),) * count))
        return float(np.trapezoid(ask.flux_w_m2[0], ask.time_s))

    nothing, one, two = dose(0), dose(1), dose(2)
    assert two - nothing == pytest.approx(2 * (one - nothing), rel=1e-6)


def test_a_typed_flux_and_a_pile_add_up() -> None:
    """A measured flux of the front does not hide what burns beside it."""
    typed = {"flux_peak_w_m2": 8e3, "flux_duration_s": 60.0}
    north = labels(job_with()).index("north wall")
    alone, both = ask_of(job_with(**typed)), ask_of(job_with(**typed, also=(pile(),)))
    only = ask_of(job_with(flame_length_m=0.0, also=(pile(),)))
    assert alone.peak_flux_w_m2[north] == 8e3
    wanted = 8e3 + only.peak_flux_w_m2[north]
    assert both.peak_flux_w_m2[north] == pytest.approx(wanted, rel=1e-3)


def test_flames_touch_the_faces_that_look_at_them() -> None:
    """A front at the wall touches the two sides towards it, a pile at the wall only its own."""
    front = job_with(setback_m=0.0, flame_tilt_deg=0.0)
    touched = dict(zip(labels(front), ask_of(front).contact, strict=True))
    assert touched["south wall"]
    assert touched["west wall"]
    assert not touched["north wall"]
    beside = job_with(also=(pile(setback_m=0.0),))
    touched = dict(zip(labels(beside), ask_of(beside).contact, strict=True))
    assert touched["north wall"]
    assert not touched["south wall"]


def test_a_long_leaning_flame_reaches_past_its_setback() -> None:
    """A flame of 9 m that leans 60 degrees over a setback of 3 m lies on the wall."""
    ask = ask_of(job_with(flame_length_m=9.0, flame_tilt_deg=60.0, setback_m=3.0))
    assert ask.contact[labels(job_with()).index("south wall")]
    assert not ask_of(job_with(flame_tilt_deg=0.0)).contact.any()


def test_a_fire_coming_uphill_stands_lower() -> None:
    """With its base below the house, a short flame at some distance gives the wall less."""
    level = ask_of(job_with(flame_length_m=2.0, flame_tilt_deg=0.0))
    uphill = ask_of(job_with(flame_length_m=2.0, flame_tilt_deg=0.0, ground_slope_deg=25.0))
    south = labels(job_with()).index("south wall")
    assert uphill.peak_flux_w_m2[south] < level.peak_flux_w_m2[south]


# --- embers


def test_every_cool_face_gets_the_ember_statement() -> None:
    """However small the flux, the plan never lets a face pass as safe."""
    plan = planned(job_with())
    assert max(face.peak_flux_w_m2 for face in plan.surfaces) < 12.5e3
    assert plan.cautions[0].startswith("Every face: little radiant heat (under 12.5 kW/m2).")
    assert EMBERS in plan.cautions[0]
    assert "Brush throws many small embers" in plan.cautions[0]


def test_a_fire_that_gives_no_heat_at_all_still_sends_embers() -> None:
    """A flame of no length: flux 0, and the statement stands."""
    plan = planned(job_with(flame_length_m=0.0))
    assert max(face.peak_flux_w_m2 for face in plan.surfaces) < 1e-6
    assert EMBERS in plan.cautions[0]
    assert min(face.coat_kg_m2 for face in plan.surfaces) > 0.0


def test_only_the_cool_faces_are_named() -> None:
    """Close flames on two sides: the statement names the others."""
    plan = planned(job_with(setback_m=2.0))
    hot = {face.surface.label for face in plan.surfaces if face.peak_flux_w_m2 >= 12.5e3}
    (said,) = [line for line in plan.cautions if EMBERS in line]
    named = said.partition(":")[0].lower()
    assert hot
    assert all(label not in named for label in hot)
    assert "north wall" in named


def test_a_face_hot_all_round_needs_no_such_statement() -> None:
    """A pole in a close fire from any side has no cool face."""
    pole = make_asset(
        kind="pole", width_m=0.3, length_m=0.3, fire=make_fire(setback_m=0.5, bearing_deg=None)
    )
    plan = planned(make_job(assets=(pole,)))
    assert min(face.peak_flux_w_m2 for face in plan.surfaces) > 12.5e3
    assert all(EMBERS not in line for line in plan.cautions)


def test_an_unknown_fire_still_says_embers() -> None:
    """A fire that is in no table gets the general words."""
    assert EMBERS in planned(job_with(name="something else")).cautions[0]


def test_dry_hot_air_is_told_of_once() -> None:
    """Air outside the published transmissivity is a warning of the job, not of every asset."""
    job = job_with()
    two = replace(job, assets=(job.assets[0], replace(job.assets[0], id="a2")))
    warnings = [line for line in make_plan(two, now_s=0.0).warnings if "transmissivity" in line]
    assert len(warnings) == 1
    assert warnings[0].startswith("At 2 of 2 assets")


@pytest.mark.parametrize("factor", [0.25, 0.5, 0.75, 1.25, 1.5, 2.0, 3.0])
def test_a_factor_on_the_flux_is_that_much_flux(factor: float) -> None:
    """A member that takes the fire for so many times as hot asks what a fire that hot asks."""

    def asked(flux_w_m2: float, times: float) -> Any:
        job = job_with(flux_peak_w_m2=flux_w_m2, flux_duration_s=300.0)
        asset, members = job.assets[0], draw_members(job)
        ones = np.ones(members.count)
        members = replace(members, flux_factor=times * ones, water_efficiency=ones)
        return ask_of_asset(job, asset, faces_of(asset), members).water_demand_kg_m2[:, 0]

    hotter = asked(factor * 24e3, 1.0)
    np.testing.assert_allclose(asked(24e3, factor), hotter, rtol=1e-9)
    between = asked(24e3, factor + 0.1)
    assert (between >= hotter).all()
