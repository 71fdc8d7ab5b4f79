"""A product without a price: no page, table or file makes a price of nothing of it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from job_folder import JOB, write_job
from stillwet.cli.group import OK, run
from stillwet.services.keeping import read_plain_job

PRICED = JOB.replace("[job]", "[job]\nmembers = 16") + 'hardness = "90 mg/L"\n'
UNPRICED = "\n".join(line for line in PRICED.splitlines() if not line.startswith("cost_per_pack"))


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    """What a command prints, as one line."""
    assert run(list(arguments)) == OK
    return " ".join(capsys.readouterr().out.split())


@pytest.fixture
def job(tmp_path: Path) -> str:
    """A job whose product has no price."""
    return str(write_job(tmp_path, job=UNPRICED))


def test_no_command_prints_a_price_of_nothing(
    job: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Plan, comparison and account say that none was given; their JSON has null."""
    kept, now = str(tmp_path / "day.gpkg"), "2026-08-14T20:00-06:00"
    told = said(capsys, "plan", job)
    assert "Cost of packs: no price given" in told
    compared = said(capsys, "compare", job, "--set", "wind=+30%")
    assert "Cost of packs no price given no price given" in compared
    assert run(["keep", job, kept]) == OK
    after = said(capsys, "after", kept, "--now", now)
    assert "packs, no price given" in after
    for text in (told, compared, after):
        assert "USD" not in text
    assert json.loads(said(capsys, "plan", job, "--json"))["load"]["cost"] is None
    cost = json.loads(said(capsys, "after", kept, "--now", now, "--json"))["cost"]
    assert (cost["planned_cost"], cost["used_cost"]) == (None, None)


def test_a_price_of_nothing_that_was_given_is_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A gift costs nothing, and that is said."""
    text = UNPRICED.replace("[product]", '[product]\ncost_per_pack = "0 usd"')
    told = said(capsys, "plan", str(write_job(tmp_path, job=text)))
    assert "Cost of packs: USD 0" in told


def test_a_job_written_out_has_no_price_either(job: str, tmp_path: Path) -> None:
    """Exported and read again: still none given."""
    assert run(["export", job, "--to", str(tmp_path / "out")]) == OK
    assert read_plain_job(tmp_path / "out" / "job.toml").product.pack_price is None
