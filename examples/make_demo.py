"""Makes the data files of the demo job: an invented hamlet on an invented hot, dry, windy day.

Run from the repository root: ``python examples/make_demo.py``. Same files every time. The TOML
files beside them (job, product, crews, water points) are written by hand.
"""

from __future__ import annotations

import csv
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import numpy as np
from pyproj import Transformer

FOLDER = Path(__file__).parent.parent / "src" / "stillwet" / "data" / "demo"

# A sagebrush bench in the interior west; metres east and north of this corner of UTM zone 11N.
CRS = "EPSG:32611"
CORNER_M = (548_000.0, 4_717_000.0)

Point = tuple[float, float]


def rectangle(centre: Point, length: float, width: float, turned_deg: float) -> list[Point]:
    """Corners of a house whose long side runs east, turned counter-clockwise."""
    turn = math.radians(turned_deg)
    corners = [(sx * length / 2, sy * width / 2) for sx, sy in ((-1, -1), (1, -1), (1, 1), (-1, 1))]
    return [_turned(corner, centre, turn) for corner in corners]


def ell(centre: Point, length: float, width: float, turned_deg: float) -> list[Point]:
    """Corners of an L-shaped house: a rectangle with its north-east quarter left open."""
    turn = math.radians(turned_deg)
    a, b = length / 2, width / 2
    corners = [(-a, -b), (a, -b), (a, 0.0), (0.0, 0.0), (0.0, b), (-a, b)]
    return [_turned(corner, centre, turn) for corner in corners]


def _turned(corner: Point, centre: Point, turn: float) -> Point:
    x, y = corner
    return (
        centre[0] + x * math.cos(turn) - y * math.sin(turn),
        centre[1] + x * math.sin(turn) + y * math.cos(turn),
    )


HOUSE = {"kind": "house", "value": 100}


def assets() -> list[dict[str, Any]]:
    """The hamlet: each asset's shape (a ring or a point, in metres) and what is known of it."""
    return [
        _area(
            ell((62, 70), 18, 14, 12),
            **HOUSE,
            id="h1",
            name="Corner house",
            material="wood siding",
            eave_height="10 ft",
            roof_pitch="22 deg",
            setback="60 ft",
        ),
        _area(
            rectangle((104, 58), 14, 9, 8),
            **HOUSE,
            id="h2",
            name="Blue house",
            material="wood siding",
            eave_height="9 ft",
            roof_pitch="18 deg",
            setback="30 ft",
        ),
        _area(
            rectangle((150, 66), 16, 10, 0),
            **HOUSE,
            id="h3",
            name="Long house",
            material="vinyl siding",
            eave_height="3.0 m",
            roof_pitch="20 deg",
            setback="15 m",
        ),
        _area(
            rectangle((196, 74), 13, 9, -6),
            **HOUSE,
            id="h4",
            name="Well house",
            material="wood siding",
            eave_height="9 ft",
            roof_pitch="25 deg",
            setback="45 ft",
        ),
        _area(
            rectangle((88, 128), 15, 10, 15),
            **HOUSE,
            id="h5",
            name="Orchard house",
            material="wood siding",
            eave_height="10 ft",
            roof_pitch="22 deg",
            setback="130 ft",
        ),
        _area(
            rectangle((140, 132), 17, 11, 4),
            **HOUSE,
            id="h6",
            name="School house",
            material="wood siding",
            eave_height="12 ft",
            roof_pitch="30 deg",
            setback="110 ft",
            must="yes",
            heritage="yes",
            collects_rain="yes",
        ),
        _area(
            rectangle((190, 138), 12, 8, -10),
            **HOUSE,
            id="h7",
            name="Creek cabin",
            material="wood siding",
            eave_height="8 ft",
            roof_pitch="26 deg",
            setback="70 ft",
            shading="shaded",
            needs="long hose",
        ),
        _area(
            rectangle((234, 84), 12, 9, 2),
            **HOUSE,
            id="h8",
            name="Gate house",
            material="wood siding",
            eave_height="9 ft",
            roof_pitch="20 deg",
            exposure="burning neighbour",
            setback="6 m",
            fire_from="E",
            note="6 m from an old store that is expected to burn",
        ),
        _area(
            rectangle((28, 112), 22, 12, 30),
            kind="barn",
            value=60,
            id="b1",
            name="Hay barn",
            material="wood siding",
            eave_height="14 ft",
            roof_pitch="28 deg",
            setback="12 m",
            has_windows="no",
        ),
        _area(
            rectangle((122, 92), 5, 4, 0),
            kind="shed",
            value=15,
            id="s1",
            name="Pump shed",
            material="wood siding",
            eave_height="7 ft",
            roof_pitch="10 deg",
            setback="20 m",
        ),
        _spot(
            (40, 40),
            kind="pole",
            value=20,
            id="p1",
            name="Pole 1",
            exposure="brush fire",
            setback="0 ft",
            note="brush grows to the pole",
        ),
        _spot(
            (110, 40),
            kind="pole",
            value=20,
            id="p2",
            name="Pole 2",
            setback="25 ft",
            energised="no",
        ),
        _spot((180, 40), kind="pole", value=20, id="p3", name="Pole 3", setback="12 m"),
        _spot(
            (250, 42),
            kind="pole",
            value=20,
            id="p4",
            name="Pole 4",
            setback="60 ft",
            energised="yes",
            released="yes",
        ),
        _spot(
            (262, 160),
            kind="tower",
            value=80,
            id="t1",
            name="Radio tower",
            released=False,
            setback="25 m",
            note="owner has not released it",
        ),
        {
            "shape": "LineString",
            "points": [(96, 33), (150, 29)],
            "known": {
                "kind": "fence",
                "value": 8,
                "id": "f1",
                "name": "South fence",
                "eave_height": "5 ft",
                "setback": "3 ft",
            },
        },
        _spot((76, 96), kind="tree", value=12, id="g1", name="Shade tree", setback="25 m"),
        _spot((172, 112), kind="tree", value=12, id="g2", name="Old pine", setback="15 m"),
        _spot((206, 60), kind="tank", value=30, id="k1", name="Propane tank", setback="40 ft"),
        _spot(
            (214, 168),
            kind="bridge",
            value=70,
            id="r1",
            name="Creek bridge",
            length="12 m",
            width="14 ft",
            facing="200 deg",
            setback="10 m",
            needs="long hose",
        ),
    ]


def _area(ring: Sequence[Point], **known: Any) -> dict[str, Any]:
    return {"shape": "Polygon", "points": [*ring, ring[0]], "known": known}


def _spot(point: Point, **known: Any) -> dict[str, Any]:
    return {"shape": "Point", "points": [point], "known": known}


STREAM: list[Point] = [
    (-40, 190),
    (10, 182),
    (60, 176),
    (110, 182),
    (160, 176),
    (214, 168),
    (260, 150),
    (330, 146),
]
BURN_UNIT_EDGE: list[Point] = [(-30, 8), (40, 14), (110, 4), (180, 12), (270, 6)]


def burn_line() -> list[dict[str, Any]]:
    """The unit's north edge in four segments; what holds for the whole line stands on the first."""
    whole_line = {
        "line_name": "Bench unit, north edge",
        "purpose": "burn line",
        "fire_side": "right",
        "crew": "e1",
        "finish": "2030-08-14T12:00-06:00",
        "wind_from": "S",
        "wind_to": "W",
        "wind_limit": "15 mph",
    }
    known: list[dict[str, Any]] = [
        {"name": "West end", "fuel_model": "GR2", "slope": "4 deg", "aspect": "S", **whole_line},
        {"name": "Two-track", "fuel_model": "GR2", "bare_width": "8 ft"},
        {"name": "Draw", "fuel_model": "GS1", "slope": "9 deg", "aspect": "SE"},
        {"name": "East end", "fuel_model": "GR4"},
    ]
    return [
        {
            "shape": "LineString",
            "points": [start, end],
            "known": {"id": f"l1{letter}", "line": "l1", "width": "12 ft", **own},
        }
        for letter, own, start, end in zip(
            "abcd", known, BURN_UNIT_EDGE, BURN_UNIT_EDGE[1:], strict=False
        )
    ]


def feature_collection(features: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """GeoJSON (RFC 7946: longitude, latitude in WGS 84) of shapes given in metres."""
    to_degrees = Transformer.from_crs(CRS, "EPSG:4326", always_xy=True)

    def degrees(point: Point) -> list[float]:
        lon, lat = to_degrees.transform(CORNER_M[0] + point[0], CORNER_M[1] + point[1])
        return [round(lon, 7), round(lat, 7)]

    def coordinates(shape: str, points: Sequence[Point]) -> Any:
        places = [degrees(point) for point in points]
        return {"Point": places[0], "LineString": places, "Polygon": [places]}[shape]

    return {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": dict(feature["known"]),
                "geometry": {
                    "type": feature["shape"],
                    "coordinates": coordinates(feature["shape"], feature["points"]),
                },
            }
            for feature in features
        ],
    }


# Local time of the demo is UTC-6. Day by day: lowest and highest temperature [F], dampest and
# driest relative humidity [%], night and afternoon wind [mph at 20 ft], wind from [deg], cloud [%].
OFFSET = timezone(timedelta(hours=-6))
FIRST_HOUR = datetime(2030, 8, 13, 0, tzinfo=OFFSET)
DAYS = np.array(
    [
        (61, 96, 38, 12, 4, 13, 210, 10),
        (65, 102, 27, 8, 6, 22, 228, 5),
        (58, 86, 46, 17, 5, 16, 290, 30),
    ],
    dtype=float,
)
COLDEST_HOUR, WARMEST_HOUR = 5.5, 15.5


def warmth(hour: float) -> float:
    """Share of the day's rise at an hour: 0 when coldest, 1 when warmest, cosine between."""
    since = (hour - COLDEST_HOUR) % 24
    rise = WARMEST_HOUR - COLDEST_HOUR
    if since <= rise:
        return 0.5 - 0.5 * math.cos(math.pi * since / rise)
    return 0.5 + 0.5 * math.cos(math.pi * (since - rise) / (24 - rise))


def day_at(index: int) -> list[float]:
    """A day's numbers at an hour of the series, each day passing smoothly into the next."""
    middles = WARMEST_HOUR + 24.0 * np.arange(len(DAYS))
    return [float(np.interp(index, middles, column)) for column in DAYS.T]


def weather_rows() -> list[list[str]]:
    """72 hourly rows, one a clock hour, with the header first."""
    rows = [["time", "temp", "rh", "wind", "wind_from", "pressure", "cloud", "rain"]]
    for index in range(72):
        moment = FIRST_HOUR + timedelta(hours=index)
        low, high, damp, dry, calm, windy, wind_from, cloud = day_at(index)
        share = warmth(moment.hour)
        rows.append(
            [
                moment.strftime("%Y-%m-%d %H:%M"),
                f"{low + (high - low) * share:.1f}",
                f"{damp - (damp - dry) * share:.0f}",
                f"{calm + (windy - calm) * share**1.5:.1f}",
                f"{wind_from + 12 * math.sin(index / 3):.0f}",
                f"{853 - 4 * share - index / 24:.1f}",
                f"{cloud:.0f}",
                "0.00",
            ]
        )
    return rows


def write_json(name: str, content: Mapping[str, Any]) -> None:
    """One feature a line, so that a change reads well in a diff."""
    lines = ",\n".join(json.dumps(feature) for feature in content["features"])
    text = f'{{"type": "FeatureCollection", "features": [\n{lines}\n]}}\n'
    (FOLDER / name).write_text(text, encoding="utf-8")


def main() -> None:
    """Write the demo's generated files."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    write_json("assets.geojson", feature_collection(assets()))
    stream = {"shape": "LineString", "points": STREAM, "known": {"name": "Quillback Creek"}}
    write_json("streams.geojson", feature_collection([stream]))
    write_json("lines.geojson", feature_collection(burn_line()))
    with (FOLDER / "weather.csv").open("w", encoding="utf-8", newline="") as handle:
        csv.writer(handle, lineterminator="\n").writerows(weather_rows())


if __name__ == "__main__":
    main()
