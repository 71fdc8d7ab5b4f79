"""GPX 1.1 in: waypoints, tracks and routes become rows with a geometry and their fields."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING
from xml.etree import ElementTree

from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.files import decode_text
from stillwet.exchange.findings import Findings, nearest_hint
from stillwet.exchange.geo import need_degrees, shape_of_text
from stillwet.exchange.limits import MOST_TREE_BYTES, need_few, need_size
from stillwet.exchange.tabular import Row, Table

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

FIELDS_NAMESPACE = "urn:stillwet:fields"
SHAPE = "shape"  # the field that holds a footprint, which GPX has no element for
_LAYERS = {"waypoints": "wpt", "tracks": "trk", "routes": "rte"}


def read_gpx(
    content: bytes, *, name: str, key: str, findings: Findings, layer: str | None = None
) -> Table:
    """The waypoints, tracks or routes of a file: the one kind it holds, unless ``layer`` names one.

    A track's segments are one feature. Heights and times are passed over.
    """
    root = _root(content, name=name, key=key)
    tag = _LAYERS[_chosen(root, layer, name)]
    elements = [element for element in root if _tag(element) == tag]
    need_few(len(elements), name=name, key=key)
    rows = []
    for number, element in enumerate(elements, start=1):
        with findings.catching():
            rows.append(_row(element, number, f"{name}, feature {number}"))
    headers = tuple(dict.fromkeys(header for row in rows for header in row.values))
    return Table(name, "feature", headers, tuple(rows))


def _root(content: bytes, *, name: str, key: str) -> ElementTree.Element:
    need_size(content, MOST_TREE_BYTES, name=name, key=key, hint="cut it to the job's area")
    text = decode_text(content, name=name, key=key)
    if "<!DOCTYPE" in text or "<!ENTITY" in text:
        got = "one with a document type, which may hide what it holds"
        raise StillwetError(Problem(key, "a plain GPX file", got, name))
    try:
        root = ElementTree.fromstring(text)  # as text: what encoding its head declares is past
    except (ElementTree.ParseError, ValueError) as error:
        raise StillwetError(Problem(key, "a GPX file", shown(str(error), 120), name)) from None
    if _tag(root) != "gpx":
        raise StillwetError(Problem(key, "a GPX file", f"an XML file of {_tag(root)}", name))
    return root


def _tag(element: ElementTree.Element) -> str:
    return element.tag.rpartition("}")[2]


def _chosen(root: ElementTree.Element, layer: str | None, name: str) -> str:
    there = {_tag(element) for element in root}
    found = [word for word, tag in _LAYERS.items() if tag in there]
    if not found:
        raise StillwetError(Problem("file", "waypoints, tracks or routes", "none", name))
    if layer is None and len(found) == 1:
        return found[0]
    if layer in found:
        return str(layer)
    got = "nothing" if layer is None else shown(layer)
    hint = nearest_hint(layer or "", found) or f'add layer = "{found[-1]}" beside file'
    raise StillwetError(Problem("layer", "one of " + ", ".join(found), got, name, hint))


def _row(element: ElementTree.Element, number: int, place: str) -> Row:
    values = dict(_values(element))
    text = values.pop(SHAPE, None)
    if text is None:
        geometry = _drawn(element, place)
    else:
        geometry = shape_of_text(text, field=SHAPE, place=place)
    need_degrees(geometry, place)
    return Row(number, place, values, geometry)


def _values(element: ElementTree.Element) -> Iterator[tuple[str, str]]:
    """Name and note, overruled by the fields that we wrote ourselves."""
    for child in element:
        word = {"name": "name", "desc": "note"}.get(_tag(child))
        if word is not None and (child.text or "").strip():
            yield word, str(child.text).strip()
    own = list(element.iter(f"{{{FIELDS_NAMESPACE}}}field"))
    for field in own:
        yield field.get("name", ""), (field.text or "").strip()


def _drawn(element: ElementTree.Element, place: str) -> BaseGeometry:
    from shapely.geometry import LineString, MultiLineString, Point

    if _tag(element) == "wpt":
        return Point(_spot(element, place))
    if _tag(element) == "rte":
        parts = [_spots(element, "rtept", place)]
    else:
        parts = [_spots(part, "trkpt", place) for part in element if _tag(part) == "trkseg"]
    lines = [part for part in parts if part]
    if not lines or any(len(part) < 2 for part in lines):
        raise StillwetError(Problem("track", "at least 2 points", "fewer", place))
    return LineString(lines[0]) if len(lines) == 1 else MultiLineString(lines)


def _spots(
    elements: Iterable[ElementTree.Element], tag: str, place: str
) -> list[tuple[float, float]]:
    return [_spot(element, place) for element in elements if _tag(element) == tag]


def _spot(element: ElementTree.Element, place: str) -> tuple[float, float]:
    try:
        return float(element.get("lon", "")), float(element.get("lat", ""))
    except ValueError:
        got = f"lat={shown(element.get('lat'))}, lon={shown(element.get('lon'))}"
        wanted = "latitude and longitude in degrees"
        raise StillwetError(Problem("position", wanted, got, place)) from None
