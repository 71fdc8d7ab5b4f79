"""The crews' day on screen, paper, calendar and map: complete, escaped, by the standards."""

from __future__ import annotations

import io
import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import UTC, datetime
from functools import cache

import pytest
from jsonschema import Draft202012Validator
from pypdf import PdfReader

from stillwet.domain.crew_plan import (
    CrewPlan,
    CrewRun,
    CrewStep,
    DoneVisit,
    FaceBand,
    FaceWork,
    LeftOut,
    NotSprayed,
    StepKind,
)
from stillwet.domain.plan import Verdict
from stillwet.reports.crew_calendar import crew_calendar_text
from stillwet.reports.crew_json import crew_plan_to_json
from stillwet.reports.crew_map import crew_map_svg
from stillwet.reports.crew_pages import before_first
from stillwet.reports.crew_pdf import crew_pdf_bytes
from stillwet.reports.crew_rows import coated_with, step_work
from stillwet.reports.crew_text import crew_text
from stillwet.reports.crew_timeline import crew_timeline_svg, rows_within
from stillwet.reports.crew_tracks import crew_geojson_text, crew_gpx_text
from stillwet.reports.plan_json import packaged_schema
from stillwet.reports.words import Units

START = datetime(2030, 8, 14, 15, 0, tzinfo=UTC).timestamp()
MINUTE = 60.0
ODD = 'Käthe\'s "barn" <b>; 1,2 \\ & 🔥 #set page() ' + "very long " * 8
GPX = "{http://www.topografix.com/GPX/1/1}"


def _coat(name: str, at: float, *, part: int = 1, parts: int = 1) -> CrewStep:
    start = START + at * MINUTE
    faces = (
        FaceWork("a/roof", "south roof", 8.4, 1.0, 0.8, start + 600),
        FaceWork("a/wall", "west wall", 4.2, 0.4, 0.2, start + 900),
    )
    return CrewStep(
        kind=StepKind.COAT,
        place_id="a1",
        visit_id="a1" if parts == 1 else f"a1 part {part}",
        name=name,
        x_m=400100.0 + at,
        y_m=4700000.0,
        arrive_s=start - 600,
        start_s=start,
        finish_s=start + 1200,
        amount_m3=1.0,
        concentrate_m3=0.0185,
        tank_after_m3=0.6,
        drive_s=120.0,
        leave_by_s=START + 300 * MINUTE,
        part=part,
        parts=parts,
        mix_ratio=0.0185,
        faces=faces,
        chance=0.93,
        verdict=Verdict.HOLDS,
        must=part == 1,
        needs=("ladder",),
        cautions=("Nobody walks on a gelled roof.", f"Of {name}: look up."),
        note="Dog in the yard",
    )


def _fill(at: float) -> CrewStep:
    start = START + at * MINUTE
    return CrewStep(
        kind=StepKind.FILL,
        place_id="w1",
        visit_id="w1",
        name="Hydrant",
        x_m=400300.0,
        y_m=4700200.0,
        arrive_s=start,
        start_s=start,
        finish_s=start + 360,
        amount_m3=1.0,
        concentrate_m3=0.0,
        tank_after_m3=1.6,
        drive_s=60.0,
    )


def crew_plan(name: str = "Corner house") -> CrewPlan:
    """Two crews, one idle; three stops; one hut left out, one pole not to be coated."""
    steps = (_coat(name, 20, part=1, parts=2), _fill(45), _coat(name, 60, part=2, parts=2))
    run = CrewRun(
        crew_id="e1",
        name="Engine Teal",
        people=3,
        tank_m3=1.6,
        reserve_m3=0.4,
        start_at_m=(400000.0, 4700000.0),
        start_s=START,
        end_s=steps[-1].finish_s,
        drive_s=240.0,
        water_at_start_m3=1.6,
        steps=steps,
    )
    idle = replace(
        run, crew_id="u1", name="Utility Slate", people=1, steps=(), end_s=START, drive_s=0.0
    )
    return CrewPlan(
        id="abc123def0",
        job_name="Quillback (invented)",
        time_zone="America/Boise",
        crs="EPSG:32611",
        made_s=START - 7200,
        not_recoated=(),
        plan_id="0123456789",
        product_name="Clear",
        density_kg_m3=1030.0,
        pack_m3=0.02,
        ratio_basis="volume percent of the finished mix",
        crews=(run, idle),
        left_out=(
            LeftOut(
                "a2",
                "Long hut",
                50.0,
                True,
                2.0,
                "no way there",
                "No way leads there.",
                ("a road or track to it",),
            ),
        ),
        not_sprayed=(NotSprayed("p1", "Pole 1", False, Verdict.WILL_NOT_HOLD, "Flames reach it."),),
        bands=tuple(
            FaceBand(
                "a1",
                name,
                f"face {number}",
                "Engine Teal",
                START + 1800,
                START + 9 * 3600,
                START + 12 * 3600,
                START + 6 * 3600,
                START + 8 * 3600,
                0.93,
            )
            for number in range(5)
        ),
        done=(DoneVisit("a3", "Old pine", "Engine Teal", START - 600),),
        changes=("Long hut: dropped (was Engine Teal)",),
        is_replan=True,
        worth=93.0,
        worth_possible=140.0,
        covered=1,
        musts_missed=1,
        settled=False,
        settling="did not settle in 6 rounds: Corner house still moved by 9 min",
        rounds=6,
        solver="insertion",
        seed=1,
        budget="20 iterations a search",
        stopped="all of its budget used",
        travel=("straight line x factor 1.3 (untested default 1.1-1.6), 15 m/s",),
        assumed=("Not given, so taken to start with a full tank: Engine Teal.",),
        cautions=("Nobody stays because a tool said a coat would hold.",),
        warnings=("Fire direction is not given for 1 asset.",),
        water_points_m=(("Hydrant", 400300.0, 4700200.0),),
        depots_m=(),
        streams_m=(((399900.0, 4700050.0), (400400.0, 4700080.0)),),
        assets_m=(("a1", 400100.0, 4700000.0, None),),
    )


@cache
def _pages(name: str = "Corner house", units: str = "us", paper: str = "letter") -> list[str]:
    pdf = crew_pdf_bytes(crew_plan(name), units=units, paper=paper)
    return [_flat(page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]


def _flat(text: str) -> str:
    return re.sub(r"[\s\u200b]+", "", text).lower()


@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_text_fits_100_columns_and_says_it_all(units: str) -> None:
    """No line is wider than 100; what is missed, left out, changed and done stands before crews."""
    text = crew_text(crew_plan(), units)
    assert max(len(line) for line in text.splitlines()) <= 100
    assert text.isascii()
    order = ["NOT POSSIBLE: 1 of the musts", "did not settle", "CHANGED", "DONE", "LEFT OUT"]
    order += ["MUST: Long hut", "ENGINE TEAL", "UTILITY SLATE", "Pole 1: WILL NOT HOLD", "CAUTIONS"]
    places = [text.index(words) for words in order]
    assert places == sorted(places)
    assert ("264 gal" if units == "us" else "1,000 L") in text
    assert "This would free it: a road or track to it." in " ".join(text.split())


def _laid_anew() -> CrewPlan:
    """The plan with its second stop a fresh coat that waits, and one that nobody lays anew."""
    plan = crew_plan()
    run = plan.crews[0]
    again = replace(
        run.steps[2],
        part=1,
        parts=1,
        is_recoat=True,
        first_holds_until_s=START + 8 * 3600,
        waits_for=("Hut a2",),
    )
    short = replace(plan.left_out[0], name="Short hut", reason="The crews are busy.", must=False)
    runs = (replace(run, steps=(*run.steps[:2], again)), plan.crews[1])
    return replace(plan, crews=runs, not_recoated=(short,))


def test_fresh_coats_and_waits_reach_screen_paper_and_json() -> None:
    """What must be over first, until when the coat below holds, and what is not laid anew."""
    plan = _laid_anew()
    text = " ".join(crew_text(plan, "us").split())
    pdf = crew_pdf_bytes(plan, units="us", paper="letter")
    paper = "".join(_flat(page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages)
    for words in (
        "Wait until this is reported done: Hut a2.",
        "The coat below it holds until Wed 17:00 by itself (90 % sure).",
        "Short hut",
        "COATED EARLY AND NOT COATED AGAIN, AND WHY",
    ):
        assert words in text
        assert _flat(words) in paper
    assert "FRESH COAT" in crew_calendar_text(plan, units="us").replace("\r\n ", "")
    document = crew_plan_to_json(plan)
    Draft202012Validator(packaged_schema("crews")).validate(document)
    step = document["crews"][0]["steps"][2]
    assert step["first_holds_until"] == "2030-08-14T17:00:00-06:00"
    assert document["not_recoated"][0]["name"] == "Short hut"


def test_json_meets_its_schema_with_units_and_zones() -> None:
    """The schema takes it; times carry the zone's offset; the schema itself is sound."""
    Draft202012Validator.check_schema(packaged_schema("crews"))
    document = crew_plan_to_json(crew_plan(ODD))
    Draft202012Validator(packaged_schema("crews")).validate(document)
    step = document["crews"][0]["steps"][0]
    assert step["start"] == "2030-08-14T09:20:00-06:00"
    assert step["mix_ratio_fraction"] == 0.0185
    assert json.loads(json.dumps(document)) == document


def test_each_crew_has_a_sheet_that_stands_alone() -> None:
    """A crew's sheet has every stop with time, leave-by, mix, faces, hazards and boxes to fill."""
    pages = _pages()
    sheet = next(page for page in pages if page.startswith(_flat("Engine Teal")))
    wanted = ["Corner house, part 1 of 2", "START Wed 09:20", "GONE BY Wed 14:00", "264 gal"]
    wanted += ["1.85 % by volume", "south roof", "0.33 in (5/16 to 3/8 in)", "40 % of it"]
    wanted += ["FILL 264 gal", "tank then 423 gal", "Chance the coat holds: 93 %", "Needs: ladder"]
    wanted += ["Dog in the yard", "Escape route and safety zone", "Concentrate on board: at least"]
    wanted += ["Stop 1, 3: Nobody walks on a gelled roof", "Radioed", "Nobody stays because"]
    for words in wanted:
        assert _flat(words) in sheet, words
    assert any(page.startswith(_flat("Utility Slate1 person: nothing to do")) for page in pages)


def test_every_page_names_the_plan_and_the_first_rule() -> None:
    """A sheet torn off still says which crew plan it is and what comes first."""
    for units, paper in (("us", "letter"), ("metric", "a4")):
        pages = _pages("Corner house", units, paper)
        for number, page in enumerate(pages, start=1):
            assert _flat("Stillwet crew plan abc123def0") in page
            assert _flat(f"page {number} of {len(pages)}") in page
            assert _flat("Local orders, label and SDS come first") in page


def test_odd_names_are_words_not_markup() -> None:
    """Quotes, angle brackets, commands and emoji in a name reach paper, SVG and GPX as text."""
    assert any(_flat('Käthe\'s "barn" <b>; 1,2 \\') in page for page in _pages(ODD))
    plan = crew_plan(ODD)
    for svg in (crew_timeline_svg(plan), crew_map_svg(plan, plan.crews[0], units="us")):
        ET.fromstring(svg)
    assert max(len(line) for line in crew_text(plan, "us").splitlines()) <= 100


def test_the_timeline_shows_all_crews_and_faces_without_colour() -> None:
    """Every crew and face is named once; only greys are used; a page's rows fit its height."""
    svg = crew_timeline_svg(crew_plan())
    texts = [element.text or "" for element in ET.fromstring(svg).iter() if element.text]
    for name in ("Engine Teal", "Utility Slate", "face 4", "fire and embers"):
        assert sum(name in text for text in texts) == 1, name
    for red, green, blue in re.findall(r"#([0-9A-F]{2})([0-9A-F]{2})([0-9A-F]{2})", svg):
        assert red == green == blue
    assert rows_within(720.0, 3) < rows_within(720.0, 1)


def test_the_calendar_is_read_back_by_a_calendar_library() -> None:
    """RFC 5545 by an independent reader (icalendar): one event a stop, UTC, escapes undone."""
    icalendar = pytest.importorskip("icalendar")
    text = crew_calendar_text(crew_plan(ODD), units="us")
    for line in text.split("\r\n"):
        assert len(line.encode()) <= 75
    assert "\n" not in text.replace("\r\n", "")
    events = list(icalendar.Calendar.from_ical(text).walk("VEVENT"))
    assert len(events) == 3
    assert len({str(event["UID"]) for event in events}) == 3
    first = events[0]
    assert first["DTSTART"].dt == datetime(2030, 8, 14, 15, 10, tzinfo=UTC)
    assert first["DTEND"].dt == datetime(2030, 8, 14, 15, 40, tzinfo=UTC)
    assert 'Käthe\'s "barn" <b>; 1,2 \\ & 🔥 #set page()' in str(first["SUMMARY"])
    assert "GONE BY Wed 14 Aug 2030 14:00 MDT." in str(first["DESCRIPTION"]).split("\n")


def test_the_calendar_escapes_as_the_standard_says() -> None:
    """RFC 5545, 3.3.11: backslash, semicolon, comma and line break carry a backslash."""
    text = crew_calendar_text(crew_plan(r"a\b; c, d"), units="us").replace("\r\n ", "")
    assert r"LOCATION:a\\b\; c\, d" in text
    assert r"14:00 MDT.\nStart work" in text


def test_gpx_elements_stand_in_the_order_of_the_schema() -> None:
    """GPX 1.1: metadata then routes; in a point time, name, desc; positions in WGS 84."""
    root = ET.fromstring(crew_gpx_text(crew_plan(ODD)))
    assert root.tag == f"{GPX}gpx"
    assert root.get("version") == "1.1"
    assert [child.tag for child in root] == [f"{GPX}metadata", f"{GPX}rte", f"{GPX}rte"]
    points = root.findall(f"{GPX}rte")[0].findall(f"{GPX}rtept")
    assert len(points) == 4
    order = [f"{GPX}time", f"{GPX}name", f"{GPX}desc"]
    for point in points:
        tags = [child.tag for child in point]
        assert tags == [tag for tag in order if tag in tags]
        assert float(point.get("lat") or 0) == pytest.approx(42.446, abs=0.01)
        assert float(point.get("lon") or 0) == pytest.approx(-118.215, abs=0.01)
    assert "not the roads driven" in (root.findtext(f"{GPX}metadata/{GPX}desc") or "")


def test_gpx_is_read_back_by_a_gpx_library() -> None:
    """An independent reader (gpxpy) finds the crews' routes with their times."""
    gpxpy = pytest.importorskip("gpxpy")
    found = gpxpy.parse(crew_gpx_text(crew_plan()))
    assert [route.name for route in found.routes] == ["Engine Teal", "Utility Slate"]
    assert found.routes[0].points[1].time == datetime(2030, 8, 14, 15, 10, tzinfo=UTC)


def test_geojson_has_a_line_and_points_for_each_crew_that_drives() -> None:
    """RFC 7946: longitude first; a line for the crew with stops, a point a stop, none for idle."""
    data = json.loads(crew_geojson_text(crew_plan()))
    kinds = [feature["geometry"]["type"] for feature in data["features"]]
    assert kinds == ["LineString", "Point", "Point", "Point"]
    longitude, latitude = data["features"][1]["geometry"]["coordinates"]
    assert (longitude, latitude) == pytest.approx((-118.215, 42.446), abs=0.01)
    assert data["features"][1]["properties"]["gone_by"] == "2030-08-14T14:00:00-06:00"
    assert "Leave by the time shown" in data["features"][0]["properties"]["caution"]


def test_a_crew_whose_pump_may_not_bring_the_mix_is_told_on_its_own_sheet() -> None:
    """Every crew that sprays tests the pattern first; where the pump is in doubt the tick says so.

    An idle crew has nothing to test.
    """
    plan = crew_plan()
    run, idle = plan.crews
    tick = before_first(run, plan, Units.US)[-1]
    assert tick == "Pattern tested with the mix, hose as it will be laid."
    doubtful = replace(run, pump_note="Engine Teal: its flow does not come out.")
    assert "It may NOT come out of this pump" in before_first(doubtful, plan, Units.US)[-1]
    assert not any("Pattern" in line for line in before_first(idle, plan, Units.US))


def test_a_powder_is_weighed_out_on_every_sheet_and_never_scooped() -> None:
    """By hand: two coats of 1 m3 at 0.5 % by mass of a mix of 1000 kg/m3 take 5 kg (11.0 lb) each,
    0.01 m3 of a powder of 500 kg/m3. A depot hands out 30 kg: 1.2 of its packs of 0.05 m3.
    """
    plan = crew_plan()
    run = plan.crews[0]
    coat, other = (
        replace(step, amount_m3=1.0, mix_ratio=0.005, concentrate_m3=0.01)
        for step in run.steps_of(StepKind.COAT)
    )
    load = replace(other, kind=StepKind.LOAD, amount_m3=0.06, mix_ratio=None, faces=())
    steps = (coat, load, other)
    powder = replace(
        plan,
        ratio_basis="mass percent of the finished mix",
        density_kg_m3=500.0,
        pack_m3=0.05,
        crews=(replace(run, steps=steps), *plan.crews[1:]),
    )
    assert coated_with(steps, powder, Units.METRIC) == "10 kg"
    assert coated_with(steps[:1], powder, Units.METRIC) == "5.0 kg"
    assert coated_with(steps, powder, Units.US) == "22 lb"
    assert step_work(load, powder, Units.METRIC) == "load 30 kg (1.2 packs) of concentrate"
    assert step_work(load, plan, Units.METRIC) == "load 60 L (3 packs) of concentrate"
    assert "of it 22 lb concentrate" in " ".join(crew_text(powder, Units.US).split())
    assert "Concentrate on board: at least 11 lb" in before_first(powder.crews[0], powder, Units.US)
    pdf = crew_pdf_bytes(powder, units="metric", paper="a4")
    pages = [_flat(page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]
    assert any(_flat("LOAD 30 kg (1.2 packs) of concentrate") in page for page in pages)
