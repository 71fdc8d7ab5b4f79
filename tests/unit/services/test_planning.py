"""From a job's files to a plan's files."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import NoReturn

import jsonschema
import pytest

from stillwet.errors import StillwetError
from stillwet.reports.plan_json import packaged_schema
from stillwet.services.planning import Planned, plan_job
from stillwet.services.view import View

NAMES = {"plan.json", "plan.csv", "plan.gpkg", "plan.pdf"}
NOW_S = 1_909_072_800.0


def test_every_file_is_written_and_is_what_its_name_says(starter_plan: Planned) -> None:
    """Four files; JSON after its schema, CSV with rows, a GeoPackage (SQLite) and a PDF."""
    written = {path.name: path for path in starter_plan.files}
    assert set(written) == NAMES
    jsonschema.validate(
        json.loads(written["plan.json"].read_text("utf-8")), packaged_schema("plan")
    )
    with written["plan.csv"].open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    faces = sum(len(asset.surfaces) for asset in starter_plan.plan.assets)
    assert len(rows) in {len(starter_plan.plan.assets), faces}
    assert written["plan.gpkg"].read_bytes().startswith(b"SQLite format 3\x00")
    assert written["plan.pdf"].read_bytes().startswith(b"%PDF-")


def test_table_fits_a_hundred_columns(starter_plan: Planned) -> None:
    """No line of the printed plan is wider than 100 columns, and it names every asset."""
    shown = starter_plan.text()
    assert max(len(line) for line in shown.splitlines()) <= 100
    for asset in starter_plan.plan.assets:
        assert asset.name in shown


def test_printed_json_is_the_file(starter_plan: Planned) -> None:
    """What `--json` prints is what plan.json holds."""
    (path,) = [path for path in starter_plan.files if path.name == "plan.json"]
    assert json.loads(starter_plan.json_text()) == json.loads(path.read_text("utf-8"))


def test_same_job_same_moment_same_bytes(
    starter_job: Path, starter_plan: Planned, tmp_path: Path
) -> None:
    """A second run gives the same JSON, CSV and PDF to the byte."""
    again = plan_job(starter_job, tmp_path / "again", now_s=starter_plan.plan.made_s)
    for first, second in zip(starter_plan.files, again.files, strict=True):
        if first.suffix != ".gpkg":  # the format stamps each file with the moment it was written
            assert first.read_bytes() == second.read_bytes(), first.name


def test_seed_and_members_can_be_asked_for(starter_job: Path, starter_plan: Planned) -> None:
    """Another seed and number of members are used and recorded, and make another plan."""
    other = plan_job(starter_job, None, now_s=NOW_S, seed=99, members=16)
    assert (other.plan.seed, other.plan.members) == (99, 16)
    assert other.plan.id != starter_plan.plan.id
    assert other.files == ()


def test_units_are_the_readers(starter_plan: Planned) -> None:
    """The same plan in metric shows litres and millimetres, no gallons."""
    metric = Planned(starter_plan.plan, View(units="metric"))
    assert " gal" in starter_plan.text()
    table = metric.text().split("WHERE THE JOB'S NUMBERS")[0]
    assert " mm" in table
    assert " gal" not in table


def test_progress_goes_from_nothing_to_done(starter_job: Path, tmp_path: Path) -> None:
    """Shares never go back, begin at 0, end at 1, and every step has a name."""
    told: list[tuple[str, float]] = []
    plan_job(
        starter_job,
        tmp_path / "plan",
        now_s=NOW_S,
        progress=lambda label, share: told.append((label, share)),
    )
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert all(label for label, _ in told)


def test_failing_sheet_leaves_the_last_plan(
    starter_job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When the map file cannot be written, the four older files stay as they were."""
    out = tmp_path / "plan"
    out.mkdir()
    for name in NAMES:
        (out / name).write_text(f"old {name}")

    def fails(*_: object, **__: object) -> NoReturn:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("stillwet.reports.plan_gpkg.plan_gpkg_write", fails)
    with pytest.raises(OSError, match="No space left"):
        plan_job(starter_job, out, now_s=NOW_S)
    assert {path.name: path.read_text() for path in out.iterdir()} == {
        name: f"old {name}" for name in NAMES
    }


def test_file_in_the_way_is_told_before_the_reckoning(starter_job: Path, tmp_path: Path) -> None:
    """An --out that runs through a file is refused before anything is read."""
    (tmp_path / "taken").write_text("mine")
    told: list[str] = []
    with pytest.raises(StillwetError, match="--out: wanted a folder"):
        plan_job(
            starter_job,
            tmp_path / "taken" / "plan",
            now_s=NOW_S,
            progress=lambda label, _: told.append(label),
        )
    assert told == []
