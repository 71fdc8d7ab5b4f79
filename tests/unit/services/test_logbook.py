"""The field log kept, listed, merged, and what it says is left: as services and as commands."""

from __future__ import annotations

import json
import shutil
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from random import Random

import jsonschema
import pytest

from log_strategies import ids
from stillwet.cli.group import BAD_INPUT, OK, run
from stillwet.cli.log import KINDS as CLI_KINDS
from stillwet.domain.log import KINDS, CoatChecked, Entry, Feel
from stillwet.domain.log_merge import standing
from stillwet.domain.plan import Verdict
from stillwet.engine.make_plan import make_plan
from stillwet.errors import StillwetError
from stillwet.reports.plan_json import packaged_schema
from stillwet.services.keeping import keep_plan_in, read_kept_job
from stillwet.services.left import LeftReckoner, left_of
from stillwet.services.logbook import (
    add_entries,
    entries_after,
    log_of,
    merge_log,
    show_log,
    write_entry,
)
from stillwet.store.log_table import Receipt
from store_fixture import NOW_S, kept_job, small_job, some_entries

FACES = "a1/north-wall"
LATER_S = NOW_S + 2 * 3600.0


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """A job file with two assets."""
    return kept_job(tmp_path)


def moment(time_s: float) -> str:
    """A moment as --now takes it."""
    return datetime.fromtimestamp(time_s, UTC).isoformat()


def laid(path: Path, faces: str = FACES, coat: str = "4 mm", when_s: float = NOW_S) -> Entry:
    """A coat laid and logged."""
    given = {"kind": "coat", "faces": faces, "coat": coat, "by": "Ash", "when": moment(when_s)}
    return write_entry(path, given, now_s=LATER_S).entry


def test_each_entry_has_its_receipt(path: Path) -> None:
    """New: kept; again: here already; another account under the id: kept too, and told."""
    first, second = some_entries(2)
    other = Entry(
        first.id, first.when_s, first.written_s + 1.0, "Bo", "b", CoatChecked(FACES, Feel.DRY)
    )
    assert add_entries(path, [first]) == (Receipt.KEPT,)
    receipts = (Receipt.KEPT, Receipt.HERE, Receipt.CONFLICT)
    assert add_entries(path, [second, first, other]) == receipts
    assert add_entries(path, [other, first, second]) == (Receipt.HERE,) * 3
    assert log_of(path) == {first, second, other}


def test_followers_get_each_entry_once(path: Path) -> None:
    """Asking again with the last row brings only what came since."""
    entries = some_entries(6)
    add_entries(path, entries[:4])
    first = entries_after(path, 0)
    assert [entry for _row, entry in first] == entries[:4]
    add_entries(path, entries)
    assert [entry for _row, entry in entries_after(path, first[-1][0])] == entries[4:]
    assert entries_after(path, 10_000) == ()


def test_writing_twice_under_one_id_changes_nothing(path: Path) -> None:
    """A form sent again with its id and times is there once."""
    given = {
        "kind": "check",
        "face": FACES,
        "feel": "wet",
        "by": "Ash",
        "id": ids(Random(1)),
        "when": moment(NOW_S),
        "written": moment(NOW_S),
    }
    receipts = [write_entry(path, given, now_s=LATER_S + n).receipt for n in range(3)]
    assert receipts == [Receipt.KEPT, Receipt.HERE, Receipt.HERE]
    assert len(log_of(path)) == 1


def test_corrections_by_the_first_figures_of_an_id(path: Path) -> None:
    """The corrected entry no longer counts; an id that nothing begins like is refused."""
    entry = laid(path)
    given = {"kind": "withdrawn", "by": "Bo", "replaces": entry.id[:6]}
    assert write_entry(path, given, now_s=LATER_S).entry.replaces == entry.id
    judged = show_log(path).judged
    assert judged.entries == ()
    assert entry in judged.superseded
    with pytest.raises(StillwetError, match="replaces: wanted the id of one entry of the log"):
        write_entry(path, {**given, "replaces": "zz"}, now_s=LATER_S)


def test_no_id_at_all_corrects_nothing(path: Path) -> None:
    """``replaces=`` with nothing after it must not withdraw the only entry there is."""
    laid(path)
    given = {"kind": "withdrawn", "by": "Bo", "replaces": " "}
    with pytest.raises(StillwetError, match="replaces: wanted the id of one entry of the log"):
        write_entry(path, given, now_s=LATER_S)
    assert len(log_of(path)) == 1


def test_the_future_is_not_logged(path: Path) -> None:
    """A moment later than now is told in the job's time."""
    with pytest.raises(StillwetError, match="when: wanted a moment that has been; now is"):
        laid(path, when_s=LATER_S + 3600.0)


def test_merging_either_way_comes_to_the_same(tmp_path: Path, path: Path) -> None:
    """Two files that took in each other's log have the same log; once more changes nothing."""
    other = Path(shutil.copy(path, tmp_path / "other.gpkg"))
    add_entries(path, some_entries(5, seed=1))
    add_entries(other, some_entries(7, seed=2))
    assert merge_log(path, other).kept == 7
    assert merge_log(other, path).kept == 5
    assert log_of(path) == log_of(other)
    again = merge_log(path, other)
    assert (again.kept, again.here, again.conflicts) == (0, 12, 0)


def test_the_log_of_another_job_is_not_taken_in(tmp_path: Path, path: Path) -> None:
    """Its entries could never be taken out again; what sets the jobs apart is told."""
    (tmp_path / "elsewhere").mkdir()
    other = kept_job(tmp_path / "elsewhere", replace(small_job(), name="Other creek"))
    add_entries(other, some_entries(3))
    told = "OTHER.gpkg: wanted a file of the same job, whose name is '.*', got 'Other creek'"
    with pytest.raises(StillwetError, match=told):
        merge_log(path, other)
    assert log_of(path) == frozenset()


def test_what_is_left_follows_the_log(path: Path) -> None:
    """No coat, no face; a coat laid; found dry, it has nothing to go; washed off, it is gone."""
    reckoner = LeftReckoner(path)
    empty = reckoner.left(LATER_S)
    assert empty.faces == ()
    assert len(empty.not_laid) >= 1
    laid(path)
    (fresh,) = reckoner.left(LATER_S).faces
    assert fresh.surface_id == FACES
    assert 0.0 < fresh.left_kg_m2 < fresh.coat_kg_m2
    for number in range(2):
        given = {"kind": "check", "face": FACES, "feel": "dry", "by": "Bo", "note": str(number)}
        write_entry(path, given, now_s=LATER_S)
    (dry,) = reckoner.left(LATER_S).faces
    assert dry.minutes_to_go(LATER_S) <= 0.0 < fresh.minutes_to_go(LATER_S)
    assert dry.hold_90_s < dry.unchecked_90_s == fresh.unchecked_90_s
    assert (dry.chance, dry.verdict) == (0.0, "will not hold")
    assert dry.left_kg_m2 == 0.0
    assert dry.flags[0].startswith("found dry")
    assert left_of(path, LATER_S) == reckoner.left(LATER_S)  # the same log: the same answer
    write_entry(path, {"kind": "washed", "faces": FACES, "by": "Bo"}, now_s=LATER_S)
    gone = reckoner.left(LATER_S)
    assert gone.faces == ()
    assert len(gone.washed) == 1


def test_a_face_left_out_of_a_coated_asset_is_told(path: Path) -> None:
    """An asset with one face laid is not done: its other planned faces are named."""
    laid(path)
    names = left_of(path, LATER_S).not_laid
    assert any(name.startswith("Invented") and "," in name for name in names), names
    assert "north wall" not in " ".join(names)


def test_a_coat_older_than_the_forecast_is_flagged(path: Path) -> None:
    """Drying that no weather tells of is not counted, and said so."""
    laid(path, when_s=NOW_S - 9 * 86400.0)
    (face,) = left_of(path, LATER_S).faces
    assert any("before the forecast begins" in flag for flag in face.flags)


def test_a_toml_job_has_no_log(tmp_path: Path) -> None:
    """What to do instead is told."""
    with pytest.raises(StillwetError, match="stillwet keep"):
        left_of(tmp_path / "job.toml", NOW_S)


def test_the_commands_know_every_kind() -> None:
    """The words of the command line are those of the log."""
    assert tuple(KINDS) == CLI_KINDS


def test_as_commands(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Add, show, left: text in 100 columns, JSON by its schema, problems in words."""
    now = ["--now", moment(LATER_S)]
    coat = ["log", "add", str(path), "coat", f"faces={FACES}", "coat=1/8 in", "by=Ash"]
    assert run([*coat, "when=2 h ago", *now]) == OK
    assert capsys.readouterr().out.startswith("kept: coat ")
    assert run([*coat, "--dry-run", *now]) == OK
    assert (
        run(["log", "add", str(path), "check", f"face={FACES}", "feel=tacky", "by=Bo", *now]) == OK
    )
    assert run(["log", "add", str(path), "check", "face=a9", "by=Bo", *now]) == BAD_INPUT
    assert "face: wanted an asset of the job" in capsys.readouterr().err
    assert len(log_of(path)) == 2
    for command in (["log", "show", str(path), "--all"], ["left", str(path), *now]):
        assert run(command) == OK
        text = capsys.readouterr().out
        assert "Invented" in text
        assert max(len(line) for line in text.splitlines()) <= 100
        assert text.isascii()
    for command, schema in (
        (["log", "show", str(path), "--json"], packaged_schema("log")),
        (["left", str(path), "--json", *now], packaged_schema("left")),
    ):
        assert run(command) == OK
        jsonschema.validate(json.loads(capsys.readouterr().out), schema)


def test_log_text_tells_what_is_at_odds(path: Path) -> None:
    """Two corrections of one entry: the loser is shown for a person to look at."""
    entry = laid(path)
    for who in ("Bo", "Cy"):
        given = {"kind": "coat", "faces": FACES, "coat": "2 mm", "by": who, "replaces": entry.id}
        write_entry(path, given, now_s=LATER_S)
    assert len(standing(log_of(path)).contested) == 1
    text = show_log(path, units="metric").text()
    assert "1 entry standing, 1 corrected, 1 at odds" in text
    assert "AT ODDS" in text
    assert "2.0 mm" in text


def test_whoever_logs_gel_where_none_may_be_is_told_at_once(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The entry is kept, since it happened; the answer names the rule and the spill to log."""
    job = read_kept_job(path)
    plan = make_plan(job, now_s=NOW_S)
    assets = tuple(
        replace(one, verdict=Verdict.DO_NOT_COAT, reason="12 m from a waterway.")
        for one in plan.assets
    )
    add = ["log", "add", str(path), "coat", f"faces={FACES}", "by=Ash", "--now", moment(LATER_S)]
    assert run(add) == OK
    assert "NOTE" not in capsys.readouterr().err  # no plan is kept that could forbid it
    keep_plan_in(path, replace(plan, assets=assets), job)
    assert run([*add, "--dry-run"]) == OK
    assert "is not to be coated" in capsys.readouterr().err  # before anything is written
    assert run(add) == OK
    told = capsys.readouterr()
    assert told.out.startswith("kept: coat ")
    assert "is not to be coated: 12 m from a waterway." in told.err
    assert "stillwet log add JOB.gpkg spill" in told.err
