"""A job made edit by edit: kept at every step, read as files are, planned, opened again."""

from __future__ import annotations

import json
import shutil
from dataclasses import fields, is_dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from draft_fixture import (
    TEXTS,
    WEATHER,
    WRITER,
    check,
    empty_draft,
    row,
    text,
    whole_draft,
    whole_edits,
)
from job_folder import write_job
from same_record import same
from stillwet.domain.draft import LISTS, SLOTS
from stillwet.errors import StillwetError
from stillwet.exchange.draft_shape import SECTIONS
from stillwet.exchange.job_file import TOP_KEYS, read_job
from stillwet.exchange.sheets import Form
from stillwet.services import draft_records, drafting
from stillwet.services.demo import copy_data
from stillwet.services.draft_planning import DraftDesk, plan_draft
from stillwet.services.drafting import DraftBook, look_at_draft, plain_name, type_edits
from stillwet.services.exporting import export_job
from stillwet.services.job_view import view_job
from stillwet.services.keeping import keep_job, read_kept_job
from stillwet.services.planning import plan_job, silent
from stillwet.services.sharing import drafts_after, sources_of
from store_fixture import NOW_S, kept_job


def test_what_is_typed_is_there_after_a_crash(tmp_path: Path) -> None:
    """Every edit is in the file when the call returns; another look finds all of it."""
    path = empty_draft(tmp_path)
    assert set(type_edits(path, whole_edits(), WRITER)) == {"kept"}
    look = look_at_draft(path, WRITER)
    assert look.document.texts == TEXTS
    assert [one.fields["id"] for one in look.document.rows("assets")] == ["h1", "b1"]
    assert look.document.rows("assets")[0].shape == "POINT (-105.2 39.75)"


def test_sending_again_changes_nothing(tmp_path: Path) -> None:
    """The same edits once more, a minute later, are here already; undo sent twice undoes once."""
    path = empty_draft(tmp_path)
    type_edits(path, whole_edits(), WRITER)
    later = replace(WRITER, now_s=NOW_S + 60.0)
    assert set(type_edits(path, whole_edits(), later)) == {"already here"}
    assert len(drafts_after(path)) == len(whole_edits())
    assert DraftBook(path).undo("undo-0001", WRITER)
    assert DraftBook(path).undo("undo-0001", WRITER)
    assert len(look_at_draft(path, WRITER).document.rows("water")) == 0
    assert len(look_at_draft(path, WRITER).document.rows("crews")) == 1
    assert DraftBook(path).undo("redo-0001", WRITER, is_redo=True)
    assert len(look_at_draft(path, WRITER).document.rows("water")) == 1
    assert not DraftBook(path).undo("redo-0002", WRITER, is_redo=True)


def test_an_edit_is_read_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However many came before, a look reads only what is new, and says what a fresh one says."""
    path = empty_draft(tmp_path)
    type_edits(path, [text("job.name", str(n), f"edit-{n:04}") for n in range(300)], WRITER)
    read: list[Any] = []

    def reading(plain: Any) -> Any:
        read.append(plain)
        return draft_records.step_of(plain)

    monkeypatch.setattr(drafting, "step_of", reading)
    book = DraftBook(path)
    assert book.look(WRITER).document.texts == {"job.name": "299"}
    assert len(read) == 300
    type_edits(path, [text("job.name", "last", "edit-last")], WRITER)
    assert book.look(WRITER).document.texts == {"job.name": "last"}
    assert book.undo("undo-0001", WRITER)
    again = book.look(WRITER)
    assert len(read) == 302, "one edit, one undo"
    assert again.to_json() == look_at_draft(path, WRITER).to_json()


def test_a_file_put_in_anothers_place_is_read_anew(tmp_path: Path) -> None:
    """A copy brought back says what it says, not what was folded of the file it took over."""
    path, copy = empty_draft(tmp_path), tmp_path / "copy.gpkg"
    type_edits(path, [text("job.name", "first", "edit-0001")], WRITER)
    shutil.copy(path, copy)
    book = DraftBook(path)
    type_edits(path, [text("job.name", "second", "edit-0002")], WRITER)
    assert book.look(WRITER).document.texts == {"job.name": "second"}
    shutil.copy(copy, path)
    assert book.look(WRITER).document.texts == {"job.name": "first"}
    type_edits(path, [text("fire.from", "SW", "edit-0003")], WRITER)
    assert book.look(WRITER).document.texts == {"job.name": "first", "fire.from": "SW"}
    shutil.copy(copy, path)
    type_edits(path, [text("fire.from", "N", "edit-0004")], WRITER)  # at the same row
    assert book.look(WRITER).document.texts == {"job.name": "first", "fire.from": "N"}


@pytest.mark.parametrize(
    ("edit", "field"),
    [
        ("no object", "edit"),
        ({"id": "edit-0001", "kind": "open"}, "kind"),
        ({"id": "short", "kind": "text", "key": "job.name", "text": "x"}, "id"),
        ({"id": "edit-0001", "kind": "text", "key": "job.nmae", "text": "x"}, "key"),
        ({"id": "edit-0001", "kind": "text", "key": "job.name", "text": 3}, "text"),
        ({"id": "edit-0001", "kind": "text", "key": "job.name", "text": "x" * 4001}, "text"),
        ({"id": "edit-0001", "kind": "row", "list": "houses", "row": "r1"}, "list"),
        ({"id": "edit-0001", "kind": "row", "list": "assets", "row": ""}, "row"),
        (row("assets", "r1", {"colour": "red"}), "fields"),
        (row("assets", "r1", {}, "POINT (700 39)"), "geometry"),
        (row("assets", "r1", {}, "POINT (1"), "shape"),
        ({"id": "edit-0001", "kind": "file", "slot": "../etc"}, "slot"),
    ],
)
def test_a_bad_edit_is_refused_and_none_is_kept(tmp_path: Path, edit: Any, field: str) -> None:
    """The problem names the part; the good edit beside it is not kept either."""
    path = empty_draft(tmp_path)
    with pytest.raises(StillwetError) as caught:
        type_edits(path, [text("job.name", "good"), edit], WRITER)
    assert [one.field for one in caught.value.problems] == [field]
    assert drafts_after(path) == ()


def test_an_empty_draft_asks_for_each_part_where_it_belongs(tmp_path: Path) -> None:
    """What is missing stands beside its field or its step, in words of the desk."""
    found = {spot["key"]: problem for problem, spot in check(empty_draft(tmp_path)).problems}
    assert {"job.name", "job.time_zone", "job.start"} < set(found)
    assert {"assets", "weather", "product"} < set(found)
    assert not any("[" in one.wanted + one.got + one.place for one in found.values())


SPOTS = [
    (text("job.time_zone", "America/Denvr"), {"key": "job.time_zone"}),
    (text("job.start", "8/14/2026"), {"key": "job.start"}),
    (text("fire.exposure", "grass fyre"), {"key": "fire.exposure"}),
    (text("fire.exposure", ""), {"key": "fire.exposure"}),
    (text("fire.arrival_to", "2026-08-14 14:00"), {"key": "fire.arrival_to"}),
    (text("fire.from", "upwind"), {"key": "fire.from"}),
    (text("fire.setback", "20"), {"key": "fire.setback"}),
    (text("weather.elevation", "5700"), {"key": "weather.elevation"}),
    (text("weather.wind_height", ""), {"key": "weather.wind_height"}),
    (text("product.ratio_low", "3"), {"key": "product.ratio_low"}),
    (text("product.type", "jelly"), {"key": "product.type"}),
    (text("practice.egress_lead", "45"), {"key": "practice.egress_lead"}),
    (text("uncertainty.wind_first", "x"), {"key": "uncertainty.wind_first"}),
    (text("local.wind_limit", "fast"), {"key": "local.wind_limit"}),
    (row("assets", "assets-h1", {"eave_height": "9"}), ("assets", "assets-h1", "eave_height")),
    (row("assets", "assets-b1", {"kind": "barm"}), ("assets", "assets-b1", "kind")),
    (row("assets", "assets-b1", {"setback": "9"}), ("assets", "assets-b1", "setback")),
    (row("crews", "crews-e1", {"tank": "750"}), ("crews", "crews-e1", "tank")),
    (row("crews", "crews-e1", {"spray_flow": ""}), ("crews", "crews-e1", "spray_flow")),
    (row("water", "water-w1", {"fill_flow": "250 gal"}), ("water", "water-w1", "fill_flow")),
    (row("wells", "wells-1", {"kind": "well"}), ("wells", "wells-1", "shape")),
    (row("lines", "lines-1", {"width": "9"}, "LINESTRING (-105.2 39.75, -105.19 39.75)"),
     ("lines", "lines-1", "width")),
]  # fmt: skip


@pytest.mark.parametrize(("edit", "spot"), SPOTS, ids=lambda value: str(value)[:60])
def test_a_problem_stands_beside_the_field_that_was_typed(
    tmp_path: Path, edit: dict[str, Any], spot: dict[str, str] | tuple[str, str, str]
) -> None:
    """One bad value in a whole job: one spot, and the value stays as typed."""
    path = whole_draft(tmp_path)
    type_edits(path, [edit | {"id": "edit-the-bad-one"}], WRITER)
    checked = check(path)
    assert checked.job is None
    wanted = {"key": "", "list": "", "row": "", "field": ""}
    if isinstance(spot, dict):
        wanted |= spot
    else:
        wanted |= dict(zip(("list", "row", "field"), spot, strict=True))
    assert wanted in [found for _, found in checked.problems]
    if edit["kind"] == "text" and edit["text"]:
        assert look_at_draft(path, WRITER).document.texts[edit["key"]] == edit["text"]


def test_a_draft_reads_as_the_same_files_do(tmp_path: Path) -> None:
    """Typed into the desk, a job is the one that its files make on the command line."""
    job = check(whole_draft(tmp_path)).job
    assert job is not None
    folder = tmp_path / "files"
    folder.mkdir()
    toml = write_job(folder).read_text().replace("start =", "members = 16\nstart =")
    toml = toml.replace('cost_per_pack = "180 usd"\n', "")
    assets = "id,kind,latitude,longitude,eave_height\n"
    assets += "h1,house,39.75,-105.2,9 ft\nb1,barn,39.751,-105.201,\n"
    read, problems = read_job(write_job(folder, job=toml, assets=assets))
    assert problems == ()
    assert read is not None
    assert repr(_numbers(job)) == repr(_numbers(read))  # NaN beside NaN


def _numbers(record: Any) -> Any:
    """All that a record says but where it stood: basis and sources are left out."""
    if is_dataclass(record):
        names = [one.name for one in fields(record)]
        return {n: _numbers(getattr(record, n)) for n in names if n not in _WHERE}
    if isinstance(record, tuple):
        return [_numbers(one) for one in record]
    return record.tolist() if isinstance(record, np.ndarray) else record


_WHERE = ("basis", "source", "sources", "input_hash", "remarks", "trials_source", "rows")


def test_the_demo_opens_as_a_draft_with_its_own_files(tmp_path: Path) -> None:
    """A kept job becomes a document as it was written, and reads as the same job."""
    path = tmp_path / "demo.gpkg"
    copy_data("demo", tmp_path / "demo")
    kept = keep_job(tmp_path / "demo" / "job.toml", path, now_s=NOW_S).job
    look = look_at_draft(path, WRITER)
    assert look.document.rows("assets")[0].fields["eave_height"] == "10 ft"
    assert len(look.document.rows("assets")) == len(kept.assets)
    assert look.document.files["weather"].name == "weather.csv"
    checked = check(path)
    assert checked.problems == ()
    assert checked.job is not None
    assert [a.id for a in checked.job.assets] == [a.id for a in kept.assets]
    assert same(checked.job.weather.air_temperature_k, kept.weather.air_temperature_k)
    assert look_at_draft(path, WRITER).row == look.row  # opened once


def test_a_job_of_records_only_opens_too(tmp_path: Path) -> None:
    """A job file without source files is written out and read back to the same numbers."""
    path = kept_job(tmp_path)
    assert sources_of(path) == ()
    job, kept = check(path).job, read_kept_job(path)
    assert job is not None
    assert [a.id for a in job.assets] == [a.id for a in kept.assets]
    for one, other in zip(job.assets, kept.assets, strict=True):
        assert one.eave_height_m == pytest.approx(other.eave_height_m)
        assert one.fire.arrival_from_s == other.fire.arrival_from_s


def test_a_plan_of_a_draft_is_the_plan_of_its_job_file(tmp_path: Path) -> None:
    """Planning keeps job, files and plan; the command line's plan of that file is the same."""
    path = whole_draft(tmp_path)
    steps: list[str] = []
    made = plan_draft(path, NOW_S, WRITER, lambda label, _share: steps.append(label))
    assert steps[0] == "reading the job"
    view = view_job(path, now_s=NOW_S)
    assert view.plan_id == made["plan_id"]
    assert [file.name for file in sources_of(path)][:2] == ["job.toml", "assets.csv"]
    assert plan_job(path, None, now_s=NOW_S).plan.assets == getattr(view.plan, "assets", ())
    row_before = look_at_draft(path, WRITER).row
    assert plan_draft(path, NOW_S, WRITER, silent)["plan_id"] == made["plan_id"]
    assert look_at_draft(path, WRITER).row == row_before + 1  # planned again, opened never
    assert look_at_draft(path, WRITER).history.can_undo


def test_a_bad_draft_is_not_planned_and_the_old_job_stays(tmp_path: Path) -> None:
    """Every problem is told, and the job file holds what it held."""
    path = whole_draft(tmp_path)
    plan_draft(path, NOW_S, WRITER, silent)
    before = view_job(path, now_s=NOW_S)
    type_edits(path, [text("job.start", "soon", "edit-start-bad")], WRITER)
    with pytest.raises(StillwetError, match="start"):
        plan_draft(path, NOW_S, WRITER, silent)
    assert view_job(path, now_s=NOW_S).stamp == before.stamp


def test_a_job_kept_from_elsewhere_begins_the_draft_anew(tmp_path: Path) -> None:
    """``stillwet keep`` into the same file shows in the desk; what was typed stays in the file."""
    path = whole_draft(tmp_path)
    typed = len(drafts_after(path))
    folder = tmp_path / "files"
    folder.mkdir()
    keep_job(write_job(folder), path, now_s=NOW_S)
    look = look_at_draft(path, WRITER)
    assert [one.fields["id"] for one in look.document.rows("assets")] == ["h1", "b1", "p1"]
    assert not look.history.can_undo
    assert len(drafts_after(path)) == typed + 1


@pytest.mark.parametrize("form", [Form.CSV, Form.XLSX, Form.GEOJSON, Form.GPKG])
def test_lists_come_in_from_every_format(tmp_path: Path, form: Form) -> None:
    """Assets and lines of the demo, taken out in each format, come in as the same rows."""
    copy_data("demo", tmp_path / "demo")
    demo = tmp_path / "demo" / "job.toml"
    job, _ = read_job(demo)
    assert job is not None
    export_job(demo, tmp_path / "out", form=form)
    path = empty_draft(tmp_path)
    desk = DraftDesk(path)
    for into, count in (("assets", len(job.assets)), ("streams", len(job.streams_m))):
        source = _list_file(tmp_path / "out", into, form)
        if source is None:
            continue  # one workbook holds all lists: its first sheet is the assets
        found = desk.bring(into, *source, f"edit-{into}-file", True, WRITER)
        assert (found["became"], found["rows"]) == ("kept", count)
    rows = look_at_draft(path, WRITER).document.rows("assets")
    assert [one.fields["id"] for one in rows] == [asset.id for asset in job.assets]
    assert all(one.shape for one in rows)
    house = next(asset for asset in job.assets if asset.id == "h1")
    assert rows[0].fields["eave_height"] == f"{house.eave_height_m!r} m"


def _list_file(folder: Path, into: str, form: Form) -> tuple[str, bytes] | None:
    if form is Form.XLSX:
        book = folder / "tables.xlsx"
        return (book.name, book.read_bytes()) if into == "assets" else None
    if form is Form.GPKG:
        return _one_layer(folder / "layers.gpkg", into, folder)
    file = folder / f"{into}.{form}"
    return file.name, file.read_bytes()


def _one_layer(source: Path, layer: str, folder: Path) -> tuple[str, bytes]:
    """A GeoPackage of one layer, as a GIS would save it."""
    import pyogrio

    meta, _, geometry, columns = pyogrio.raw.read(source, layer=layer)
    target = folder / f"{layer}-alone.gpkg"
    pyogrio.raw.write(
        target,
        geometry,
        columns,
        meta["fields"],
        geometry_type=meta["geometry_type"] or "Unknown",
        crs=meta["crs"],
        driver="GPKG",
    )
    return target.name, target.read_bytes()


def test_a_bad_file_changes_nothing(tmp_path: Path) -> None:
    """What cannot be read is told with its row, and the draft stays as it was."""
    path = whole_draft(tmp_path)
    before = look_at_draft(path, WRITER).row
    desk = DraftDesk(path)
    for into, name, content in (
        ("assets", "yard.csv", b"id,kind,latitude,longitude\na1,house,700,0\n"),
        ("assets", "yard.csv", b""),
        ("assets", "yard.exe", b"MZ"),
        ("houses", "yard.csv", b"id\n1\n"),
        ("product", "gel.toml", b"[[product"),
    ):
        with pytest.raises(StillwetError):
            desk.bring(into, name, content, "edit-bad-file", True, WRITER)
    assert look_at_draft(path, WRITER).row == before


def test_a_file_keeps_its_name_and_nothing_else() -> None:
    """No folder, no control character, no empty name (path traversal)."""
    assert plain_name("../../etc/passwd") == "passwd"
    assert plain_name("C:\\files\\w (2).csv") == "w (2).csv"
    assert plain_name("..") == "file"
    assert plain_name("a\x00b\n.csv") == "a_b_.csv"


def test_the_check_tells_problems_with_their_spots(tmp_path: Path) -> None:
    """What a browser asks for, as plain data."""
    path = whole_draft(tmp_path)
    assert DraftDesk(path).check(NOW_S)["is_sound"]
    type_edits(path, [text("job.start", "soon", "edit-start-bad")], WRITER)
    found = DraftDesk(path).check(NOW_S)
    assert not found["is_sound"]
    assert found["problems"][0]["spot"]["key"] == "job.start"
    json.dumps(found)


def test_the_weather_file_may_be_replaced_and_taken_out(tmp_path: Path) -> None:
    """A second file stands in the slot; taken out, the weather is missed; undone, it is back."""
    path = whole_draft(tmp_path)
    desk = DraftDesk(path)
    desk.bring("weather", "later.csv", WEATHER + b"\n", "edit-weather-2", True, WRITER)
    assert look_at_draft(path, WRITER).document.files["weather"].name == "later.csv"
    type_edits(path, [{"id": "edit-no-weather", "kind": "file", "slot": "weather"}], WRITER)
    assert "weather" in [spot["key"] for _, spot in check(path).problems]
    DraftBook(path).undo("undo-0001", WRITER)
    assert check(path).problems == ()


def test_all_fields_of_a_job_are_fields_of_a_draft() -> None:
    """Nothing that a job file may say is lost on the way through the desk."""
    inline = {"well", "water_point", "crew", "depot"}
    assert set(TOP_KEYS) == set(SECTIONS) | set(LISTS) | set(SLOTS) | inline
