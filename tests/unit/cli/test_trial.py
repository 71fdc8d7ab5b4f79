"""``stillwet trial``: typed values and tables in, a fit and the next trial out; a form to print."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from pypdf import PdfReader

from job_folder import JOB, write_job
from stillwet.cli.group import BAD_INPUT, OK, run
from stillwet.reports.plan_json import packaged_schema

TYPE = ["--type", "superabsorbent_dispersion"]
ROWS = [
    ["ratio=0.8 %", "hardness=90 mg/L", "water_temperature=60 F", "age=1 h", "coat=1/16 in"],
    ["ratio=1.2 %", "hardness=90 mg/L", "water_temperature=60 F", "age=1 h", "coat=3/16 in"],
    [
        "ratio=1.6 %",
        "hardness=90 mg/L",
        "water_temperature=60 F",
        "age=1 h",
        "slump=30 mm",
        "cylinder_height=80 mm",
    ],
]


@pytest.fixture(params=["trials.csv", "trials.xlsx"])
def table(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """Three trials typed in one by one, US and metric as they come."""
    path = tmp_path / str(request.param)
    for row in ROWS:
        assert run(["trial", "add", str(path), *row]) == OK
    return path


def test_add_fit_and_next_work_from_typed_values(
    table: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Rows typed in are fitted; the next trial comes with what will be read and the reason."""
    assert run(["trial", "fit", str(table), *TYPE]) == OK
    told = capsys.readouterr().out
    assert "3 readings of 3 trials at 3 ratios in 1 water" in told
    assert "in water of 90 mg/L at 60 F" in told
    assert "NOT TAKEN for plans" in told
    assert "at least 5 are wanted" in " ".join(told.split())
    assert "TRY NEXT" not in told
    assert run(["trial", "next", str(table), *TYPE, "--units", "metric"]) == OK
    told = capsys.readouterr().out
    assert max(map(len, told.splitlines())) <= 100
    after = " ".join(told.partition("TRY NEXT")[2].split())
    assert "mm to stay on an upright board" in after or "mm wide and high to sink" in after
    assert "Plans do not take the fit yet (3 readings, and at least 5 are wanted)" in after


def test_json_says_its_schema(table: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The JSON fits its schema, with and without a table."""
    check = Draft202012Validator(packaged_schema("trial"))
    capsys.readouterr()
    for arguments in (["fit", str(table), *TYPE], ["next", "--type", "clay"]):
        assert run(["trial", *arguments, "--json"]) == OK
        document = json.loads(capsys.readouterr().out)
        check.validate(document)
    assert document["curve"] is None
    assert document["proposals"][0]["tool"] is not None


def test_a_bad_row_leaves_the_table_as_it_was(
    table: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Zero time, a ratio over 100 %, no unit, no such field: exit 2, not a byte changed."""
    before = table.read_bytes()
    base = {"ratio": "1 %", "hardness": "90 ppm", "age": "1 h", "funnel": "60 s"}
    for change, answer in (
        ({"age": "0 min"}, "age: wanted"),
        ({"funnel": "0 s"}, "funnel: wanted 20 to 3600 s"),
        ({"ratio": "101 %"}, "ratio: wanted 0.001 to 50 %"),
        ({"funnel": "60"}, "wanted a unit after the number"),
        ({"funnels": "60 s"}, 'did you mean "funnel"?'),
    ):
        row = [f"{name}={value}" for name, value in (base | change).items()]
        assert run(["trial", "add", str(table), *row]) == BAD_INPUT
        assert answer in capsys.readouterr().err
    sound = [f"{name}={value}" for name, value in base.items()]
    assert run(["trial", "add", str(table), "--dry-run", *sound]) == OK
    assert "nothing written" in capsys.readouterr().err
    assert table.read_bytes() == before
    assert run(["trial", "add", str(table), *sound]) == OK
    assert "4 trials" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("arguments", "answer"),
    [
        (["fit"], "Give a table of trials"),
        (["next", "--type", "jam"], "--type: wanted --job JOB.toml, or --type"),
        (["next", "--type", "clay", "--coat", "3 ft"], "--coat: wanted 0.1 to 50 mm"),
        (["next", "--type", "clay", "--hardness", "9 kg/m3"], "--hardness: wanted"),
        (["fit", "none.csv", *TYPE], "none.csv"),
        (["fit", "none.doc", *TYPE], "none.doc"),
        (["add", "t.csv", "ratio"], 'Write FIELD="VALUE"'),
        (["form", "form.txt"], "wanted a file ending in .pdf"),
    ],
)
def test_what_cannot_be_is_refused(
    arguments: list[str], answer: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Each with its own answer and exit 2."""
    assert run(["trial", *arguments]) == BAD_INPUT
    assert answer in capsys.readouterr().err


def test_a_file_of_two_products_must_be_asked_for_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Readings of two products are never pooled."""
    path = tmp_path / "t.csv"
    rows = "\n".join(f"{name},1 %,50 ppm,1 h,3 mm" for name in ("clear", "other"))
    path.write_text(f"product,ratio,hardness,age,coat\n{rows}\n", encoding="utf-8")
    assert run(["trial", "fit", str(path), *TYPE]) == BAD_INPUT
    assert "--product: wanted one of clear, other" in capsys.readouterr().err
    assert run(["trial", "fit", str(path), *TYPE, "--product", "other"]) == OK
    assert "1 reading of 1 trial at 1 ratio" in capsys.readouterr().out


def test_the_job_says_product_water_and_trials(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """With [trials] in the job, no table need be given; the job's water is the one asked about."""
    text = JOB.replace("[job]", "[job]\nmembers = 16") + 'hardness = "150 mg/L"\n'
    table = "product,ratio,hardness,age,coat\nclear,1 %,50 ppm,1 h,3 mm\n"
    job = write_job(tmp_path, job=text + '\n[trials]\nfile = "t.csv"\n', t_csv=table)
    assert run(["trial", "fit", "--job", str(job)]) == OK
    told = capsys.readouterr().out
    assert "(t.csv)" in told
    assert "in water of 150 mg/L" in told


@pytest.mark.parametrize(("units", "paper"), [("us", "letter"), ("metric", "a4")])
def test_the_form_is_one_page_of_its_paper(tmp_path: Path, units: str, paper: str) -> None:
    """One page in the crew's units, with the words that a trial needs."""
    out = tmp_path / "form.pdf"
    assert run(["trial", "form", str(out), "--units", units, "--paper", paper]) == OK
    pages = PdfReader(io.BytesIO(out.read_bytes())).pages
    assert len(pages) == 1
    wide = float(pages[0].mediabox.width)
    assert wide == pytest.approx(612.0 if paper == "letter" else 595.3, abs=0.5)
    text = pages[0].extract_text()
    for word in (
        "hardness",
        "Stood or slid",
        "Coat kept, in" if units == "us" else "Coat kept, mm",
    ):
        assert word in " ".join(text.split())
