"""``stillwet crews`` as a person types it."""

from __future__ import annotations

import json
import signal
from datetime import UTC, datetime
from pathlib import Path
from typing import NoReturn

import pytest

from job_folder import write_job
from stillwet.cli.group import BAD_INPUT, OK, STOPPED, run
from stillwet.cli.search import asked_to_stop
from stillwet.services.starter import write_starter

NOW_S = datetime(2030, 6, 30, 18, 0, tzinfo=UTC).timestamp()
FILES = ["crews.geojson", "crews.gpx", "crews.ics", "crews.json", "crews.pdf", "crews.svg"]
QUICK = ["--iterations", "0", "--members", "8", "--now", "2030-07-01T07:00-06:00"]


def test_a_day_then_the_same_day_again_from_now(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """All files are written, JSON is printed on demand, and the day is planned on from a CSV."""
    job = write_starter(tmp_path / "job", now_s=NOW_S)
    out = tmp_path / "day"
    assert run(["crews", str(job), "--out", str(out), *QUICK]) == OK
    shown = capsys.readouterr()
    assert "CREW PLAN" in shown.out
    assert "crews.pdf" in shown.err
    assert sorted(path.name for path in out.iterdir()) == FILES
    plan = json.loads((out / "crews.json").read_text())
    coats = [step for step in plan["crews"][0]["steps"] if step["kind"] == "coat"]
    (out / "done.csv").write_text(
        f"asset,time,crew,part\n{coats[0]['place_id']},{coats[0]['finish']},c1,{coats[0]['part']}\n"
    )
    again = ["crews", str(job), "--from-now", str(out / "done.csv"), "--json", *QUICK]
    again[-1] = coats[0]["finish"]
    assert run(again) == OK
    second = json.loads(capsys.readouterr().out)
    assert second["is_replan"]
    left = [step["visit_id"] for step in second["crews"][0]["steps"] if step["kind"] == "coat"]
    assert coats[0]["visit_id"] not in left


def test_iterations_or_seconds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Two stopping rules at once are refused before any work."""
    job = write_job(tmp_path)
    assert run(["crews", str(job), "--iterations", "5", "--seconds", "5"]) == BAD_INPUT
    assert "not both" in capsys.readouterr().err


def test_the_first_interrupt_asks_and_the_second_stops(capsys: pytest.CaptureFixture[str]) -> None:
    """Ctrl-C once raises a flag for the search and says so; twice interrupts; then as before."""
    before = signal.getsignal(signal.SIGINT)
    with asked_to_stop() as should_stop:
        assert not should_stop()
        signal.raise_signal(signal.SIGINT)
        assert should_stop()
        assert "Ctrl-C again stops for good" in capsys.readouterr().err
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is before


def test_without_a_search_the_first_interrupt_stops(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A packet without crew sheets has no best so far to go on with: Ctrl-C ends it."""

    def interrupted(*_: object, **__: object) -> NoReturn:
        signal.raise_signal(signal.SIGINT)
        raise AssertionError("went on")

    monkeypatch.setattr("stillwet.services.packing.packet_of_job", interrupted)
    out = tmp_path / "packet.pdf"
    # A shell starts what runs in its background with Ctrl-C switched off.
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        ended = run(["packet", str(write_job(tmp_path)), "--no-crews", "--out", str(out)])
    finally:
        signal.signal(signal.SIGINT, before)
    assert ended == STOPPED
    assert "stopped; nothing half-written is left" in capsys.readouterr().err
