"""Suitability of assets and lines: facts out of the job, and what becomes of them in the plan."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from job_fixture import (
    HOUR,
    START_S,
    make_asset,
    make_job,
    make_product,
    make_weather,
)
from line_fixture import make_line, make_line_job, make_segment, make_work
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.lines import LinePurpose
from stillwet.domain.plan import AssetPlan, Plan, Verdict
from stillwet.domain.products import WaterPoint
from stillwet.domain.suitability import (
    Agent,
    Delivery,
    Fit,
    LocalRules,
    Scope,
    Site,
    Task,
    Well,
)
from stillwet.engine.lines import make_lines
from stillwet.engine.make_plan import make_plan
from stillwet.engine.mix_window import make_mix_window
from stillwet.engine.suitability import (
    Laying,
    asset_facts,
    compare_agents,
    job_facts,
    job_findings,
    job_suitability,
    line_suitability,
    strongest_wind,
)
from stillwet.engine.surroundings import surroundings_of
from suitability_fixture import FOOT, fired, suits

CREEK = ((-50.0, 20.0), (50.0, 20.0))  # 15.5 m from the wall of the invented house
ACROSS = ((-50.0, 0.0), (50.0, 0.0))


def _plan(**changes: Any) -> Plan:
    return make_plan(make_job(**changes), now_s=START_S)


def _house(**changes: Any) -> AssetPlan:
    return _plan(**changes).assets[0]


def test_task_by_kind_and_by_the_list() -> None:
    """A tree is vegetation, a house a structure; the list's own word wins."""
    assert suits({"kind": "tree"}).task is Task.VEGETATION
    assert suits().task is Task.STRUCTURE
    assert suits({"site": Site(task=Task.MOP_UP)}).task is Task.MOP_UP
    assert suits({"site": Site(task=Task.MOP_UP)}).fit is Fit.DO_NOT


def test_release_left_out_is_not_leave_for_what_carries_current() -> None:
    """A pole may be sprayed only if released; a live line not at all until its release is told."""
    pole = {"kind": "pole"}
    assert "maybe_energised" in fired(suits(pole))
    live = pole | {"site": Site(energised=True)}
    assert suits(live).fit is Fit.DO_NOT
    freed = pole | {"site": Site(energised=True, release_told=True)}
    assert "energised_released" in fired(suits(freed))
    assert suits(freed).fit is Fit.ONLY_IF
    dead = pole | {"site": Site(energised=False)}
    assert not fired(suits(dead)) & {"maybe_energised", "energised_not_released"}
    held = pole | {"released": False, "site": Site(energised=True, release_told=True)}
    assert fired(suits(held)) >= {"not_released"}
    assert "energised_not_released" not in fired(suits(held))


def test_approved_by_id_or_name_whatever_the_spelling() -> None:
    """The list names ids or names; case, hyphens and spaces do not matter."""
    for listed, expected in (
        (("P1",), True), (("invented  GEL",), True), (("Invented-gel",), True),
        (("p2", "Other"), False), ((), False), (None, None),
    ):  # fmt: skip
        facts = job_facts(make_job(local=LocalRules(approved=listed)))
        assert facts["product_approved"] is expected, listed


def test_hardness_is_that_of_the_hardest_water_and_known_only_if_all_are() -> None:
    """Two waters, 50 and 300 mg/L; one of them a default: the worst counts, and it is not known."""
    soft = WaterPoint("w1", "Soft", 0.0, 0.0, 0.01, 0.05, 288.15)
    hard = replace(soft, id="w2", hardness_kg_m3=0.3)
    guessed = {"hardness": Basis(BasisKind.UNTESTED, "test", 0.02, 0.4)}
    both = job_facts(make_job(water_points=(soft, hard)))
    assert (both["hardness"], both["hardness_known"]) == (0.3, True)
    unsure = job_facts(make_job(water_points=(soft, replace(hard, basis=guessed))))
    assert unsure["hardness_known"] is False
    none = job_facts(make_job(water_points=()))
    assert (none["hardness"], none["hardness_known"]) == (None, False)


def test_the_wind_is_the_strongest_while_it_is_laid() -> None:
    """3 m/s at 8:00, 9 at 9:00, 3 at 10:00: from 8:30 to 9:30 at most 9, at 8:30 it is 6."""
    weather = make_weather()
    wind = np.full(weather.hours, 3.0)
    wind[weather.time_s == START_S + HOUR] = 9.0
    weather = replace(weather, wind_speed_m_s=wind)
    half = START_S + 0.5 * HOUR
    assert strongest_wind(weather, Laying(half, half + HOUR)) == pytest.approx(9.0)
    assert strongest_wind(weather, Laying(half, half)) == pytest.approx(6.0)


def test_delivery_must_be_on_the_label_and_allowed() -> None:
    """From the air with a label that names the ground alone, and by a rule that allows no air."""
    site = {"site": Site(delivery=Delivery.HELICOPTER)}
    ground = frozenset({Delivery.GROUND})
    assert "aerial_not_told" in fired(suits(site))
    label = suits(site, product=make_product(delivery=ground))
    assert "delivery_not_on_label" in fired(label)
    assert label.fit is Fit.DO_NOT
    rule = suits(site, local=LocalRules(delivery=ground))
    assert "delivery_not_allowed" in fired(rule)
    both = ground | {Delivery.HELICOPTER}
    free = suits(site, product=make_product(delivery=both), local=LocalRules(delivery=both))
    assert free.fit is Fit.ONLY_IF  # no approved list, no map of waters
    assert {one.scope for one in free.findings if one.fit is Fit.ONLY_IF} == {Scope.JOB}


@pytest.mark.parametrize(
    ("buffer_m", "fit"), [(None, Fit.ONLY_IF), (10.0, Fit.ONLY_IF), (20.0, Fit.DO_NOT)]
)
def test_the_local_distance_decides_near_water(buffer_m: float | None, fit: Fit) -> None:
    """15.5 m from a creek: forbidden by a rule of 20 m, not by one of 10 m; else a condition."""
    said = suits(streams_m=(CREEK,), local=LocalRules(ground_buffer_m=buffer_m))
    assert said.fit is fit
    assert "near_water" in fired(said)


def test_over_water_only_where_a_local_rule_says_so() -> None:
    """A bridge over the creek is left alone unless the local distance is given as none."""
    bridge = {"kind": "bridge", "length_m": 12.0, "width_m": 4.0}
    assert suits(bridge, streams_m=(ACROSS,)).fit is Fit.DO_NOT
    allowed = suits(bridge, streams_m=(ACROSS,), local=LocalRules(ground_buffer_m=0.0))
    assert allowed.fit is Fit.ONLY_IF


def test_nothing_from_the_air_within_300_ft() -> None:
    """As published, whatever the local distance for ground work; 15.5 m is well inside."""
    site = {"site": Site(delivery=Delivery.AIRPLANE)}
    said = suits(site, streams_m=(CREEK,), local=LocalRules(ground_buffer_m=0.0))
    assert "aerial_near_water" in fired(said)
    beyond = ((-50.0, 4.5 + 301 * FOOT), (50.0, 4.5 + 301 * FOOT))
    assert "aerial_near_water" not in fired(suits(site, streams_m=(beyond,)))


# --- the plan


def test_a_forbidding_rule_leaves_the_asset_alone() -> None:
    """Too near the water: not coated, nothing counted, the reason with the distance in it."""
    house = _house(streams_m=(CREEK,), local=LocalRules(ground_buffer_m=30.0))
    assert house.verdict is Verdict.DO_NOT_COAT
    assert "16 m (51 ft) from a waterway" in house.reason
    assert "the local rule keeps gel 30 m (98 ft) away" in house.reason
    assert house.governing.governs == "rule"
    assert house.mix_m3 == house.work_s == 0.0
    assert all(face.coat_kg_m2 == 0.0 for face in house.surfaces)


def test_a_condition_stands_on_the_card_with_its_source() -> None:
    """Within 300 ft but outside the local distance: coated, and told, with where it comes from."""
    house = _house(streams_m=(CREEK,), local=LocalRules(ground_buffer_m=10.0))
    assert house.verdict is Verdict.HOLDS
    (told,) = [line for line in house.cautions if "from a waterway" in line]
    assert told.endswith("(BLM instruction FA IM-2009-027 (2009))")
    far = _house(streams_m=(((-50.0, 900.0), (50.0, 900.0)),))
    assert not [line for line in far.cautions if "from a waterway" in line]


def test_ways_of_doing_it_stand_on_the_card() -> None:
    """Roof, windows and wash-off of a house, each once; not on the card of one left alone."""
    house = _house()
    for words in (
        "gelled roof",
        "Glass cracks",
        "washed off once the danger has passed".capitalize(),
    ):
        assert sum(words in line for line in house.cautions) == 1, words
    held = _house(assets=(make_asset(released=False),))
    assert not [line for line in held.cautions if "gelled roof" in line]


def test_what_holds_for_the_whole_job_is_said_once() -> None:
    """The missing list of approved products is a warning of the plan, not of every card."""
    plan = _plan()
    assert sum("names no approved products" in line for line in plan.warnings) == 1
    assert not [line for line in plan.assets[0].cautions if "approved" in line]
    assert sum("badly mixed batch" in line for line in plan.warnings) == 1
    listed = _plan(local=LocalRules(approved=("p1",)))
    assert not [line for line in listed.warnings if "approved" in line]


def test_a_product_off_the_list_forbids_every_coat() -> None:
    """Not on the list of the agency: nothing is coated, and the product is named."""
    plan = _plan(assets=(make_asset(), make_asset(id="a2")), local=LocalRules(approved=("other",)))
    assert {asset.verdict for asset in plan.assets} == {Verdict.DO_NOT_COAT}
    assert plan.assets[0].reason.startswith("Invented gel is not on the list")
    assert plan.load.mix_m3 == 0.0


def test_wind_over_the_local_limit_forbids_and_a_calm_hour_does_not() -> None:
    """The limit is held against the forecast at the lay time, not against the day's worst."""
    windy = _house(local=LocalRules(wind_limit_m_s=3.0))
    assert windy.verdict is Verdict.DO_NOT_COAT
    assert "the local limit is 3.0 m/s (7 mph)" in windy.reason
    calm = _house(local=LocalRules(wind_limit_m_s=12.0))
    assert calm.verdict is Verdict.HOLDS


def test_the_plan_and_the_verdicts_agree() -> None:
    """What the plan does not coat by a rule is what the rules forbid, asset by asset."""
    assets = (
        make_asset(),
        make_asset(id="a2", released=False),
        make_asset(id="a3", x_m=400.0),
        make_asset(id="a4", kind="pole", width_m=0.3, x_m=500.0, site=Site(energised=True)),
    )
    job = make_job(
        assets=assets, streams_m=(CREEK,), local=LocalRules(ground_buffer_m=30.0, approved=("p1",))
    )
    plan = make_plan(job, now_s=START_S)
    answer = job_suitability(job, plan, plan.cautions)
    forbidden = {place.id for place in answer.places if place.fit is Fit.DO_NOT}
    left = {asset.asset_id for asset in plan.assets if asset.verdict is Verdict.DO_NOT_COAT}
    assert forbidden == left == {"a1", "a2", "a4"}
    severities = [place.fit.severity for place in answer.places]
    assert severities == sorted(severities, reverse=True)
    assert {one.rule_id for one in answer.findings} == {"mixing_and_cleaning", "no_map_of_waters"}
    assert all(one.scope is not Scope.JOB for place in answer.places for one in place.findings)
    verdicts = {place.id: place.fit for place in answer.places}
    assert {asset.asset_id: asset.suitability for asset in plan.assets} == verdicts


def test_the_plan_carries_the_conditions() -> None:
    """Only if: the conditions with their sources; plainly fine or forbidden: none."""
    near = _house(streams_m=(CREEK,), local=LocalRules(ground_buffer_m=10.0))
    assert near.suitability is Fit.ONLY_IF
    assert any("16 m (51 ft) from a waterway" in said for said in near.conditions)
    held = _house(assets=(make_asset(released=False),))
    assert (held.suitability, held.conditions) == (Fit.DO_NOT, ())


def test_what_is_forbidden_does_not_set_the_mix() -> None:
    """A house that a rule forbids binds the mix window no more than one that is not released."""
    near, far = make_asset(), make_asset(id="a2", x_m=400.0)
    local = LocalRules(ground_buffer_m=30.0)
    job = make_job(assets=(near, far), streams_m=(CREEK,), local=local)
    window = make_mix_window(job, make_plan(job, now_s=START_S), None)
    assert {asset.asset_id: asset.is_released for asset in window.assets} == {
        "a1": False,
        "a2": True,
    }


# --- lines


def test_the_task_of_a_line_follows_its_purpose() -> None:
    """A burn line is a line; beside an existing line, or slowing the fire, it is reinforcement."""
    for purpose, task in (
        (LinePurpose.BURN, Task.LINE),
        (LinePurpose.BESIDE, Task.REINFORCEMENT),
        (LinePurpose.SLOWING, Task.REINFORCEMENT),
    ):
        line = make_line(purpose=purpose)
        job = make_line_job(line)
        said = line_suitability(job, line, surroundings_of(job))
        assert {stretch.task for stretch in said} == {task}
        assert {stretch.fit for stretch in said} == {Fit.ONLY_IF}


def test_only_the_stretch_at_the_water_is_forbidden() -> None:
    """A creek across the second of two stretches: the first is a matter of condition."""
    line = make_line()
    creek = ((120.0, -40.0), (120.0, 40.0))
    job = make_line_job(line, streams_m=(creek,))
    first, second = line_suitability(job, line, surroundings_of(job))
    assert (first.fit, second.fit) == (Fit.ONLY_IF, Fit.DO_NOT)
    assert second.name == "North edge: From 80"


def test_a_ratio_typed_for_a_line_is_held_against_the_label() -> None:
    """4 % on a label of 0.5 to 3 %: forbidden; 2 % is not."""
    for ratio, is_off in ((0.04, True), (0.02, False)):
        line = make_line(work=make_work(mix_ratio=ratio))
        job = make_line_job(line)
        said = line_suitability(job, line, surroundings_of(job))
        assert ("ratio_above_label" in fired(said[0])) is is_off


def test_a_forbidden_line_is_not_to_be_used() -> None:
    """Its plan says do not, why, which stretch, and what would free it; the rest is a warning."""
    line = make_line(segments=(make_segment(), make_segment(80.0, 160.0)))
    job = make_line_job(line, streams_m=(((120.0, -40.0), (120.0, 40.0)),))
    plan = make_lines(job, now_s=START_S)
    (only,) = plan.lines
    assert only.verdict is Verdict.DO_NOT_COAT
    assert only.hindrances[0].kind == "not suitable"
    assert only.hindrances[0].segment_id == "s80"
    assert "waterway" in only.reason
    assert any(words.startswith("North edge: From 0: ") for words in plan.warnings)
    free = make_lines(make_line_job(line), now_s=START_S)
    assert free.lines[0].verdict is not Verdict.DO_NOT_COAT


# --- agents


def test_agents_compared_for_mop_up() -> None:
    """All five, in one order; gel and retardant not, the others yes."""
    found = {one.agent: one.fit for one in compare_agents(Task.MOP_UP)}
    assert list(found) == list(Agent)
    assert [agent for agent, fit in found.items() if fit is Fit.DO_NOT] == [
        Agent.GEL,
        Agent.RETARDANT,
    ]


def test_with_a_job_its_own_rules_count_for_gel() -> None:
    """A product off the list turns gel for structures from use to do not, and no other agent."""
    job = make_job(local=LocalRules(approved=()))
    alone = {one.agent: one.fit for one in compare_agents(Task.STRUCTURE)}
    with_job = {one.agent: one.fit for one in compare_agents(Task.STRUCTURE, job)}
    assert alone[Agent.GEL] is Fit.USE
    assert with_job[Agent.GEL] is Fit.DO_NOT
    assert {a for a in Agent if alone[a] is not with_job[a]} == {Agent.GEL}


def test_foam_in_the_equipment_is_said_of_the_job() -> None:
    """Yes: flush first. No, or not known: nothing, the general caution stands anyway."""
    for told, expected in ((True, True), (False, False), (None, False)):
        found = job_findings(make_job(local=LocalRules(foam_in_equipment=told)))
        assert ("foam_held" in {one.rule_id for one in found}) is expected


def test_a_well_nearby_is_a_condition_until_a_distance_is_given() -> None:
    """A well 24 m from the wall: a prompt; forbidden by a local distance of 30 m, free by 20 m."""
    well = (Well("w", "House well", "well", 30.0, 0.0),)
    assert "near_well" in fired(suits(wells=well))
    assert "inside_well_buffer" in fired(suits(wells=well, local=LocalRules(well_buffer_m=30.0)))
    free = fired(suits(wells=well, local=LocalRules(well_buffer_m=20.0)))
    assert not free & {"near_well", "inside_well_buffer"}


@pytest.mark.parametrize("share", [0.0, 0.25, 1.0, 1.5])
def test_the_ratio_is_placed_between_the_labels_ends(share: float) -> None:
    """Nothing at the low end of the label, one at the high end, more beyond it."""
    job = make_job()
    low, high = job.product.ratio_low, job.product.ratio_high
    laying = Laying(START_S, START_S, low + share * (high - low))
    facts = asset_facts(job, job.assets[0], surroundings_of(job), laying)
    assert facts["ratio_share"] == pytest.approx(share)
    assert (facts["ratio_low"], facts["ratio_high"]) == (low, high)
    unknown = asset_facts(job, job.assets[0], surroundings_of(job), Laying(START_S, START_S))
    assert unknown["ratio_share"] is None


def test_a_line_is_held_against_the_wind_when_its_work_begins() -> None:
    """A gale in its first hour forbids it under a local limit; begun later it is free."""
    weather = make_weather()
    gale = np.where(weather.time_s < START_S + 1.5 * HOUR, 20.0, 2.0)
    limit = LocalRules(wind_limit_m_s=10.0)
    found = []
    for start_s in (None, START_S + 3 * HOUR):
        line = make_line(work=make_work(start_s=start_s))
        job = make_line_job(line, weather=replace(weather, wind_speed_m_s=gale), local=limit)
        found.append({one.fit for one in line_suitability(job, line, surroundings_of(job))})
    assert found == [{Fit.DO_NOT}, {Fit.ONLY_IF}]


def test_a_stretch_of_line_beside_a_well_is_a_condition() -> None:
    """Only the stretch that lies near it."""
    well = (Well("w", "Ranch well", "well", 150.0, 10.0),)
    line = make_line()
    job = make_line_job(line, wells=well, local=LocalRules(well_buffer_m=30.0))
    first, second = line_suitability(job, line, surroundings_of(job))
    assert "inside_well_buffer" in fired(second)
    assert "inside_well_buffer" not in fired(first)
