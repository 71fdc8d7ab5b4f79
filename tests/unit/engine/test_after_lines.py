"""What was used along wetted lines: sums by hand, whatever the log says or leaves out.

The line: two segments of 80 m of grass with a strip of 4 m, 1.5 mm at a ratio of 2 %, walked at
0.5 m/s. A segment takes 80 * 4 * 1.5 / 1000 = 0.48 m3 of water, 0.48 / 0.98 = 0.4898 m3 of mix.
"""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from after_fixture import LAID_S, Scene, after_job, said, scene
from job_fixture import HOUR, START_S
from line_fixture import make_line, make_work
from phone_fixture import hand_crew_plan
from stillwet.domain.after import After, Amounts, LineUse
from stillwet.domain.job import Job
from stillwet.domain.line_plan import LinesPlan
from stillwet.domain.lines import Beginning, WetSides
from stillwet.domain.log import CoatLaid, Entry, SegmentWetted, Withdrawn
from stillwet.domain.log_merge import standing
from stillwet.engine.after import account_of
from stillwet.engine.after_lines import stretches_of
from stillwet.engine.after_use import crew_use, laid_work
from stillwet.engine.line_watch import watch_line
from stillwet.engine.lines import make_lines
from stillwet.engine.make_plan import plan_of
from stillwet.engine.prepared import prepare

FLOW_M3_S = 0.00189  # of both engines (tests/job_fixture.py)
SEGMENT_MIX_M3 = 0.48 / 0.98


def line_job(**work: Any) -> Job:
    """The invented job of the account with the line that is described above."""
    told: dict[str, Any] = {"coverage_kg_m2": 1.5, "mix_ratio": 0.02}
    line = make_line(work=make_work(beginning=Beginning.FIRST, **(told | work)))
    return after_job(lines=(line,))


@cache
def _scene() -> Scene:
    prepared = prepare(line_job())
    return Scene(prepared.job, prepared, plan_of(prepared, now_s=START_S))


@cache
def _lines() -> LinesPlan:
    return make_lines(replace(line_job(), members=16), now_s=START_S)


def wet(minute: float, part: str, up_to: float | None = None, **more: Any) -> Entry:
    """The line wet up to here, so many minutes after the first coats."""
    return said(LAID_S + 60.0 * minute, SegmentWetted(f"l1/{part}", up_to, **more))


def account(*entries: Entry, lines: LinesPlan | None = None) -> After:
    """The account of these entries."""
    here, now_s = _scene(), START_S + 12 * HOUR
    return account_of(here.prepared, here.plan, None, entries, now_s=now_s, seed=1, lines=lines)


def used(*entries: Entry, job: Job | None = None) -> Amounts:
    """What the entries come to, without a plan of the lines."""
    own = job or line_job()
    works = laid_work(own, scene().plan, entries, stretches_of(own, None))
    return sum((work.amounts for work in works), Amounts())


def row(found: After, segment: str) -> LineUse:
    """The row of one segment."""
    return next(one for one in found.lines if one.segment_id == f"l1/{segment}")


def test_mix_that_was_told_counts_in_totals_and_per_crew() -> None:
    """0.6 m3 by one engine and 0.5 by the other at 2 %: 0.012 and 0.010 m3 of concentrate, 0.588
    and 0.490 of water; 0.022 m3 is two packs of 0.02, 240 dollars.
    """
    found = account(
        wet(0, "s0", crew_id="c1", mix_m3=0.6), wet(9, "s80", 50.0, crew_id="c2", mix_m3=0.5)
    )
    first, second = row(found, "s0").used, row(found, "s80").used
    assert (first.mix_m3, first.water_m3, first.concentrate_m3) == pytest.approx(
        (0.6, 0.588, 0.012)
    )
    assert (second.mix_m3, second.water_m3) == pytest.approx((0.5, 0.49))
    assert second.concentrate_m3 == pytest.approx(0.01)
    crews = {crew.crew_id: crew for crew in found.crews}
    assert crews["c1"].used == first
    assert crews["c2"].used == second
    assert (crews["c1"].first_s, crews["c2"].last_s) == (LAID_S, LAID_S + 540.0)
    assert found.used.mix_m3 == pytest.approx(1.1)
    assert found.used.concentrate_m3 == pytest.approx(0.022)
    assert (found.cost.used_packs, found.cost.used_cost) == (2, 240.0)
    assert row(found, "s0").name == "From 0 (North edge)"


def test_work_is_the_slower_of_pump_and_legs() -> None:
    """0.6 m3 at 0.00189 m3/s is 317.5 s; 0.1 m3 over 80 m at 0.5 m/s is 160 s of walking."""
    assert used(wet(0, "s0", crew_id="c1", mix_m3=0.6)).work_s == pytest.approx(0.6 / FLOW_M3_S)
    assert used(wet(0, "s0", crew_id="c1", mix_m3=0.1)).work_s == pytest.approx(160.0)


@pytest.mark.parametrize(("sides", "strips"), [(WetSides.ONE, 1), (WetSides.BOTH, 2)])
def test_a_coverage_counts_as_the_mix_it_takes(sides: WetSides, strips: int) -> None:
    """2.94 mm on 80 m by 4 m: 0.9408 m3 of water, 0.96 of mix at 2 %; on both sides twice that."""
    took = used(wet(0, "s0", coverage_kg_m2=2.94), job=line_job(wet_sides=sides))
    assert took.mix_m3 == pytest.approx(0.96 * strips)
    assert took.water_m3 == pytest.approx(0.9408 * strips)


def test_only_what_is_new_since_the_last_entry_counts() -> None:
    """Begun at 0, wet to 30 m, then to the end at 80: 30 m and 50 m, together the whole segment's
    0.4898 m3; the next segment's first 20 m are a quarter of that; done again counts again.
    """
    told = [wet(0, "s0", 0.0), wet(2, "s0", 30.0), wet(6, "s0"), wet(8, "s80", 20.0)]
    found = account(*told)
    assert row(found, "s0").used.mix_m3 == pytest.approx(SEGMENT_MIX_M3)
    assert (row(found, "s0").coats, row(found, "s0").said) == (2, 0)
    assert row(found, "s80").used.mix_m3 == pytest.approx(SEGMENT_MIX_M3 / 4)
    again = account(*told, wet(60, "s0", 40.0))
    assert row(again, "s0").used.mix_m3 == pytest.approx(1.5 * SEGMENT_MIX_M3)


def test_farther_than_the_segment_is_its_end() -> None:
    """100 m into a segment of 80 is 80 m."""
    assert used(wet(0, "s0", 100.0)).mix_m3 == pytest.approx(SEGMENT_MIX_M3)


@pytest.mark.parametrize("seed", range(20))
def test_the_metres_are_those_of_the_line_watch(seed: int) -> None:
    """Its sibling that raises alarms reads the same log: as many metres, each 0.4898 / 80 m3."""
    source = random.Random(seed)
    told = [
        wet(number, source.choice(("s0", "s80")), source.choice((None, source.randint(1, 79))))
        for number in range(10)
    ]
    (plan,) = _lines().lines
    watched = watch_line(plan, told, now_s=LAID_S + HOUR).wet
    metres = sum(one.to_m - one.from_m for one in watched)
    assert used(*told).mix_m3 == pytest.approx(metres * SEGMENT_MIX_M3 / 80.0)


def test_without_an_amount_it_counts_as_planned_and_says_so() -> None:
    """0.4898 m3 of the plan's 0.4898, nozzle time too; one entry, of which none says how much.

    Two segments planned at 0.48 / 0.98 * 0.02 are 0.0196 m3 of concentrate on top of the coats'.
    """
    found = account(wet(0, "s0", crew_id="c1"), lines=_lines())
    one, other = row(found, "s0"), row(found, "s80")
    assert one.planned is not None
    for name in ("mix_m3", "water_m3", "concentrate_m3", "work_s"):
        assert getattr(one.used, name) == pytest.approx(getattr(one.planned, name))
    assert one.planned.mix_m3 == pytest.approx(SEGMENT_MIX_M3)
    assert (one.coats, one.said) == (1, 0)
    assert (other.coats, other.used) == (0, Amounts())
    coats = _scene().plan.load
    assert found.planned.concentrate_m3 == pytest.approx(
        coats.concentrate_m3 + 0.04 * SEGMENT_MIX_M3
    )
    packs = found.cost.planned_packs
    assert (packs - 1) * 0.02 < found.planned.concentrate_m3 <= packs * 0.02
    assert found.cost.planned_cost == 120.0 * packs


def test_an_amount_that_nothing_tells_is_not_made_up() -> None:
    """No mix, no coverage, no plan: none is counted, and the notes say that it is not known."""
    own = line_job(coverage_kg_m2=None)
    here = prepare(own)
    entries = (wet(0, "s0", crew_id="c1"),)
    found = account_of(here, _scene().plan, None, entries, now_s=LAID_S + HOUR, seed=1)
    assert row(found, "s0").used.mix_m3 == 0.0
    assert (row(found, "s0").coats, row(found, "s0").said) == (1, 0)
    assert row(found, "s0").planned is None
    notes = " | ".join(found.notes)
    assert "mix was sprayed is not known, and none is counted: From 0 (North edge)" in notes
    assert "no plan of these lines is kept" in notes


def test_without_any_ratio_the_labels_highest_counts() -> None:
    """1 m3 at 3 %, the label's highest: 0.03 m3 of concentrate; and it is said."""
    own = line_job(mix_ratio=None)
    here = prepare(own)
    entries = (wet(0, "s0", mix_m3=1.0),)
    found = account_of(here, _scene().plan, None, entries, now_s=LAID_S + HOUR, seed=1)
    assert found.used.concentrate_m3 == pytest.approx(0.03)
    assert any(
        "the label's highest, 3.00 %, is counted (untested default" in one for one in found.notes
    )
    assert not any("untested default" in one for one in account(*entries).notes)


def test_a_segment_that_the_job_lacks_is_not_lost() -> None:
    """Its mix is counted under its own name, and a note tells of it."""
    found = account(said(LAID_S, SegmentWetted("l9/s4", mix_m3=0.25)))
    assert [(one.name, one.used.mix_m3) for one in found.lines] == [("l9/s4", 0.25)]
    assert any("no segment of the job's lines: l9/s4" in one for one in found.notes)
    assert {crew.name for crew in found.crews} >= {"crew not named"}


def test_corrected_and_taken_back_count_as_the_logs_rules_say() -> None:
    """0.6 m3 corrected to 0.4, and 0.5 withdrawn: 0.4 m3 stand, nothing on the second segment."""
    first, second = wet(0, "s0", mix_m3=0.6), wet(9, "s80", mix_m3=0.5)
    mended = replace(wet(0, "s0", mix_m3=0.4), replaces=first.id, written_s=LAID_S + 900.0)
    gone = replace(wet(9, "s80"), body=Withdrawn(), replaces=second.id, written_s=LAID_S + 901.0)
    found = account(*standing((first, second, mended, gone)).entries)
    assert found.used.mix_m3 == pytest.approx(0.4)
    assert [one.segment_id for one in found.lines] == ["l1/s0"]


def test_water_near_a_wetted_strip_is_named() -> None:
    """The creek runs 30 m north of the line and its strip reaches 4 m: 26 m, 85 ft, both segments;
    a segment that nobody wetted has no gel to speak of.
    """
    found = account(wet(0, "s0", mix_m3=0.6), lines=_lines())
    assert row(found, "s0").wary == ("a waterway 26 m (85 ft) away",)
    assert row(found, "s80").wary == ()


def test_the_line_is_on_top_of_its_crews_day() -> None:
    """Two segments of 0.4898 m3, both the first engine's: 0.9796 m3 more than its visits."""
    stretches = stretches_of(line_job(), _lines())
    day = hand_crew_plan()
    alone = crew_use(line_job(), day, (), ())
    whole = crew_use(line_job(), day, (), (), stretches)
    more = []
    for before, after in zip(alone, whole, strict=True):
        assert before.planned is not None
        assert after.planned is not None
        more.append(after.planned.mix_m3 - before.planned.mix_m3)
    assert more == pytest.approx([2 * SEGMENT_MIX_M3, 0.0])


def test_from_a_house_to_the_line_and_back_is_two_visits() -> None:
    """600 s of setting up twice, 2 * 0.1 m3 at the house, and 0.6 m3 along the line."""
    faces = scene().faces("a1")
    took = used(
        said(LAID_S, CoatLaid(faces, "c1", mix_m3=0.1)),
        wet(5, "s0", crew_id="c1", mix_m3=0.6),
        said(LAID_S + 1200.0, CoatLaid(faces, "c1", mix_m3=0.1)),
    )
    assert took.work_s == pytest.approx(2 * 600.0 + 0.8 / FLOW_M3_S)


@pytest.mark.parametrize("seed", range(10))
def test_by_place_and_by_crew_is_the_same_sum(seed: int) -> None:
    """Coats and lines mixed at random: nothing is counted twice or lost between the tables."""
    source = random.Random(seed)
    entries: list[Entry] = []
    for number in range(12):
        crew = source.choice(("c1", "c2", "", "borrowed"))
        mix = source.choice((None, source.uniform(0.1, 2.0)))
        if source.random() < 0.5:
            faces = scene().faces(source.choice(("a1", "a2")))
            entries.append(said(LAID_S + number, CoatLaid(faces, crew, mix_m3=mix)))
        else:
            part, up_to = source.choice(("s0", "s80", "s9")), source.uniform(0.0, 90.0)
            entries.append(wet(number, part, up_to, crew_id=crew, mix_m3=mix))
    found = account(*sorted(entries, key=lambda one: one.when_s), lines=_lines())
    crews = sum((crew.used for crew in found.crews), Amounts())
    for name in ("mix_m3", "water_m3", "concentrate_m3", "work_s"):
        assert getattr(found.used, name) == pytest.approx(getattr(crews, name))
    assert found.used.water_m3 + found.used.concentrate_m3 == pytest.approx(found.used.mix_m3)
