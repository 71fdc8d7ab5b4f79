"""The packet: every part in its order, on pages that can be told apart, or a sentence why not."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from stillwet.domain.job import Job
from stillwet.domain.packet import Packet
from stillwet.domain.plan import Verdict
from stillwet.domain.products import Product
from stillwet.reports.packet_pdf import packet_model, packet_pdf_bytes
from stillwet.reports.words import Units
from stillwet.services.crewing import Knobs
from stillwet.services.demo import copy_data
from stillwet.services.packing import (
    NO_CREWS,
    NO_LINES,
    first_lay_times,
    make_packet,
    packet_of_job,
)
from stillwet.services.planning import read_whole_job

NOW_S = 1_912_935_600.0  # Wed 14 Aug 2030 05:00 in the demo's zone
PARTS = (
    "The answer",
    "Cautions first",
    "Map",
    "Assets",
    "Gate house",
    "Crew plan",
    "Mixing card",
    "Bench unit, north edge",
    "Weather and drying demand",
    "Pocket table",
    "Cautions",
    "Field log",
    "Clean-up",
    "Spill report",
    "Use and cost",
    "Where the numbers came from",
)


def _demo(folder: Path) -> Path:
    copy_data("demo", folder)
    return folder / "job.toml"


def _flat(text: str) -> str:
    return re.sub(r"[\s\u200b]+", "", text).lower()


def _pages(pdf: bytes) -> list[str]:
    return [_flat(page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Job:
    """The demo's job with few members, so that it is quick."""
    path = _demo(tmp_path_factory.mktemp("packet") / "job")
    return replace(read_whole_job(path), members=16)


@pytest.fixture(scope="module")
def packet(job: Job) -> Packet:
    """The whole packet, crews searched for but briefly."""
    return make_packet(job, now_s=NOW_S, units="us", knobs=Knobs(iterations=5))


@pytest.fixture(scope="module")
def pdf(packet: Packet) -> bytes:
    """Its pages on letter paper."""
    return packet_pdf_bytes(packet, units="us", paper="letter")


@pytest.fixture(scope="module")
def pages(pdf: bytes) -> list[str]:
    """Its words, page by page, without blanks."""
    return _pages(pdf)


@pytest.fixture(scope="module")
def bare(job: Job) -> Packet:
    """A job without lines and without a price, its crews left out; SI."""
    product = _without_price(job.product)
    small = replace(job, lines=(), product=product, assets=job.assets[:4])
    return make_packet(small, now_s=NOW_S, units="metric", knobs=None)


def _without_price(product: Product) -> Product:
    from stillwet.domain.basis import Basis, BasisKind
    from stillwet.domain.products import NO_PRICE

    basis = {**product.basis, "cost_per_pack": Basis(BasisKind.GIVEN, NO_PRICE)}
    return replace(product, cost_per_pack=0.0, basis=basis)


@cache
def _bare_pages(bare: Packet) -> list[str]:
    return _pages(packet_pdf_bytes(bare, units="metric", paper="a4"))


def test_parts_come_in_their_order(packet: Packet, pages: list[str]) -> None:
    """Every part is there, none before the one it follows; all but the second begin a page."""
    assert any(_flat("Before anything else") in page for page in pages[:2])
    starts = [_flat(packet.plan.job_name), *(_flat(name) for name in PARTS[2:])]
    at = -1
    for start in starts:
        found = [
            number
            for number, page in enumerate(pages)
            if number > at and re.match(rf"\d*{re.escape(start)}", page)
        ]
        if start == _flat("Crew plan"):
            found = [n for n, page in enumerate(pages) if n > at and start in page[:60]]
        assert found, start
        at = found[0]


def test_job_plan_and_page_number_are_on_every_page(packet: Packet, pages: list[str]) -> None:
    """A page torn from the packet still says whose it is, and what comes first."""
    for number, page in enumerate(pages, start=1):
        assert _flat(f"packet: {packet.plan.job_name}, plan {packet.plan.id}") in page
        assert _flat(f"page {number} of {len(pages)}") in page
        assert _flat("Local orders, label and SDS come first") in page


def test_the_list_of_contents_leads_to_the_pages(pages: list[str]) -> None:
    """Each part's page as the list tells it begins with that part."""
    listed = next(page for page in pages if _flat("In this packet") in page)
    for name, start in (
        ("Clean-up list", "Clean-up"),
        ("Spill report", "Spill report"),
        ("Use and cost", "Use and cost"),
        ("Field log", "Field log"),
        ("Weather and drying demand", "Weather and drying demand"),
    ):
        told = re.search(rf"{re.escape(_flat(name))}(\d+)", listed)
        assert told is not None, name
        # the number of the right-hand column may follow without a blank: take what fits
        digits = told.group(1)
        numbers = {int(digits[:size]) for size in (1, 2, 3) if digits[:size]}
        assert any(
            number <= len(pages) and pages[number - 1].startswith(_flat(start))
            for number in numbers
        ), name


def test_the_cover_says_first_what_will_not_hold_and_who_goes_where(
    packet: Packet, pages: list[str]
) -> None:
    """Counts, what is lost with its reason, who is left without a crew, and each crew by name."""
    assert packet.crews is not None
    first = pages[0]
    lost = [asset for asset in packet.plan.assets if asset.verdict is Verdict.WILL_NOT_HOLD]
    assert lost
    assert _flat(f"WILL NOT HOLD {len(lost)} of {len(packet.plan.assets)}") in first
    assert first.index(_flat("WILL NOT HOLD")) < first.index(_flat("Who sprays what"))
    for run in packet.crews.crews:
        assert _flat(run.name) in first
    left = packet.crews.left_out
    assert left
    assert _flat(f"NO CREW {len(left)} of {len(packet.plan.assets)}") in first
    assert _flat("Nobody stays because a coat should hold") in first


def test_the_cover_gives_its_reasons_whole_and_counts_each_asset_once(
    packet: Packet, pages: list[str]
) -> None:
    """Nothing is cut while there is room; who has no crew is not counted as doubtful as well."""
    assert packet.crews is not None
    cover = pages[0]
    for asset in packet.plan.assets:
        if asset.verdict in (Verdict.WILL_NOT_HOLD, Verdict.DO_NOT_COAT):
            assert _flat(asset.reason) in cover
    for one in packet.crews.left_out:
        assert _flat(one.reason) in cover
    alone = {one.asset_id for one in packet.crews.left_out}
    doubtful = [a for a in packet.plan.assets if a.verdict is Verdict.DOUBTFUL]
    told = sum(asset.asset_id not in alone for asset in doubtful)
    assert told < len(doubtful)
    assert (_flat(f"DOUBTFUL {told} of {len(packet.plan.assets)}") in cover) == (told > 0)


def test_where_the_cover_is_short_its_page_goes_on_with_the_cautions(bare: Packet) -> None:
    """No crews, four assets: cautions and contents do not wait for a page of their own."""
    pages = _pages(packet_pdf_bytes(bare, units="metric", paper="a4"))
    assert _flat("Before anything else") in pages[0]


def test_nothing_without_a_crew_is_told_to_hold(packet: Packet, pages: list[str]) -> None:
    """Its card says in its head that no crew comes, and the cover does not list it as holding."""
    assert packet.crews is not None
    alone = {one.asset_id for one in packet.crews.left_out}
    cover = pages[0]
    holding = cover[cover.index(_flat("if coated as told and while it is wet")) :]
    holding = holding[: holding.index(_flat("Who sprays what"))]
    for number, asset in enumerate(packet.plan.assets, start=1):
        card = next(page for page in pages if page.startswith(_flat(f"{number}{asset.name}")))
        assert (_flat("NO CREW COMES HERE") in card) == (asset.asset_id in alone)
        if asset.asset_id in alone:
            assert _flat(asset.name) not in holding


def test_cards_tell_the_coats_that_crews_are_told(packet: Packet) -> None:
    """One coat for a face, on its card and on the crew's sheet, laid no later than sprayed."""
    assert packet.crews is not None
    on_card = {face.surface.id: face for asset in packet.plan.assets for face in asset.surfaces}
    times = first_lay_times(packet.crews, packet.plan.start_s)
    assert times
    for run in packet.crews.crews:
        for step in run.steps:
            for work in step.faces:
                assert on_card[work.surface_id].coat_kg_m2 == pytest.approx(
                    work.coat_kg_m2, abs=0.11
                )
                assert times[work.surface_id] <= work.starts_s


def test_every_form_is_there_with_its_blanks(pages: list[str]) -> None:
    """Log, clean-up, spill report, use and cost: what each must ask."""
    wanted = {
        "Field log": (
            "coat laid",
            "wet / tacky / dry",
            "front passed",
            "outcome",
            "spill",
            "Ratio",
        ),
        "Clean-up": ("Wash-off by face", "SLIPPERY"),
        "Spill report": ("stop the flow", "Did it reach", "a well or cistern", "By whom"),
        "Use and cost": ("Planned", "Used", "Left, returned", "USD 180.00", "no price given"),
    }
    for title, words in wanted.items():
        page = next(page for page in pages if page.startswith(_flat(title)))
        for each in words:
            assert _flat(each) in page, (title, each)
    rest = "".join(pages)
    for title in ("Flush by equipment", "Slippery places", "Drains, streams, wells and cisterns"):
        assert _flat(title) in rest


def test_every_coated_face_is_on_the_wash_off_list(packet: Packet, pages: list[str]) -> None:
    """Asset by asset, in the pages from the clean-up list to the spill report."""
    first = next(n for n, page in enumerate(pages) if page.startswith(_flat("Clean-up")))
    last = next(n for n, page in enumerate(pages) if page.startswith(_flat("Spill report")))
    listed = "".join(pages[first:last])
    for asset in packet.plan.assets:
        coated = [face for face in asset.surfaces if face.coat_kg_m2 > 0]
        assert (_flat(asset.name) in listed) or not coated
        for face in coated:
            assert _flat(face.surface.label) in listed


def test_untested_defaults_are_marked_on_every_page_they_reach(pages: list[str]) -> None:
    """All pages with reckoned numbers carry the mark; blank forms and bare cautions do not."""
    mark = _flat("Untested defaults reach this page: transfer efficiency")
    first = {
        start: next(page for page in pages if page.startswith(_flat(start)))
        for start in ("Weather", "Pocket table", "Clean-up", "Use and cost", "Mixing card", "Map")
    }
    assert all(mark in page for page in first.values())
    assert mark in pages[0]
    for start in ("Field log", "Spill report"):
        assert mark not in next(page for page in pages if page.startswith(_flat(start)))
    cards = [page for page in pages if re.match(r"\d+(gatehouse|polea?\d|haybarn)", page)]
    assert cards
    assert all(mark in page for page in cards)


def test_the_pocket_table_tells_the_table(packet: Packet, pages: list[str]) -> None:
    """The first row of the south wall as reckoned, in local time, and the caution with it."""
    from stillwet.reports.local_time import LocalClock

    page = next(page for page in pages if page.startswith(_flat("Pocket table")))
    clock = LocalClock(packet.plan.time_zone)
    south = next(f for f in packet.pocket.fires[0].faces if f.label == "south wall")
    cell = next(cell for cell in south.rows[0] if cell is not None and cell.hold_90_s is not None)
    for time_s in (cell.hold_90_s, cell.hold_50_s):
        assert clock.short(time_s).split()[-1] in page
    assert _flat("No time here keeps anybody at a house") in page


def test_same_packet_same_bytes(packet: Packet, pdf: bytes) -> None:
    """The file holds no clock and no chance."""
    assert packet_pdf_bytes(packet, units="us", paper="letter") == pdf


def test_what_is_not_there_is_said_in_a_sentence(bare: Packet) -> None:
    """No crews, no lines and no price: each said, and nothing invented in its place."""
    pages = _bare_pages(bare)
    assert _flat(NO_CREWS) in pages[0]
    assert _flat(NO_LINES) in pages[0]
    cost = next(page for page in pages if page.startswith(_flat("Use and cost")))
    assert _flat("Price of a pack no price given") in cost
    assert _flat("Cost of packs no price given") in cost
    assert "USD" not in cost
    assert _flat(NO_CREWS) in cost
    assert not any(page.startswith(_flat("Engine")) for page in pages)
    for number, page in enumerate(pages, start=1):
        assert _flat(f"page {number} of {len(pages)}") in page


def test_powder_is_told_by_mass_wherever_the_packet_tells_of_concentrate(bare: Packet) -> None:
    """A bulk of 500 kg/m3: a pack of 20 L holds 10 kg; no litre of powder stands anywhere."""
    load = replace(bare.plan.load, concentrate_m3=0.3, concentrate_kg=150.0, packs=15)
    plan = replace(bare.plan, load=load, ratio_basis="mass percent of the finished mix")
    powder = replace(bare, plan=plan, pack_m3=0.02, packs=15, density_kg_m3=500.0, mix=None)
    model = packet_model(powder, Units.METRIC)
    rows = dict(model["cost"]["rows"])
    assert rows["Concentrate in it"] == "150 kg"
    assert rows["Packs of 10 kg"] == "15"
    assert dict(model["plan"]["load"])["Concentrate"] == "150 kg (15 packs)"
    mixes = [card["answers"][1]["small"] for card in model["plan"]["assets"] if card["steps"][3:]]
    assert mixes
    assert all(re.search(r"of it [\d.,]+ kg concentrate$", words) for words in mixes)


def test_where_no_coat_can_do_it_the_packet_says_so_and_asks_for_no_spraying(job: Job) -> None:
    """Only hopeless assets: no mixing card, no crew sheets, embers alone in the pocket table."""
    lost = tuple(asset for asset in job.assets if asset.name in {"Gate house", "Pole 1"})
    made = make_packet(
        replace(job, assets=lost, lines=()), now_s=NOW_S, units="us", knobs=Knobs(iterations=1)
    )
    assert set(made.missing) == {"crews", "mix", "lines"}
    pages = _pages(packet_pdf_bytes(made, units="us", paper="letter"))
    assert _flat("WILL NOT HOLD 2 of 2") in pages[0]
    assert _flat("there is nothing to mix") in pages[0]
    assert _flat("0.00 %") not in pages[0]
    assert _flat("there is nothing for crews to spray") in pages[0]
    assert any(_flat("until when a coat holds: embers alone") in page for page in pages)


def test_a_packet_in_metric_on_a4(bare: Packet) -> None:
    """A4 is 595 by 842 pt (ISO 216); coats of the pocket table in millimetres."""
    pdf = packet_pdf_bytes(bare, units="metric", paper="a4")
    for page in PdfReader(io.BytesIO(pdf)).pages:
        assert (round(page.mediabox.width), round(page.mediabox.height)) == (595, 842)
    pocket = next(page for page in _pages(pdf) if page.startswith(_flat("Pocket table")))
    assert _flat("3.0 mm") in pocket


def test_odd_names_are_words_and_nothing_leaves_the_page(bare: Packet) -> None:
    """Names that look like markup are printed as typed, long ones are cut; all inside the paper."""
    odd = ('#panic() *a* _b_ $c$ <x> "q"', "N" * 300, "@ref `raw` // \\u{1}")
    assets = tuple(
        replace(asset, name=name) for asset, name in zip(bare.plan.assets, odd, strict=False)
    )
    plan = replace(bare.plan, job_name=odd[0], assets=assets)
    cleaned = tuple(
        replace(asset, name=name) for asset, name in zip(bare.clean_up.assets, odd, strict=False)
    )
    shown = replace(bare, plan=plan, clean_up=replace(bare.clean_up, assets=cleaned))
    pdf = packet_pdf_bytes(shown, units="metric", paper="a4")
    assert any(page.startswith(_flat("1" + odd[0])) for page in _pages(pdf))
    for page in PdfReader(io.BytesIO(pdf)).pages:
        spots: list[tuple[float, float]] = []

        def note(text: str, cm: Any, tm: Any, font: Any, size: Any, spots: Any = spots) -> None:
            if text.strip():
                x = cm[0] * tm[4] + cm[2] * tm[5] + cm[4]
                spots.append((x, cm[1] * tm[4] + cm[3] * tm[5] + cm[5]))

        page.extract_text(visitor_text=note)
        assert spots
        assert all(30 <= x <= 565 and 18 <= y <= 825 for x, y in spots)


def test_the_packet_is_written_whole_and_its_plans_are_kept(tmp_path: Path) -> None:
    """From a job file: one PDF, the plans kept in the file, and what is missing told."""
    from stillwet.services.keeping import keep_job

    source = _demo(tmp_path / "job")
    kept = keep_job(source, tmp_path / "day.gpkg", now_s=NOW_S)
    out = tmp_path / "new folder" / "packet.pdf"
    packed = packet_of_job(kept.path, out, now_s=NOW_S, with_crews=False, members=8)
    assert out.read_bytes().startswith(b"%PDF")
    assert NO_CREWS in packed.text()
    assert packed.packet.base.id in packed.text()
    assert len(packed.kept) == 2
    assert [path.name for path in out.parent.iterdir()] == ["packet.pdf"]
