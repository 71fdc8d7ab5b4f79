"""Bad input through the command line: every kind is told plainly, exit 2, nothing written."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from stillwet.cli.group import BAD_INPUT, run
from stillwet.services.starter import write_starter

NOW_S = datetime(2030, 6, 30, 18, 0, tzinfo=UTC).timestamp()  # the job is for 1 July 2030
CROSSED = (
    '"POLYGON ((-105.2 39.7, -105.1998 39.7002, -105.1998 39.7, -105.2 39.7002, -105.2 39.7))"'
)

Spoil = Callable[[Path], None]


def _swap(name: str, old: str, new: str) -> Spoil:
    """Replace text in one of the job's files; it must be there."""

    def spoil(folder: Path) -> None:
        path = folder / name
        text = path.read_text(encoding="utf-8")
        assert old in text, f"{old!r} is not in {name}"
        path.write_text(text.replace(old, new), encoding="utf-8")

    return spoil


def _cell(row: int, column: str, value: str) -> Spoil:
    """Put a value into one cell of weather.csv; row 2 is the first below the header."""

    def spoil(folder: Path) -> None:
        path = folder / "weather.csv"
        lines = path.read_text(encoding="utf-8").splitlines()
        cells = lines[row - 1].split(",")
        cells[lines[0].split(",").index(column)] = value
        lines[row - 1] = ",".join(cells)
        path.write_text("\n".join(lines) + "\n", encoding="utf-8")

    return spoil


def _lines(name: str, keep: Callable[[int], bool]) -> Spoil:
    """Keep only some lines of a file, counted from 1."""

    def spoil(folder: Path) -> None:
        path = folder / name
        lines = path.read_text(encoding="utf-8").splitlines()
        kept = [line for number, line in enumerate(lines, start=1) if keep(number)]
        path.write_text("\n".join(kept) + "\n", encoding="utf-8")

    return spoil


def _bytes(name: str, content: bytes) -> Spoil:
    """Put other bytes in a file's place."""

    def spoil(folder: Path) -> None:
        (folder / name).write_bytes(content)

    return spoil


def _footprint(folder: Path) -> None:
    """Give the house a footprint that crosses itself, as well-known text."""
    path = folder / "assets.csv"
    header, house, *rest = path.read_text(encoding="utf-8").splitlines()
    lines = [header + ",footprint", house + "," + CROSSED, *(line + "," for line in rest)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


BINARY = random.Random(5).randbytes(2_000_000)
WRONG_ENCODING = "id,kind,latitude,longitude\na1,house,39.7,-105.2\n".encode("utf-32")

CASES: dict[str, tuple[Spoil, tuple[str, ...]]] = {
    "missing column": (
        _swap("weather.csv", "time,temp,rh,", "time,temp,damp,"),
        ("weather.csv", "relative_humidity", "'rh'"),
    ),
    "wrong unit": (
        _swap("job.toml", 'column = "temp", unit = "F"', 'column = "temp", unit = "mph"'),
        ("weather.csv", "air_temperature", "temperature", "'mph'"),
    ),
    "humidity of 140 %": (
        _cell(17, "rh", "140"),
        ("weather.csv", "row 17", "relative_humidity", "140"),
    ),
    "not a number": (_cell(9, "wind", "NaN"), ("weather.csv", "row 9", "wind_speed", "NaN")),
    "gap in hours": (
        _lines("weather.csv", lambda n: n != 12),
        ("weather.csv", "rows 11 and 12", "time", "gap of 2 h"),
    ),
    "fire window not covered": (
        _lines("weather.csv", lambda n: n <= 14),
        ("weather.csv", "2030-07-01", "wanted", "got"),
    ),
    "start after the fire": (
        _swap("job.toml", 'start = "2030-07-01T09:00"', 'start = "2030-07-01T23:00"'),
        ("start", "before the latest arrival", "8.2 h after it"),
    ),
    "footprint crosses itself": (_footprint, ("assets.csv", "row 2", "footprint", "cross")),
    "unknown kind": (
        _swap("assets.csv", "Tool shed,shed", "Tool shed,shedd"),
        ("assets.csv", "row 3", "kind", "'shedd'", 'did you mean "shed"?'),
    ),
    "negative value": (
        _swap("assets.csv", ",48 ft,", ",-48 ft,"),
        ("assets.csv", "row 2", "length", "-48 ft"),
    ),
    "empty file": (_bytes("weather.csv", b""), ("weather.csv", "[weather] file", "empty")),
    "2 MB of binary": (_bytes("assets.csv", BINARY), ("assets.csv", "[assets] file", "text")),
    "wrong encoding": (
        _bytes("assets.csv", WRONG_ENCODING),
        ("assets.csv", "[assets] file", "UTF-8, UTF-16 or Windows-1252 text"),
    ),
    "duplicate id": (
        _swap("assets.csv", "a2,Tool shed", "a1,Tool shed"),
        ("assets.csv", "row 2", "row 3", "id", "'a1'"),
    ),
    "time without zone": (
        _swap("job.toml", 'time_zone = "America/Denver"', "# no zone"),
        ("job.toml", "time_zone", "wanted", "got"),
    ),
}


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """A sound job in a folder of its own."""
    return write_starter(tmp_path / "job", now_s=NOW_S)


def _plan(job: Path, out: Path, capsys: pytest.CaptureFixture[str]) -> tuple[int, str, str]:
    status = run(["plan", str(job), "--out", str(out), "--now", "2030-06-30T18:00Z"])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


@pytest.mark.parametrize("kind", CASES)
def test_bad_input(
    kind: str, job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The message has file, place, field and what was got; exit 2; no folder, no result."""
    spoil, wanted = CASES[kind]
    spoil(job.parent)
    status, result, told = _plan(job, tmp_path / "out", capsys)
    assert status == BAD_INPUT
    assert result == ""
    assert not (tmp_path / "out").exists()
    assert "Traceback" not in told
    for words in wanted:
        assert words in told, told


def test_all_bad_rows_are_told_together(
    job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Faults in three files and four rows come in one go, each on its own line."""
    for kind in ("humidity of 140 %", "not a number", "unknown kind", "negative value"):
        CASES[kind][0](job.parent)
    _swap("crews.toml", "500 gal", "500 mph")(job.parent)
    status, _, told = _plan(job, tmp_path / "out", capsys)
    assert status == BAD_INPUT
    head, *lines = told.splitlines()
    assert head.startswith("5 problems")
    assert len(lines) == 5
    for place in ("row 17", "row 9", "row 3", "row 2", "crews.toml"):
        assert any(place in line for line in lines), told


def test_older_outputs_stay(job: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A refused job leaves the last good plan's files as they were."""
    out = tmp_path / "out"
    out.mkdir()
    (out / "plan.json").write_text("the last good one")
    CASES["duplicate id"][0](job.parent)
    assert _plan(job, out, capsys)[0] == BAD_INPUT
    assert [path.name for path in out.iterdir()] == ["plan.json"]
    assert (out / "plan.json").read_text() == "the last good one"


def test_job_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A job file that does not exist is bad input, named in the message."""
    status, _, told = _plan(tmp_path / "nowhere.toml", tmp_path / "out", capsys)
    assert status == BAD_INPUT
    assert "nowhere.toml" in told
