"""The mix window: walls stand where the physics puts them, and the ratio to set lies between."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from gear_fixture import GPM, PSI, make_gear
from job_fixture import (
    make_asset,
    make_crew,
    make_job,
    make_practice,
    make_product,
    with_fire,
)
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.gear import Gear
from stillwet.domain.job import Job
from stillwet.domain.mix_window import Fit, MixWindow, WallKind
from stillwet.domain.plan import Plan
from stillwet.domain.products import CurveDraw, Product, WaterPoint
from stillwet.engine import mixing
from stillwet.engine.faces import faces_of
from stillwet.engine.make_plan import make_plan
from stillwet.engine.members import draw_members
from stillwet.engine.mix_draws import MixDraws, _spread, draw_mix
from stillwet.engine.mix_walls import best_wall, cling_wall, fall_wall, hardness_limit, in_water
from stillwet.engine.mix_window import make_mix_window, setting_for
from stillwet.physics.product_types import Parameter
from stillwet.units import to_si


def _water(hardness: float) -> WaterPoint:
    return WaterPoint("w1", "Invented pond", 100.0, 0.0, 0.01, hardness, 294.15)


def _job(hardness: float = 0.05, gear: Gear | None = None, **changes: object) -> Job:
    """A house to be coated for the brush fire, with gear and a product that a trial has fixed."""
    crew = make_crew(gear=make_gear() if gear is None else gear, spray_flow_m3_s=30 * GPM)
    return make_job(crews=(crew,), water_points=(_water(hardness),), **changes)


def _draws(job: Job | None = None) -> MixDraws:
    return draw_mix(_job() if job is None else job)


@pytest.fixture(scope="module")
def job() -> Job:
    """The job in soft water."""
    return _job()


@pytest.fixture(scope="module")
def plan(job: Job) -> Plan:
    """Its plan."""
    return make_plan(job, now_s=job.start_s)


@pytest.fixture(scope="module")
def window(job: Job, plan: Plan) -> MixWindow:
    """Its mix window."""
    return make_mix_window(job, plan)


@pytest.mark.parametrize(("inch", "pascal"), [(1 / 8, 31.0), (1 / 4, 62.0)])
def test_a_wall_keeps_an_eighth_of_an_inch_at_31_pa(inch: float, pascal: float) -> None:
    """Published: 31 Pa holds 1/8 in on a wall, 62 Pa 1/4 in. A product of 100 Pa a percent in soft
    water at 21 C needs 0.31 and 0.62 %, no safety counted.
    """
    depth = to_si(inch, "in", dimension="water_depth")
    product = make_product(
        yield_coefficient_pa=1e4, yield_threshold=0.0, yield_exponent=1.0, basis={}
    )
    linear = _job(0.0, product=product, practice=make_practice(cling_safety=1.0))
    wall = cling_wall(_draws(linear), depth, 90.0)
    assert wall.ratio == pytest.approx(pascal / 1e4, rel=0.006)  # the pair is rounded
    assert wall.low == pytest.approx(wall.ratio)  # nothing is uncertain but the adhesion above


@pytest.mark.parametrize(("coat", "tilt"), [(1.0, 90.0), (3.0, 90.0), (6.0, 30.0)])
def test_at_the_walls_the_coat_just_stays(coat: float, tilt: float) -> None:
    """Between leanest and richest ratio the median cling, with its safety, is above the coat; at
    both walls it is the coat, and beyond either it is less.
    """
    draws = _draws()
    lean, rich = cling_wall(draws, coat, tilt).ratio, fall_wall(draws, coat, tilt).ratio
    assert lean < best_wall(draws).ratio < rich

    def kept(ratio: float) -> float:
        one = replace(faces_of(_job().assets[0])[0], tilt_deg=tilt)
        return float(mixing.cling_median(draws.mix, (one,), np.array([ratio]))[0]) * draws.mix.keep

    assert kept(lean) == pytest.approx(coat, rel=1e-6)
    assert kept(rich) == pytest.approx(coat, rel=1e-6)
    assert kept(0.98 * lean) < coat < kept(1.02 * lean)
    assert kept(1.02 * rich) < coat < kept(0.98 * rich)


def test_a_coat_beyond_adhesion_has_no_ratio() -> None:
    """20 mm on a wall asks for more than any mix holds: no leanest ratio, no richest either."""
    draws = _draws()
    assert math.isinf(cling_wall(draws, 20.0, 90.0).ratio)
    assert fall_wall(draws, 20.0, 90.0).ratio == 0.0


def test_a_vaguer_product_has_a_wider_band() -> None:
    """Where the yield stress is known to a fifth the wall is known well; to a factor of three,
    poorly; and the band holds the wall of the median product without safety.
    """
    narrow = cling_wall(_draws(), 3.0, 90.0)
    basis = {"yield_coefficient": Basis(BasisKind.UNTESTED, "test", 1.7e4, 15e4)}
    vague = cling_wall(_draws(_job(product=make_product(basis=basis))), 3.0, 90.0)
    assert vague.high - vague.low > 2.0 * (narrow.high - narrow.low) > 0.0
    bare = _job(practice=make_practice(cling_safety=1.0), product=make_product(basis={}))
    middle = cling_wall(_draws(bare), 3.0, 90.0).ratio
    assert narrow.low < middle < narrow.high
    assert vague.low < middle < vague.high


def test_the_window_tells_whence_its_curve_comes(job: Job, plan: Plan) -> None:
    """The kind of source, and the source itself where one is named."""
    for source, told in (("", "given"), ("product.toml", "given (product.toml)")):
        basis = {"yield_coefficient": Basis(BasisKind.GIVEN, source)}
        sourced = replace(job, product=replace(job.product, basis=basis))
        assert make_mix_window(sourced, plan).curve_basis == told


def _tried(*coefficients_pa: float) -> Product:
    """A product whose trials leave these curves possible: straight lines from the origin."""
    draws = tuple(
        CurveDraw(one, 0.0, 1.0, 0.3, 1.0, 0.0, 60.0, 5.0 + 0.1 * place, 1.5, 0.4, 1e6)
        for place, one in enumerate(coefficients_pa)
    )
    return make_product(
        yield_coefficient_pa=1e4, yield_threshold=0.0, yield_exponent=1.0, curves=draws
    )


def test_the_band_is_that_of_the_curves_which_trials_leave_possible() -> None:
    """31 Pa at 50 to 250 Pa a percent: 0.124 to 0.62 %, whatever the basis says; and the members'
    curves in another water are moved as the middle one is.
    """
    depth = to_si(1 / 8, "in", dimension="water_depth")
    slopes = np.linspace(0.5e4, 2.5e4, 41)
    job = _job(0.0, product=_tried(*slopes.tolist()), practice=make_practice(cling_safety=1.0))
    draws = _draws(job)
    wall = cling_wall(draws, depth, 90.0)
    low, high = np.quantile(31.15 / slopes, (0.05, 0.95))
    assert wall.low == pytest.approx(low, rel=0.05)  # one of 41, not between two
    assert wall.high == pytest.approx(high, rel=0.05)
    hard = cling_wall(in_water(draws, 0.3, 294.15), depth, 90.0)
    assert hard.low == pytest.approx(2.0 * wall.low, rel=0.03)
    assert hard.ratio == pytest.approx(2.0 * wall.ratio, rel=0.03)


def test_the_window_is_the_tightest_of_the_walls(window: MixWindow, plan: Plan) -> None:
    """The house's steepest, thickest face sets the least ratio, the label or a wall the most, and
    the ratio to set lies between with margins to both.
    """
    asset = window.assets[0]
    assert window.is_open
    assert window.lower.ratio == max(face.cling.ratio for face in asset.faces)
    assert window.upper.ratio == min(window.label_high, *(face.fall.ratio for face in asset.faces))
    crew = window.crews[0]
    assert crew.fit is not Fit.CLOSED
    assert window.lower.ratio <= crew.ratio <= crew.upper.ratio
    assert crew.ratio * (1.0 - crew.lean_margin) == pytest.approx(window.lower.ratio)
    assert crew.ratio * (1.0 + crew.rich_margin) == pytest.approx(crew.upper.ratio)
    # never leaner than the plan reckons with
    assert crew.ratio >= plan.mix_ratio - mixing.RATIO_STEP - 1e-12


def test_one_tank_by_hand(window: MixWindow) -> None:
    """300 gal at the ratio to set: that share of it is concentrate, the rest is water."""
    crew = window.crews[0]
    assert crew.tank is not None
    assert crew.tank.concentrate_m3 == pytest.approx(1.136 * crew.ratio)
    assert crew.tank.water_m3 + crew.tank.concentrate_m3 == pytest.approx(1.136)
    assert crew.tank.packs == pytest.approx(1.136 * crew.ratio / 0.02)
    density = make_job().product.density_kg_m3
    assert crew.tank.concentrate_kg == pytest.approx(crew.tank.concentrate_m3 * density)
    assert crew.tank.concentrate_kg > 900.0 * crew.tank.concentrate_m3  # heavier than any oil


def test_hard_water_closes_the_window_and_says_so(job: Job, plan: Plan) -> None:
    """The same coats in water of 1500 mg/L: no ratio on the label keeps them, soft water would. A
    little below the hardness told the window is open, a little above it is closed.
    """
    hard = replace(job, water_points=(_water(1.5), replace(_water(0.02), id="w2", name="Tank")))
    closed = make_mix_window(hard, plan)
    assert not closed.is_open
    assert closed.assets[0].is_closed_by_hardness
    assert closed.crews[0].fit is Fit.CLOSED
    assert math.isnan(closed.crews[0].ratio)
    assert [water.is_open for water in closed.waters] == [False, True]
    assert [water.is_reckoned_with for water in closed.waters] == [True, False]
    limit = closed.hardness_limit_kg_m3
    assert limit is not None
    for share, is_open in ((0.98, True), (1.02, False)):
        at = replace(job, water_points=(_water(share * limit),))
        assert make_mix_window(at, plan).is_open is is_open


def test_water_that_does_not_matter_never_closes_the_window(job: Job, plan: Plan) -> None:
    """A product that no hardness shrinks has no such limit."""
    kept = replace(job, product=make_product(hardness_half_kg_m3=1e3))
    assert hardness_limit(kept, plan.assets, draw_mix(kept)) is None


def test_a_coat_that_asks_for_more_than_the_label_closes_it(job: Job, plan: Plan) -> None:
    """With the label cut below what the coat takes, the label is the wall, not the water."""
    top = 0.008
    cut = replace(job, product=make_product(ratio_high=top))
    closed = make_mix_window(cut, plan)
    assert not closed.is_open
    assert closed.upper.kind is WallKind.LABEL_HIGH
    assert closed.upper.ratio == top
    assert closed.lower.kind is WallKind.CLING


def test_a_crew_that_cannot_pump_it_is_told_apart(job: Job, plan: Plan) -> None:
    """One crew's pump closes its own window and leaves the other's open."""
    weak = make_crew(
        id="c2",
        name="Weak engine",
        gear=make_gear(pump_pressure_pa=(70 * PSI,), hoses_m=((0.0254, 60.0),)),
        spray_flow_m3_s=30 * GPM,
    )
    both = make_mix_window(replace(job, crews=(*job.crews, weak)), plan)
    assert both.is_open
    assert [crew.fit is Fit.CLOSED for crew in both.crews] == [False, True]
    assert both.crews[1].upper.kind is WallKind.PUMP


@pytest.mark.parametrize(("low", "high"), [(0.5, 3.0), (0.9, 1.5)])
def test_a_types_interval_holds_nine_products_in_ten(low: float, high: float) -> None:
    """A twentieth is drawn below it, a twentieth above, half below its middle, however lopsided."""
    drawn = _spread(Parameter(1.0, low, high, "", "test"), seed=1, stream=2, count=2000)
    assert np.mean(drawn < low) == pytest.approx(0.05, abs=0.002)
    assert np.mean(drawn > high) == pytest.approx(0.05, abs=0.002)
    assert np.median(drawn) == pytest.approx(1.0, rel=0.01)


def test_a_crew_whose_gear_is_not_known_hides_no_other(job: Job, plan: Plan) -> None:
    """Nothing is said of it, and what is said of the others stays the same, whatever the order."""
    (known,) = job.crews
    unknown = make_crew(id="c0", name="Borrowed engine", gear=None)
    for crews in ((unknown, known), (known, unknown)):
        found = make_mix_window(replace(job, crews=crews), plan).crews
        assert [crew.crew_id for crew in found] == [known.id]


def test_one_asset_alone_never_has_a_narrower_window(job: Job) -> None:
    """The job's window is the overlap of those of its assets."""
    second = replace(job.assets[0], id="a2", name="Shed", sheltering=0.3)
    two = replace(job, assets=(*job.assets, second))
    plan = make_plan(two, now_s=two.start_s)
    whole = make_mix_window(two, plan)
    for asset in two.assets:
        one = make_mix_window(two, plan, asset.id)
        assert one.asset_name == asset.name
        assert one.lower.ratio <= whole.lower.ratio
        assert one.upper.ratio >= whole.upper.ratio


def test_the_setting_leaves_room_for_the_proportioner() -> None:
    """0.9 to 2.0 %, delivering 90 to 130 %: 1.00 % is the leanest that never runs below 0.9."""
    fit, ratio = setting_for(0.009, 0.02, 0.03, delivered=(0.9, 1.3))
    assert fit is Fit.FITS
    assert ratio == pytest.approx(0.01)


def test_a_window_narrower_than_the_proportioner_is_shared_out() -> None:
    """1.0 to 1.2 %, delivering 80 to 125 %: it strays over both walls by the same factor."""
    fit, ratio = setting_for(0.010, 0.012, 0.03, delivered=(0.8, 1.25))
    assert fit is Fit.NARROW
    assert 0.010 / (0.8 * ratio) == pytest.approx(1.25 * ratio / 0.012, rel=0.05)


def test_the_setting_stays_in_a_window_thinner_than_a_step() -> None:
    """A window without a step of the dial in it still gives a ratio inside."""
    fit, ratio = setting_for(0.01001, 0.01003, 0.03, delivered=(0.9, 1.3))
    assert fit is Fit.NARROW
    assert 0.01001 <= ratio <= 0.01003


def test_nothing_is_set_in_a_closed_window() -> None:
    """Least above most: closed, no ratio."""
    fit, ratio = setting_for(0.02, 0.01, 0.03, delivered=(0.9, 1.3))
    assert fit is Fit.CLOSED
    assert math.isnan(ratio)


def test_a_ratio_beyond_the_best_is_never_set() -> None:
    """Room for a lean proportioner is not bought with a mix that clings less."""
    fit, ratio = setting_for(0.0100, 0.03, 0.0105, delivered=(0.8, 1.0))
    assert fit is Fit.NARROW
    assert ratio <= 0.0105 + 1e-12


def test_the_same_seed_gives_the_same_window(job: Job, plan: Plan, window: MixWindow) -> None:
    """Nothing is drawn outside the job's seed."""
    assert repr(make_mix_window(job, plan)) == repr(window)  # a closed crew's ratio is NaN


def test_assets_that_ask_for_the_most_come_first() -> None:
    """Closed windows before open ones, and of each the richest mix before the leaner."""
    near = make_asset(id="a1")
    far = with_fire(make_asset(id="a2", x_m=80.0), flux_peak_w_m2=20e3, flux_duration_s=120.0)
    job = _job(assets=(far, near))
    found = make_mix_window(job, make_plan(job, now_s=job.start_s)).assets
    keys = [(one.is_open, -one.lower.ratio) for one in found]
    assert keys == sorted(keys)
    assert len({one.lower.ratio for one in found}) == 2


def test_members_that_the_plan_takes_for_thicker_are_thicker_here_as_well() -> None:
    """The same draw of the yield stress: in step with the plan's members, on both sides of the
    middle.
    """
    job = _job()
    drawn = draw_mix(job)
    own = np.asarray(drawn.members.yields["coefficient_pa"])
    factor = draw_members(job).yield_factor[: own.size]
    assert (np.argsort(own) == np.argsort(factor)).all()
    assert ((own > drawn.middle.yields["coefficient_pa"]) == (factor > 1.0)).all()
    assert 0.2 < (factor > 1.0).mean() < 0.8


def test_gear_that_nobody_told_is_listed_in_plain_words() -> None:
    """Its value, unit, and where it comes from; what was given is not listed."""
    basis = {
        "hose_length": Basis(BasisKind.UNTESTED, "one length of hose", 15.0, 60.0),
        "lift": Basis(BasisKind.GIVEN, "typed"),
    }
    crew = make_crew(gear=make_gear(), spray_flow_m3_s=30 * GPM, basis=basis)
    job = make_job(crews=(crew,), water_points=(_water(0.05),))
    window = make_mix_window(job, make_plan(job, now_s=0.0))
    (told,) = (item for item in window.inputs if "hose length" in item.name)
    assert told.name == f"{crew.name}: hose length"
    assert (told.value, told.unit) == (15.0, "m")
    assert told.basis.source == "one length of hose"
    assert not any("lift" in item.name for item in window.inputs)


def test_every_crew_with_gear_has_its_own_window(window: MixWindow, job: Job) -> None:
    """Under its own name and with the flow it sprays at."""
    assert [(one.crew_id, one.name, one.wanted_flow_m3_s) for one in window.crews] == [
        (crew.id, crew.name, crew.spray_flow_m3_s) for crew in job.crews
    ]


def test_the_window_knows_what_the_sheets_of_the_crews_say(
    job: Job, plan: Plan, window: MixWindow
) -> None:
    """The richest mix of the coats that are laid; none where the plan lays none."""
    assert window.plan_ratio == plan.mix_ratio > 0.0
    bare = replace(
        plan,
        assets=tuple(
            replace(one, surfaces=tuple(replace(face, mix_m3=0.0) for face in one.surfaces))
            for one in plan.assets
        ),
    )
    assert make_mix_window(job, bare).plan_ratio == 0.0
