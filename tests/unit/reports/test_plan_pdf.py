"""The sheets: page 1 is the answer, each asset has its card, nothing runs off the paper."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from pypdf import PdfReader

from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.plan import Verdict
from stillwet.reports.local_time import clock_of
from stillwet.reports.plan_pdf import plan_pdf_bytes
from stillwet.reports.plan_rows import face_row
from stillwet.reports.source_list import breakable
from stillwet.reports.words import Units

from .plan_fixture import make_plan, rename
from .test_text_table import ODD_NAMES


def _flat(text: str) -> str:
    """Without blanks, so that line breaks in the sheet do not matter."""
    return re.sub(r"[\s\u200b]+", "", text).lower()


@cache
def _pdf(units: str = "us", paper: str = "letter") -> bytes:
    return plan_pdf_bytes(make_plan(), units=units, paper=paper)


@cache
def _pages(pdf: bytes) -> list[str]:
    return [_flat(page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]


def test_page_one_is_the_answer() -> None:
    """Job, plan id, when it was made, what will not hold and why, cautions and warnings."""
    plan = make_plan()
    first = _pages(_pdf())[0]
    wanted = [plan.job_name, f"Plan {plan.id}", "Made Tue 13 Aug 2030 21:00 MDT", "CAUTIONS"]
    wanted += [*plan.cautions, *plan.warnings, "WILL NOT HOLD 2 of 20", plan.assets[0].reason]
    wanted += ["1.20 % by volume", plan.assets[0].name, "3 untested defaults"]
    for words in wanted:
        assert _flat(words) in first


def test_every_asset_has_one_card_with_its_faces() -> None:
    """A page starts with the asset's name and holds each of its faces and its reason."""
    plan = make_plan()
    pages = _pages(_pdf())
    for number, asset in enumerate(plan.assets, start=1):
        starts = [page for page in pages if page.startswith(_flat(f"{number}{asset.name}"))]
        assert len(starts) == 1
        for face in asset.surfaces:
            assert _flat(face.surface.label) in starts[0]
        assert _flat(asset.reason) in starts[0]


def test_cards_fit_one_page_each() -> None:
    """Two pages of answer and loads, then one page an asset: nothing spills."""
    assert len(_pages(_pdf())) == len(_pages(_pdf("metric", "a4"))) == 22


def test_plan_id_page_number_and_the_first_rule_are_on_every_page() -> None:
    """A sheet torn from the packet still says which plan it is and what comes first."""
    pages = _pages(_pdf())
    for number, page in enumerate(pages, start=1):
        assert _flat("Stillwet plan 3f9a12cd") in page
        assert _flat(f"page {number} of {len(pages)}") in page
        assert _flat("Nobody stays because a coat should hold") in page


def test_untested_defaults_are_marked_on_every_page_they_reach() -> None:
    """Words and interval on the page of the job's numbers and on every card."""
    pages = _pages(_pdf())
    for page in pages[1:]:
        assert _flat("! untested default") in page
        assert _flat("coat variation 0.35 (0.2 to 0.6)") in page
    assert all(_flat("sheltering 0.6 (0.3 to 1)") in page for page in pages[2:])


def test_a_plan_without_untested_defaults_has_no_such_mark() -> None:
    """The mark comes from the data, not from the template."""
    plan = make_plan()
    sure = Basis(BasisKind.TRIAL, "station trial")

    def settle(items: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(replace(item, basis=sure) for item in items)

    assets = tuple(replace(asset, inputs=settle(asset.inputs)) for asset in plan.assets)
    known = replace(plan, inputs=settle(plan.inputs), assets=assets[:3])
    pages = _pages(plan_pdf_bytes(known, units="us", paper="letter"))
    assert not any(_flat("! untested default") in page for page in pages)


def test_card_shows_the_crew_what_to_do() -> None:
    """Ranch house: coat with gauge and coverage, mix, window, hold-until, fire, tick boxes."""
    card = next(page for page in _pages(_pdf()) if page.startswith("7ranchhouse"))
    for words in (
        "0.17 in 1/8 to 3/16 in; 4.4 mm; 10.8 gal per 100 ft2",
        "Mix, by volume 1.20 %",
        "Wed 13:00 to Wed 15:30",
        "Wed 18:36 90 % sure; 50 %: Wed 20:12",
        "Wed 16:15 to Wed 19:15",
        "Escape route and safety zone known to all",
        "Note: Propane cylinder on the north side",
        "set by drying",
    ):
        assert _flat(words) in card


def test_card_without_a_coat_says_so_and_asks_for_no_spraying() -> None:
    """The barn's card: none, its reason, and no box to tick for a coat."""
    card = next(page for page in _pages(_pdf()) if page.startswith("1haybarn"))
    assert _flat("Coat none lay no coat here") in card
    assert _flat("Crew told: no coat here") in card
    assert _flat("All faces coated") not in card


def test_a_face_that_gets_no_coat_is_not_told_to_hold() -> None:
    """On an asset that no coat saves, a face that would hold by itself says "no coat"."""
    plan = make_plan()
    asset = next(one for one in plan.assets if one.verdict is Verdict.WILL_NOT_HOLD)
    face = replace(asset.governing, verdict=Verdict.HOLDS, coat_kg_m2=0.0)
    row = face_row(1, face, asset, Units.US, clock_of(plan))
    assert row.verdict == "no coat"
    lost = replace(face, verdict=Verdict.WILL_NOT_HOLD)
    assert face_row(1, lost, asset, Units.US, clock_of(plan)).verdict == "WILL NOT HOLD"


def test_suitability_stands_on_the_cover_and_on_the_cards() -> None:
    """Page one names where gel is only right on a condition; each card says its own verdict."""
    pages = _pages(_pdf())
    assert _flat("Gel only if a condition is met") in pages[0] + pages[1]
    for lead, words in (
        ("5pumphouse", "only if: see the cautions"),
        ("3latticetower14", "no: lay no gel here"),
        ("7ranchhouse", "yes, by the rules asked"),
    ):
        card = next(page for page in pages if page.startswith(lead))
        assert _flat(words) in card


def test_metric_sheets_speak_metric_on_a4() -> None:
    """A4 is 595 x 842 pt (ISO 216); litres and millimetres on the card."""
    pdf = _pdf("metric", "a4")
    box = PdfReader(io.BytesIO(pdf)).pages[0].mediabox
    assert (round(box.width), round(box.height)) == (595, 842)
    card = next(page for page in _pages(pdf) if page.startswith("7ranchhouse"))
    assert _flat("4.4 mm 0.17 in; 4.4 L/m2") in card
    assert _flat("gal per") not in card


def test_letter_paper_is_letter() -> None:
    """US letter is 8.5 x 11 in: 612 x 792 pt."""
    box = PdfReader(io.BytesIO(_pdf())).pages[0].mediabox
    assert (round(box.width), round(box.height)) == (612, 792)


def test_no_text_starts_outside_the_margins() -> None:
    """Every run of text begins inside the page's margins, long and odd names included."""
    plan = rename(make_plan(), ODD_NAMES)
    plan = replace(plan, assets=plan.assets[:6])
    for page in PdfReader(io.BytesIO(plan_pdf_bytes(plan, units="us", paper="letter"))).pages:
        spots: list[tuple[float, float]] = []

        def note(text: str, cm: Any, tm: Any, font: Any, size: Any, spots: Any = spots) -> None:
            if text.strip():
                x = cm[0] * tm[4] + cm[2] * tm[5] + cm[4]
                spots.append((x, cm[1] * tm[4] + cm[3] * tm[5] + cm[5]))

        page.extract_text(visitor_text=note)
        assert len(spots) > 4
        assert all(36 <= x <= 576 and 18 <= y <= 770 for x, y in spots)


def test_type_is_large_enough_for_gloves_and_sun() -> None:
    """No run is set smaller than 8 points, and only picture labels and footers under 10."""
    plan = replace(make_plan(), assets=make_plan().assets[6:7])
    letters: dict[bool, int] = {True: 0, False: 0}
    for page in PdfReader(io.BytesIO(plan_pdf_bytes(plan, units="us", paper="letter"))).pages:

        def note(text: str, cm: Any, tm: Any, font: Any, size: Any) -> None:
            if text.strip():
                set_in = abs(size * tm[3] * cm[3])
                assert set_in > 7.9, text
                letters[set_in > 9.9] += len(text.strip())

        page.extract_text(visitor_text=note)
    assert letters[True] > 5 * letters[False] > 0


@pytest.mark.parametrize(
    "name", ["#panic()", "*a* _b_ $c$", "@ref <label>", "`raw` // x", "\\u{1}"]
)
def test_markup_in_names_is_only_text(name: str) -> None:
    """A name cannot act as typst: it is printed as it was typed."""
    plan = make_plan()
    odd = replace(plan, job_name=name, warnings=(name,), assets=plan.assets[6:7])
    odd = rename(odd, {0: name})
    pages = _pages(plan_pdf_bytes(odd, units="us", paper="letter"))
    assert _flat(name) in pages[0]
    assert pages[-1].startswith(_flat("1" + name))


def test_same_plan_same_bytes() -> None:
    """The file holds no clock and no chance: two settings of one plan are equal."""
    assert plan_pdf_bytes(make_plan(), units="us", paper="letter") == _pdf()


def test_only_the_packages_own_fonts_are_in_the_file() -> None:
    """No system font slips in, so every machine prints the same sheet."""
    names = set()
    for page in PdfReader(io.BytesIO(_pdf())).pages:
        resources: Any = page["/Resources"]
        for font in resources["/Font"].values():
            names.add(str(font.get_object()["/BaseFont"]).split("+")[-1])
    assert names == {"DejaVuSansCondensed", "DejaVuSansCondensed-Bold"}


def test_long_words_can_break() -> None:
    """A word of 30 letters gets places to break, and nothing else changes."""
    assert breakable("x" * 30).replace("\u200b", "") == "x" * 30
    assert max(len(part) for part in re.split(r"[\s\u200b]", breakable("x" * 30 + " y"))) <= 14
