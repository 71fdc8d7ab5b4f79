"""The account: residue open and closed, what is still to do, what became of each asset."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from after_fixture import CREEK, LAID_S, NOW_S, PASSED_S, Scene, said, scene, whole_log
from job_fixture import HOUR, START_S
from stillwet.domain.after import After, DueKind, OutcomeRow, Residue
from stillwet.domain.log import CoatChecked, CoatLaid, Fate, Feel, FirePassed, Outcome, WashedOff
from stillwet.domain.plan import Verdict
from stillwet.engine.after import _coats_at_fronts
from stillwet.engine.after_residue import Passing
from stillwet.engine.log_coats import logged_coats

DAY = 24 * HOUR
EMBERS = 2 * HOUR  # the job's ember period (tests/job_fixture.py)


@pytest.fixture(scope="module")
def here() -> Scene:
    """The invented job."""
    return scene()


@pytest.fixture(scope="module")
def after(here: Scene) -> After:
    """The account of the whole log."""
    return here.account(*whole_log())


def _states(after: After) -> dict[str, set[Residue]]:
    found: dict[str, set[Residue]] = {}
    for row in after.residue:
        found.setdefault(row.asset_id, set()).add(row.state)
    return found


def test_every_coated_face_is_on_the_list_once(here: Scene, after: After) -> None:
    """House washed, shed still to be washed, tree left to the weather; open ones first."""
    assert _states(after) == {"a1": {Residue.CLOSED}, "a2": {Residue.OPEN}, "a3": {Residue.LEFT}}
    faces = [face for asset in ("a1", "a2", "a3") for face in here.faces(asset)]
    assert sorted(row.surface_id for row in after.residue) == sorted(faces)
    assert after.residue[0].state is Residue.OPEN
    washed = after.residue_in(Residue.CLOSED)[0]
    assert (washed.washed_by, washed.washed_s) == ("Rowan", PASSED_S + 3 * HOUR)


def test_a_coat_after_the_washing_opens_it_again(here: Scene) -> None:
    """Washed, then coated: open, with two coats."""
    house = here.faces("a1")
    again = here.account(
        said(LAID_S, CoatLaid(house, "c1")),
        said(LAID_S + HOUR, WashedOff(house)),
        said(LAID_S + 2 * HOUR, CoatLaid(house[:1], "c1")),
    )
    (row,) = again.residue_in(Residue.OPEN)
    assert (row.surface_id, row.coats, row.washed_s) == (house[0], 2, None)


def test_what_burned_down_needs_no_washing(here: Scene) -> None:
    """Lost with the asset; but an open one is not closed by being unharmed."""
    house = here.faces("a1")
    lost = here.account(
        said(LAID_S, CoatLaid(house, "c1")), said(PASSED_S, Outcome("a1", Fate.LOST))
    )
    assert _states(lost) == {"a1": {Residue.GONE}}
    assert lost.due == ()


def test_washing_begins_when_the_embers_are_over(after: After) -> None:
    """Ember period after the front, and best within a day of that; what is near is named."""
    (due,) = [due for due in after.due if due.kind is DueKind.WASH_OFF]
    assert due.asset_id == "a2"
    assert due.from_s == max(PASSED_S + EMBERS, NOW_S)
    assert due.to_s == PASSED_S + EMBERS + DAY
    assert "its roof feeds a tank" in due.wary
    assert "once the danger has passed" in due.words


def test_wash_water_is_kept_from_the_creek(after: After) -> None:
    """The house's north wall stands 4.5 m north of its middle, the creek runs at 30: 26 m."""
    row = next(row for row in after.residue if row.asset_id == "a1")
    assert CREEK[0][1] == 30.0
    assert any("26 m (84 ft)" in wary for wary in row.wary)


def test_a_weak_coat_is_due_again_before_the_front(here: Scene) -> None:
    """A coat far too thin: again, done by the time crews must be gone, with the plan's work."""
    early = here.account(
        said(START_S + HOUR, CoatLaid(here.faces("a1"), "c1", coat_kg_m2=0.3)),
        now_s=START_S + 2 * HOUR,
    )
    (due,) = [due for due in early.due if due.kind is DueKind.RECOAT]
    work_s = next(asset.work_s for asset in here.plan.assets if asset.asset_id == "a1")
    gone_s = START_S + 7 * HOUR - 0.75 * HOUR
    assert due.asset_id == "a1"
    assert due.from_s >= START_S + 2 * HOUR
    assert due.to_s - due.from_s == pytest.approx(work_s)
    assert due.to_s <= gone_s
    assert "not counted as restoring" in due.words


def test_too_late_to_coat_again_is_said(here: Scene) -> None:
    """When crews have to be gone there is no such task, and a note that nobody stays."""
    late = here.account(
        said(START_S + HOUR, CoatLaid(here.faces("a1"), "c1", coat_kg_m2=0.3)),
        now_s=START_S + 6.5 * HOUR,
    )
    assert not [due for due in late.due if due.kind is DueKind.RECOAT]
    assert any("Nobody stays there" in note for note in late.notes)


def test_nothing_is_coated_again_once_the_danger_is_over(here: Scene) -> None:
    """Long after the last arrival, or once the front has passed: no recoat and no note of one."""
    coat = said(START_S + HOUR, CoatLaid(here.faces("a1"), "c1", coat_kg_m2=0.3))
    over = here.account(coat, now_s=START_S + 24 * HOUR)
    passed = here.account(
        coat, said(START_S + 2 * HOUR, FirePassed("a1")), now_s=START_S + 3 * HOUR
    )
    for account in (over, passed):
        assert not [due for due in account.due if due.kind is DueKind.RECOAT]
        assert not any("coat again" in note for note in account.notes)


def _row(after: After, asset_id: str) -> OutcomeRow:
    (found,) = [row for row in after.outcomes if row.asset_id == asset_id]
    return found


def test_outcomes_tell_what_stood_on_the_wall_when_the_front_came(after: After) -> None:
    """The look after the front (dry) is not what was last felt before it (tacky)."""
    shed = _row(after, "a2")
    assert (shed.fate, shed.passed_s) == (Fate.SCORCHED, PASSED_S)
    assert (shed.last_feel, shed.last_feel_s) == (Feel.TACKY, LAID_S + 2 * HOUR)
    assert shed.coat_kg_m2 == pytest.approx(4.0)
    assert shed.chance_not_dry is not None
    assert 0.0 < shed.chance_not_dry < 1.0
    assert isinstance(shed.verdict, Verdict)
    oak = _row(after, "a3")
    assert (oak.fate, oak.passed_s, oak.chance_not_dry) == (None, None, None)


def test_an_asset_that_burned_uncoated_is_an_outcome_too(here: Scene) -> None:
    """No coat and a fate: in the table, with nothing laid."""
    lost = _row(here.account(said(PASSED_S, Outcome("a2", Fate.LOST))), "a2")
    assert (lost.coats, lost.laid_s, lost.coat_kg_m2, lost.fate) == (0, None, None, Fate.LOST)


def test_a_coat_laid_after_the_front_did_not_meet_it(here: Scene) -> None:
    """Front first, coat later: no coat was on it then."""
    row = _row(
        here.account(
            said(PASSED_S, FirePassed("a1")),
            said(PASSED_S + HOUR, CoatLaid(here.faces("a1"), "c1")),
        ),
        "a1",
    )
    assert (row.coats, row.laid_s, row.chance_not_dry) == (0, None, None)


def test_entries_later_than_now_do_not_count(here: Scene) -> None:
    """As of just after the coats: no check, no front, no washing."""
    early = here.account(*whole_log(), now_s=LAID_S + 1000.0)
    assert early.holding.touched == 0
    assert {row.state for row in early.residue} == {Residue.OPEN, Residue.LEFT}
    assert all(row.fate is None for row in early.outcomes)


def test_an_empty_log_is_an_account_too(here: Scene) -> None:
    """Nothing used, nothing seen, nothing to wash; the plan's own numbers stand."""
    empty = here.account()
    assert empty.used.mix_m3 == 0.0
    assert empty.planned.mix_m3 == pytest.approx(here.plan.load.mix_m3)
    assert empty.holding.verdict == "no coat was touched: nothing is known of the predictions"
    assert empty.residue == ()
    assert empty.due == ()
    assert empty.outcomes == ()
    assert empty.cost.used_cost == 0.0


def test_same_log_same_account(here: Scene, after: After) -> None:
    """Nothing hidden is drawn: the same account to the last figure."""
    log = whole_log()
    assert here.account(*log) == here.account(*log)
    assert after.spills[0].reached_water


def test_a_check_of_no_coat_is_a_note(here: Scene) -> None:
    """Nothing lost in silence."""
    told = here.account(said(LAID_S, CoatChecked(here.faces("a1")[0], Feel.WET)))
    assert any("no coat is logged before" in note for note in told.notes)


def test_the_last_look_is_the_latest_and_not_the_wettest(here: Scene) -> None:
    """Tacky at first and dry before the front comes: dry was last felt."""
    face = here.faces("a2")[0]
    account = here.account(
        said(LAID_S, CoatLaid((face,), "c1", coat_kg_m2=4.0)),
        said(LAID_S + 0.5 * HOUR, CoatChecked(face, Feel.TACKY)),
        said(LAID_S + 1.5 * HOUR, CoatChecked(face, Feel.DRY)),
        said(PASSED_S, FirePassed("a2")),
    )
    shed = next(row for row in account.outcomes if row.asset_id == "a2")
    assert (shed.last_feel, shed.last_feel_s) == (Feel.DRY, LAID_S + 1.5 * HOUR)


def test_the_coats_that_met_the_front_are_the_assets_own(here: Scene) -> None:
    """Of two coated assets and one front, only the coats of the one it passed have met it."""
    shed = here.faces("a2")
    entries = [
        said(LAID_S, CoatLaid(faces, "c1", coat_kg_m2=4.0)) for faces in (here.faces("a1"), shed)
    ]
    logged = logged_coats(here.prepared, here.plan, entries)
    (coats, when_s) = _coats_at_fronts(here.prepared, logged, {"a2": Passing(PASSED_S)})["a2"]
    ids = [here.prepared.surfaces[logged.coats[coat].face].id for coat in coats]
    assert sorted(ids) == sorted(shed)
    assert when_s == PASSED_S


def test_an_account_says_whose_it_is(here: Scene, after: After) -> None:
    """Job, zone, plan and product by name."""
    job = here.prepared.job
    assert (after.job_name, after.time_zone) == (job.name, job.time_zone)
    assert (after.plan_id, after.product_name) == (here.plan.id, job.product.name)


def test_each_coat_is_wet_until_the_last_look_that_said_so(after: After) -> None:
    """The latest wet or tacky touch before the first dry one, as the looks themselves have it."""
    assert after.holding.dries
    for coat in after.holding.dries:
        looks = [
            look
            for look in after.holding.looks
            if (look.surface_id, look.laid_s) == (coat.surface_id, coat.laid_s) and look.feel
        ]
        dry = [look.when_s for look in looks if look.feel is Feel.DRY]
        assert coat.dry_at_s == min(dry, default=None)
        before = [
            look.when_s
            for look in looks
            if look.feel is not Feel.DRY and look.when_s < min(dry, default=math.inf)
        ]
        assert coat.wet_at_s == max(before, default=None)
    assert any(coat.wet_at_s is not None for coat in after.holding.dries)


def _forbidding(here: Scene, asset_id: str) -> Scene:
    """The scene with a plan that says not to coat one of the assets."""
    assets = tuple(
        replace(one, verdict=Verdict.DO_NOT_COAT, reason="12 m from a waterway.")
        if one.asset_id == asset_id
        else one
        for one in here.plan.assets
    )
    return Scene(here.job, here.prepared, replace(here.plan, assets=assets))


def test_nobody_is_sent_to_coat_again_what_was_not_to_be_coated(here: Scene) -> None:
    """Gel got onto an asset that is not to be coated: its thin coat asks for a fresh one no more
    than the first, while the same coat elsewhere does; it is told first, and it is washed off.
    """
    shed, house = here.faces("a2"), here.faces("a1")
    log = (
        said(LAID_S - HOUR, CoatLaid(house, "c1", coat_kg_m2=0.5)),
        said(LAID_S - HOUR, CoatLaid(shed, "c1", coat_kg_m2=0.5)),
    )
    now_s = LAID_S - 0.5 * HOUR
    again = {d.asset_id for d in here.account(*log, now_s=now_s).due if d.kind is DueKind.RECOAT}
    banned = _forbidding(here, "a2").account(*log, now_s=now_s)
    assert again == {"a1", "a2"}
    assert {d.asset_id for d in banned.due if d.kind is DueKind.RECOAT} == {"a1"}
    assert "a2" in {d.asset_id for d in banned.due if d.kind is DueKind.WASH_OFF}
    logged = logged_coats(here.prepared, _forbidding(here, "a2").plan, log)
    assert logged.notes[0].endswith("was coated, but it is not to be: 12 m from a waterway.")
    assert set(logged.forbidden) == {
        row for row, face in enumerate(here.prepared.surfaces) if face.asset_id == "a2"
    }


def test_gel_of_which_nobody_knows_how_much_is_washed_off_all_the_same(here: Scene) -> None:
    """Laid "as planned" where no coat is planned: no coat to count on, but gel to wash off."""
    bare = tuple(
        replace(one, surfaces=tuple(replace(face, coat_kg_m2=0.0) for face in one.surfaces))
        for one in here.plan.assets
    )
    scene_ = Scene(here.job, here.prepared, replace(here.plan, assets=bare))
    after = scene_.account(said(LAID_S, CoatLaid(here.faces("a2"), "c1")))
    assert {row.surface_id for row in after.residue_in(Residue.OPEN)} == set(here.faces("a2"))
    assert any(due.kind is DueKind.WASH_OFF for due in after.due)
