"""A job's files, or one list, taken into a draft: every value as it was written, with its unit."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import TYPE_CHECKING, Any

from stillwet.domain.draft import SLOTS, Document, DraftRow
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.draft_shape import INLINE, LIST_COLUMNS, NAMES, PAIRS, SECTIONS, TABLES
from stillwet.exchange.fields import Cell
from stillwet.exchange.files import Files
from stillwet.exchange.findings import Findings
from stillwet.exchange.positions import POSITION_QUANTITIES, Placer, read_crs
from stillwet.exchange.products import PRODUCT_KEYS, choose_product
from stillwet.exchange.records import Loose, default_cells, open_table, read_list
from stillwet.exchange.tabular import match_columns
from stillwet.exchange.toml_door import Section, load_toml, section_of, sections_of

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

_HAS_UNIT = re.compile(r"(?![eE][-+]?\d)[A-Za-z%\u00b0]")  # the e of 5e-05 is none
_RISE = re.compile(r"^\s*[\d.]+\s*[/:]\s*[\d.]+\s*$")
_PLACED = (*POSITION_QUANTITIES, "footprint")


def read_draft(files: Files, name: str) -> tuple[Document, dict[str, str]]:
    """The document of a job file and its lists, and which file stands in each slot.

    Raises StillwetError with every problem; what a list's values mean is not looked at here.
    """
    findings = Findings()
    data = load_toml(files.read(name, key="job file"), name=name, key="job file")
    texts: dict[str, str] = {}
    for label in SECTIONS:
        if label != "product":
            section = section_of(data, label, name=name, findings=findings)
            texts |= _texts(label, section.values if section else {})
    texts |= _texts("product", _product(data, name, files, findings))
    lists = {
        label: tuple(_rows(label, data, name, files, findings))
        for label in LIST_COLUMNS
        if label in data or INLINE.get(label) in data
    }
    slots = {slot: str(data[slot]["file"]) for slot in SLOTS if _names_file(data.get(slot))}
    findings.need_none()
    return Document(texts, lists), slots


def read_list_file(label: str, name: str, files: Files) -> tuple[tuple[DraftRow, ...], list[str]]:
    """The rows of one list out of a table or map file, and remarks; raises with every problem."""
    findings = Findings()
    data: dict[str, Any] = {label: {"file": name}}
    rows = tuple(_rows(label, data, name, files, findings))
    findings.need_none()
    return rows, list(findings.remarks)


def read_product_file(name: str, files: Files) -> dict[str, str]:
    """What a file of one [[product]] says, as texts of the draft."""
    findings = Findings()
    values = _product({"product": {"file": name}}, name, files, findings)
    findings.need_none()
    return _texts("product", values)


def _names_file(section: object) -> bool:
    return isinstance(section, dict) and isinstance(section.get("file"), str)


def _texts(label: str, values: Mapping[str, Any]) -> dict[str, str]:
    """The typed fields of a section; what is no field of it is left out."""
    found: dict[str, str] = {}
    for key in SECTIONS[label]:
        name = f"{label}.{key}"
        if key not in values:
            continue
        if name in PAIRS:
            found |= zip(PAIRS[name], map(_text, _ends(name, values[key])), strict=True)
        elif name in TABLES and not isinstance(values[key], str):
            found[name] = json.dumps(values[key], ensure_ascii=False, default=str)
        else:
            found[name] = _text(values[key], "; " if name in NAMES else ", ")
    return found


def _ends(name: str, raw: object) -> list[object]:
    """Both ends of a pair; one value alone is both."""
    ends = raw if isinstance(raw, list) else [raw] * 2
    if len(ends) != 2:
        raise StillwetError(Problem(name, "two values: [from, to]", shown(raw)))
    return ends


def _text(raw: object, between: str = ", ") -> str:
    """A value as a person would type it."""
    if isinstance(raw, bool):
        return "yes" if raw else "no"
    if isinstance(raw, float) and raw.is_integer() and abs(raw) < 1e15:
        return str(int(raw))
    if isinstance(raw, date):
        return raw.isoformat()
    if isinstance(raw, list):
        return between.join(_text(one) for one in raw)
    return str(raw).strip()


def _product(
    data: Mapping[str, Any], name: str, files: Files, findings: Findings
) -> Mapping[str, Any]:
    section = section_of(data, "product", name=name, findings=findings)
    if section is None or "file" not in section.values:
        return {} if section is None else section.values
    file = str(section.values["file"])
    loaded = load_toml(files.read(file, key="[product] file"), name=file, key="[product]")
    found = sections_of(loaded, "product", name=file, findings=findings)
    chosen = choose_product(found, section.text("use", findings), file)
    chosen.check_keys(PRODUCT_KEYS, findings)
    return chosen.values


def _rows(
    label: str, data: Mapping[str, Any], name: str, files: Files, findings: Findings
) -> Iterator[DraftRow]:
    section = section_of(data, label, name=name, findings=findings)
    if label in INLINE:
        inline = sections_of(data, INLINE[label], name=name, findings=findings)
        columns = LIST_COLUMNS[label]
        options = {"label": INLINE[label], "files": files, "findings": findings}
        loose = read_list(section, inline, columns, **options)  # type: ignore[arg-type]
    else:
        loose = [] if section is None else _table_rows(label, section, files, findings)
    placer = _placer(section, findings)
    for number, row in enumerate(loose, start=1):
        yield _draft_row(label, number, row, placer, findings)


def _placer(section: Section | None, findings: Findings) -> Placer:
    with findings.catching():
        if section is not None and "crs" in section.values:
            return Placer(read_crs(section.text("crs", findings), section.place))
    return Placer()


def _table_rows(label: str, section: Section, files: Files, findings: Findings) -> list[Loose]:
    table = open_table(section, files, findings)
    if table is None or not table.rows:
        return []
    columns = LIST_COLUMNS[label]
    matched = match_columns(table, columns, findings, section.table("columns", findings))
    fallback = default_cells(section, columns, findings)
    return [Loose(r.place, {**fallback, **matched.cells(r)}, r.geometry) for r in table.rows]


def _draft_row(label: str, number: int, row: Loose, placer: Placer, findings: Findings) -> DraftRow:
    cells = row.cells
    fields = {n: _cell_text(cell) for n, cell in cells.items() if n not in _PLACED}
    shape = None
    if row.geometry is not None or any(name in cells for name in _PLACED):
        with findings.catching():
            shape = placer.place(cells, row.geometry, row.place)
    key = f"{label}-{number}"
    return DraftRow(key, {n: t for n, t in fields.items() if t}, _well_known(label, shape))


def _well_known(label: str, shape: BaseGeometry | None) -> str:
    import shapely

    if shape is None:
        return ""
    if label == "streams" and shape.geom_type.endswith("Polygon"):
        shape = shape.boundary
    return str(shapely.to_wkt(shapely.force_2d(shape), rounding_precision=9, trim=True))


def _cell_text(cell: Cell) -> str:
    """The cell with its column's unit where it has none of its own."""
    raw = cell.raw
    if isinstance(raw, list) and raw and all(isinstance(one, dict) for one in raw):
        return json.dumps(raw, ensure_ascii=False, default=str)
    text = _text(raw)
    is_bare = not isinstance(raw, bool) and not _HAS_UNIT.search(text) and not _RISE.match(text)
    fraction = bool(_RISE.match(text)) and cell.unit in ("in", "inch", "inches")
    return f"{text} {cell.unit}" if cell.unit and text and (is_bare or fraction) else text


def with_new_keys(rows: Iterable[DraftRow], mark: str) -> tuple[DraftRow, ...]:
    """The rows under keys that no other import has used."""
    return tuple(DraftRow(f"{mark}-{row.key}", row.fields, row.shape) for row in rows)
