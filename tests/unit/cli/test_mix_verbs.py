"""``stillwet mix`` and ``stillwet proportioner``: files in, answers out, nothing half-written."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from job_folder import JOB, write_job
from stillwet.cli.group import BAD_INPUT, OK, run

CHECKS = """when,method,dial [%],mix_flow [gal/min],drawn [gal],seconds [s]
2030-06-01 09:00,timed draw,1.0,30,0.21,60
2030-06-01 09:20,timed draw,1.5,30,0.315,60
2030-06-01 09:40,timed draw,2.0,30,0.42,60
"""


@pytest.fixture
def checks(tmp_path: Path) -> Path:
    """Three exact timed draws of a proportioner that delivers 70 %."""
    path = tmp_path / "checks.csv"
    path.write_text(CHECKS, encoding="utf-8")
    return path


def test_mix_tells_draws_and_prints_the_card(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Text on stdout; figure and card where they were asked for."""
    job = write_job(tmp_path, job=JOB.replace("[job]", "[job]\nmembers = 16"))
    out, card = tmp_path / "out" / "window.svg", tmp_path / "out" / "card.pdf"
    assert run(["mix", str(job), "--out", str(out), "--card", str(card)]) == OK
    shown = capsys.readouterr()
    assert "WHAT TO SET" in shown.out
    assert out.read_text(encoding="utf-8").startswith("<svg")
    assert card.read_bytes().startswith(b"%PDF")
    assert "wrote" in shown.err
    assert run(["mix", str(job), "--asset", "Red barn", "--json"]) == OK
    document = json.loads(capsys.readouterr().out)
    assert document["schema"] == "stillwet.mix/1"
    assert [asset["name"] for asset in document["assets"]] == ["Red barn"]


def test_mix_refuses_what_cannot_be_before_the_reckoning(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """An asset that is not there, a figure or card of another kind: exit 2, nothing written."""
    job = write_job(tmp_path)
    assert run(["mix", str(job), "--asset", "none"]) == BAD_INPUT
    assert run(["mix", str(job), "--out", str(tmp_path / "w.txt")]) == BAD_INPUT
    assert run(["mix", str(job), "--card", str(tmp_path / "c.doc")]) == BAD_INPUT
    assert "wanted a file ending in .pdf" in capsys.readouterr().err
    assert not (tmp_path / "w.txt").exists()


def test_proportioner_says_what_to_set(checks: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """70 % of what is set: 1.43 % for 1 %; against a window, beside foam practice."""
    arguments = ["--window", "0.9 % to 1.3 %", "--wanted", "1 %"]
    assert run(["proportioner", str(checks), *arguments]) == OK
    shown = capsys.readouterr().out
    assert "set 1.43 % to get 1.00 % by volume" in shown
    assert "mix window: too lean (0.90 to 1.30 %)" in shown
    assert "foam practice: too lean (1.00 to 1.30 %)" in shown


def test_proportioner_writes_chart_form_and_json(
    checks: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The run chart, the form, and JSON that says its schema."""
    chart, form = tmp_path / "chart.png", tmp_path / "form.pdf"
    assert run(["proportioner", str(checks), "--out", str(chart), "--json"]) == OK
    assert json.loads(capsys.readouterr().out)["schema"] == "stillwet.proportioner/1"
    assert chart.read_bytes().startswith(b"\x89PNG")
    assert run(["proportioner", "--form", str(form), "--units", "metric", "--paper", "a4"]) == OK
    assert form.read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--window", "1 %"], "--window: wanted such as"),
        (["--window", "1.3 % to 0.9 %"], "--window: wanted the lower ratio first"),
        (["--wanted", "150 %"], "--wanted: wanted above 0 and below 50 %"),
        (["--time-zone", "Mars"], "--time-zone: wanted an IANA time zone"),
    ],
)
def test_proportioner_refuses_bad_options(
    checks: Path, arguments: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each option that cannot be is named; exit 2."""
    assert run(["proportioner", str(checks), *arguments]) == BAD_INPUT
    assert told in capsys.readouterr().err


def test_proportioner_without_anything_to_do_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    """No file and no form: exit 2 with the two ways out."""
    assert run(["proportioner"]) == BAD_INPUT
    assert "Give a file of checks, or --form" in capsys.readouterr().err
