"""The account on screen, paper, as tables, figure and calendar: complete, safe, by standards."""

from __future__ import annotations

import csv
import io
import json
from dataclasses import replace
from xml.etree import ElementTree

import jsonschema
import pytest
from pypdf import PdfReader

from after_fixture import LAID_S, line_account, scene, whole_log
from job_fixture import HOUR, START_S
from stillwet.domain.after import After, Amounts, Residue
from stillwet.domain.log import CoatLaid
from stillwet.reports.after_calendar import after_calendar_text
from stillwet.reports.after_csv import (
    checks_csv_text,
    outcomes_csv_text,
    residue_csv_text,
    use_csv_text,
)
from stillwet.reports.after_figure import holding_figure_svg
from stillwet.reports.after_json import after_json_text
from stillwet.reports.after_pdf import after_pdf_bytes
from stillwet.reports.after_text import after_text
from stillwet.reports.after_words import amounts_row, concentrate_unit, cost_lines
from stillwet.reports.plan_json import packaged_schema
from stillwet.reports.words import Units

ODD = 'Evil \x1b[31m\u202ehouse, "one"; <b> \\ #set page()'
FORMULA = "=HYPERLINK(1)"


@pytest.fixture(scope="module")
def after() -> After:
    """The account of the whole log."""
    return scene().account(*whole_log())


@pytest.fixture(scope="module")
def odd(after: After) -> After:
    """The same with names that would break a page, a terminal or a spreadsheet."""
    return replace(
        after,
        job_name=ODD,
        assets=tuple(replace(row, name=FORMULA) for row in after.assets),
        lines=tuple(replace(row, name=FORMULA) for row in line_account().lines),
        residue=tuple(replace(row, asset_name=FORMULA, washed_by=ODD) for row in after.residue),
        outcomes=tuple(replace(row, name=FORMULA) for row in after.outcomes),
        due=tuple(replace(due, asset_name=ODD) for due in after.due),
        holding=replace(
            after.holding,
            looks=tuple(replace(look, asset_name=FORMULA) for look in after.holding.looks),
            dries=tuple(replace(dry, asset_name=ODD) for dry in after.holding.dries),
        ),
    )


@pytest.mark.parametrize("units", ["us", "metric"])
def test_text_fits_and_is_plain(after: After, odd: After, units: str) -> None:
    """At most 100 columns, our own words in ASCII, no control or override character."""
    assert after_text(after, units).isascii()
    for one in (after, odd):
        text = after_text(one, units)
        assert max(len(line) for line in text.splitlines()) <= 100
        assert not {"\x1b", "\u202e"} & set(text)


def test_text_says_it_all(after: After) -> None:
    """To do first; then residue by state, the spill, use, cost, holding, outcomes, cautions."""
    text = " ".join(after_text(after, "metric").split())
    order = ["STILL TO DO", "GEL ON FACES", "SPILLS", "USED OF PLANNED", "BY CREW", "COST"]
    order += ["HOLDING", "WHAT BECAME OF", "CAUTIONS", "WHAT THIS STANDS ON"]
    places = [text.index(head) for head in order]
    assert places == sorted(places)
    assert "Wash off, Invented shed" in text
    assert "WASHED OFF (6 faces) - Invented house" in text
    assert "by Rowan" in text
    assert "concentrate, 4.0 L, by the ditch; REACHED WATER; boom laid (Ash)" in text
    assert "scorched" in text
    assert "! wash within 24 h 00 min (12 to 72 h 00 min): untested default" in text
    for caution in after.cautions:
        assert " ".join(caution.split()) in text
    assert "too few checks to judge by" in text


def test_powder_is_told_by_mass(after: After) -> None:
    """By hand: 0.1 m3 of a powder of 500 kg/m3 in bulk are 50 kg; no volume of it is told."""
    powder = replace(
        after,
        ratio_basis="mass percent of the finished mix",
        density_kg_m3=500.0,
        cost=replace(after.cost, concentrate_m3=0.1),
    )
    assert concentrate_unit(powder, Units.METRIC) == "kg"
    used = Amounts(mix_m3=1.0, water_m3=1.0, concentrate_m3=0.1, work_s=60.0)
    assert amounts_row("Barn", None, used, powder, Units.METRIC)[3] == "50"
    assert "(50 kg of concentrate)" in dict(cost_lines(powder, Units.METRIC))["Used"]


def test_json_is_valid_and_keeps_the_numbers(after: After) -> None:
    """By the shipped schema, which knows every key; sums and verdicts as in the record."""
    document = json.loads(after_json_text(after))
    validator = jsonschema.Draft202012Validator(packaged_schema("after"))
    validator.check_schema(packaged_schema("after"))
    validator.validate(document)
    assert document["holding"]["verdict"] == after.holding.verdict
    used = sum(row["used"]["mix_m3"] for row in document["assets"])
    assert used == pytest.approx(after.used.mix_m3)
    assert {row["state"] for row in document["residue"]} == {
        "open",
        "washed off",
        "left to the weather",
    }
    assert document["residue"][0]["laid"].endswith("-06:00")
    document["residue"][0]["state"] = "forgotten"
    assert not validator.is_valid(document)
    del document["spills"]
    assert not validator.is_valid(document)


def test_an_empty_account_is_valid_everywhere() -> None:
    """No log: every form can still be made, and says so."""
    empty = scene().account()
    jsonschema.Draft202012Validator(packaged_schema("after")).validate(
        json.loads(after_json_text(empty))
    )
    assert "No coat was touched" in after_text(empty, "us")
    assert "nothing touched" in holding_figure_svg(empty)
    assert after_pdf_bytes(empty, units="us", paper="letter").startswith(b"%PDF")
    assert "BEGIN:VEVENT" not in after_calendar_text(empty)


def test_lines_stand_beside_the_assets_in_every_form() -> None:
    """0.6 m3 are 600 L on the first segment; 20 of 80 m of a segment of 0.4898 m3 are 122 L.

    Text and sheet have a row of each, the water near them, and what the star means; JSON fits its
    schema; so does an account that was written before it had lines.
    """
    after = line_account()
    text = after_text(after, "metric")
    rows = [line for line in text.splitlines() if line.startswith("From ")]
    assert [line.split()[1:6:3] for line in rows] == [["0", "600"], ["80", "122"]]
    assert rows[1].endswith("1*")
    words = " ".join(text.split())
    assert (
        "GEL ALONG LINES NEAR WATER - From 0 (North edge): left to the weather; a waterway" in words
    )
    assert "26 m (85 ft) away. Flush and wash nothing there" in words
    assert "Along a line it is the nozzle's time alone" in words
    assert "else the coats and wetted lines logged" in words
    document = json.loads(after_json_text(after))
    validator = jsonschema.Draft202012Validator(packaged_schema("after"))
    validator.validate(document)
    assert [row["used"]["mix_m3"] for row in document["lines"]] == pytest.approx(
        [0.6, 0.12245], rel=1e-4
    )
    del document["lines"]
    validator.validate(document)
    use = [row for row in _rows(use_csv_text(after)) if row["of"] == "line"]
    said = [(row["id"], float(row["coats_with_amount"])) for row in use]
    assert said == [("l1/s0", 1.0), ("l1/s80", 0.0)]
    sheets = PdfReader(io.BytesIO(after_pdf_bytes(after, units="metric", paper="a4")))
    pages = ("".join((page.extract_text() or "").split()).lower() for page in sheets.pages)
    printed = "".join(pages)
    for part in ("assetorline", "from0(northedge)", "gelalonglinesnearwater", "26m(85ft)away"):
        assert part in printed, part


def _rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_tables_have_a_row_for_each(after: After) -> None:
    """Assets and crews, checks, faces, outcomes; SI, times with their offset, blanks for none."""
    use = _rows(use_csv_text(after))
    assert [row["of"] for row in use] == ["asset"] * len(after.assets) + ["crew"] * 2
    first = next(row for row in use if row["id"] == "c1")
    assert float(first["used_mix_m3"]) == pytest.approx(2.0)
    assert float(first["stock_water_m3"]) == pytest.approx(2.736)
    assert first["planned_mix_m3"] == ""  # no plan of the crews' day
    checks = _rows(checks_csv_text(after))
    assert [row["feel"] for row in checks] == ["wet", "", "tacky", "dry"]
    assert [row["found_wet"] for row in checks] == ["yes", "", "no", "no"]
    assert float(checks[1]["weighed_mm"]) == 2.0
    residue = _rows(residue_csv_text(after))
    assert len(residue) == len(after.residue)
    assert all(row["last_coat"].endswith("-06:00") for row in residue)
    fates = {row["asset_id"]: row["fate"] for row in _rows(outcomes_csv_text(after))}
    assert fates == {"a1": "unharmed", "a2": "scorched", "a3": ""}


def test_no_cell_is_a_formula(odd: After) -> None:
    """OWASP, "CSV Injection": no cell of any table begins as a formula does."""
    for text in (
        use_csv_text(odd),
        checks_csv_text(odd),
        residue_csv_text(odd),
        outcomes_csv_text(odd),
    ):
        cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
        assert f"'{FORMULA}" in cells
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in cells)


def test_the_figure_is_sound_and_says_what_it_shows(after: After, odd: After) -> None:
    """Well-formed SVG, both panels named, one dot a span of chances, one row a coat touched."""
    for one in (after, odd):
        root = ElementTree.fromstring(holding_figure_svg(one))
        dots = [part for part in root.iter() if part.tag.endswith("circle")]
        assert len(dots) == len(one.holding.bins)
    text = holding_figure_svg(after)
    assert "predicted chance wet, %" in text
    assert "When coats were dry to the touch" in text
    for dry in after.holding.dries:
        assert str(dry.dried) in text


@pytest.mark.parametrize(("units", "paper"), [("us", "letter"), ("metric", "a4")])
def test_the_sheets_say_it_all(after: After, odd: After, units: str, paper: str) -> None:
    """Page one begins with what is still to do; every page has the plan and the first rule."""
    pages = [
        "".join((page.extract_text() or "").split()).lower()
        for page in PdfReader(io.BytesIO(after_pdf_bytes(after, units=units, paper=paper))).pages
    ]
    assert "stilltodo" in pages[0]
    assert "keepwashwaterfrom" in pages[0]
    whole = "".join(pages)
    for words in ("washed___:___by", "reachedwater", "usedofplanned", "costofconcentrate",
                  "holding:predictedagainstseen", "whatbecameoftheassets", "scorched",
                  "!untesteddefault"):  # fmt: skip
        assert words in whole, words
    assert all(f"stillwetafterplan{after.plan_id}" in page for page in pages)
    assert all("decisionaidonly" in page for page in pages)
    assert after_pdf_bytes(odd, units=units, paper=paper).startswith(b"%PDF")


def test_the_calendar_is_read_back_by_a_calendar_library(odd: After) -> None:
    """RFC 5545 by an independent reader (icalendar): washing off and coats again, in UTC."""
    icalendar = pytest.importorskip("icalendar")
    thin = CoatLaid(scene().faces("a1"), "c1", coat_kg_m2=0.3)
    entry = replace(whole_log()[1], body=thin, when_s=START_S + HOUR)
    early = scene().account(entry, now_s=START_S + 2 * HOUR)
    for account in (odd, early):
        text = after_calendar_text(account)
        assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
        events = list(icalendar.Calendar.from_ical(text).walk("VEVENT"))
        assert len(events) == len(account.due)
        assert len({str(event["UID"]) for event in events}) == len(events)
        for event, due in zip(events, account.due, strict=True):
            assert event.decoded("DTEND").timestamp() == pytest.approx(due.to_s, abs=1.0)
            assert event.decoded("DTSTART").timestamp() == pytest.approx(due.from_s, abs=1.0)
            assert "slippery" in str(event["DESCRIPTION"]) or "Escape" in str(event["DESCRIPTION"])
    kinds = {str(due.kind) for due in early.due}
    assert kinds == {"coat again", "wash off"}


def test_what_is_open_has_a_time(after: After) -> None:
    """Each open face says by when it is best washed, after it was coated."""
    for row in after.residue_in(Residue.OPEN):
        assert row.due_s > row.laid_s >= LAID_S
