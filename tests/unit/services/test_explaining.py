"""Why, from a job's files: for one asset, for the job, as text, JSON and figure."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest

from stillwet.domain.chain import Chain, JobShares
from stillwet.domain.plan import Verdict
from stillwet.errors import StillwetError
from stillwet.reports.plan_json import packaged_schema
from stillwet.services.explaining import explain_job
from stillwet.services.planning import Planned


def test_one_asset_is_explained_as_planned(starter_job: Path, starter_plan: Planned) -> None:
    """The chain ends in the plan's own answer, under the plan's own id."""
    asset = starter_plan.plan.assets[0]
    found = explain_job(starter_job, asset.name.upper(), None)
    assert isinstance(found.found, Chain)
    assert found.found.asset == asset
    assert found.found.plan.id == starter_plan.plan.id
    jsonschema.validate(json.loads(found.json_text()), packaged_schema("explain"))


def test_whole_job_is_explained(starter_job: Path, starter_plan: Planned) -> None:
    """Every asset to be coated has its shares, and the text names each."""
    found = explain_job(starter_job, None, None)
    assert isinstance(found.found, JobShares)
    coated = [
        asset for asset in starter_plan.plan.assets if asset.verdict is not Verdict.DO_NOT_COAT
    ]
    assert [part.asset for part in found.found.assets] == coated
    jsonschema.validate(json.loads(found.json_text()), packaged_schema("explain"))
    for asset in coated:
        assert asset.name in found.text()


def test_text_fits_and_is_in_the_readers_units(starter_job: Path) -> None:
    """100 columns; no gallons for a metric reader outside quoted sources."""
    for units, own, other in (("us", " gal ", " mm "), ("metric", " mm ", " gal ")):
        text = explain_job(starter_job, "a1", None, units=units).text()
        assert max(len(line) for line in text.splitlines()) <= 100
        numbers = [line[:20] + " " for line in text.splitlines() if line.startswith("  ")]
        assert any(own in number for number in numbers)
        assert not any(other in number for number in numbers)


@pytest.mark.parametrize(
    ("asset", "suffix", "start"), [("a1", "svg", b"<svg"), (None, "PNG", b"\x89PNG")]
)
def test_figure(
    asset: str | None, suffix: str, start: bytes, starter_job: Path, tmp_path: Path
) -> None:
    """The figure is of the kind its name says, alone in its folder."""
    explain_job(starter_job, asset, tmp_path / f"why.{suffix}")
    (path,) = tmp_path.iterdir()
    assert start in path.read_bytes()[:200]


def test_faults_are_told_before_the_reckoning(starter_job: Path, tmp_path: Path) -> None:
    """An asset that is not there and a figure of another kind: told, and nothing is written."""
    told: list[str] = []
    with pytest.raises(StillwetError, match="ASSET: wanted an id or a name"):
        explain_job(starter_job, "a99", None, progress=lambda label, _: told.append(label))
    assert told == ["reading the job"]
    with pytest.raises(StillwetError, match=r"--out: wanted a file ending in .svg or .png"):
        explain_job(starter_job, "a1", tmp_path / "why.gif")
    assert list(tmp_path.iterdir()) == []


def test_seed_and_members_can_be_asked_for(starter_job: Path) -> None:
    """Another seed and number of members explain that plan."""
    found = explain_job(starter_job, "a1", None, seed=99, members=16)
    assert (found.found.plan.seed, found.found.plan.members) == (99, 16)


def test_same_job_same_words_to_the_byte(starter_job: Path) -> None:
    """Twice the same text, figure and JSON."""
    first, again = (explain_job(starter_job, "a1", None) for _ in range(2))
    assert first.text() == again.text()
    assert first.json_text() == again.json_text()
    assert first.figure(".png") == again.figure(".png")


def test_progress_goes_from_nothing_to_done(starter_job: Path) -> None:
    """Shares never go back, begin at 0 and end at 1."""
    shares: list[float] = []
    explain_job(starter_job, None, None, progress=lambda _, share: shares.append(share))
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
