"""Whether what was read can be true together: places, weather and clock of one and the same job."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from functools import cache

from stillwet.domain.assets import Asset
from stillwet.domain.lines import Track
from stillwet.domain.weather import Weather
from stillwet.errors import Problem
from stillwet.exchange.clock import Clock
from stillwet.exchange.findings import Findings
from stillwet.exchange.ground import FARTHEST_M, Ground
from stillwet.exchange.places import earth_of

Spot = tuple[str, float, float]  # what is told of it, metres east, metres north

# Bounds of what can be true, our own choice (no source): they refuse or remark, and no answer is
# reckoned from them.
_NEAR_WEATHER_M = 50_000.0
_FAR_M = 5_000_000.0  # the widest time zone of one name is 4000 km
_TROPICS_DEG = 8.0  # nearer the equator than this a zone may lie on both sides of it
_DRY_AIR = 0.02  # no forecast stays below 2 % relative humidity hour after hour
_STORM_M_S = 40.0  # an hour's mean wind of hurricane force and more
_KM = 1000.0
_MIRRORED = "is a minus missing, or are latitude and longitude swapped?"
_ZONE_LINE = re.compile(r"^[^#\t]+\t([+-]\d+)([+-]\d+)\t(\S+)", re.MULTILINE)


def note_far_places(findings: Findings, assets: tuple[Asset, ...], spots: Iterable[Spot]) -> None:
    """Refuse crews, water points and the like that stand farther off than an asset may."""
    if not assets:
        return
    for label, x_m, y_m in spots:
        away_m = _away_m(assets, x_m, y_m)
        if not away_m <= FARTHEST_M:
            wanted = f"a place within {FARTHEST_M / _KM:g} km of the assets"
            findings.add(Problem("position", wanted, _km(away_m), label, _MIRRORED))


def note_far_tracks(
    findings: Findings, assets: tuple[Asset, ...], tracks: Iterable[tuple[str, Track]]
) -> None:
    """Refuse whatever is drawn with no point as near as an asset may be; each with what to call it.

    Streams on the other side of the earth would keep gel out of no water here.
    """
    for label, track in tracks:
        away_m = [_away_m(assets, x_m, y_m) for x_m, y_m in track] if assets else []
        if away_m and not min(away_m) <= FARTHEST_M:
            wanted = f"a line within {FARTHEST_M / _KM:g} km of the assets"
            findings.add(Problem("track", wanted, _km(min(away_m)), label, _MIRRORED))


def note_far_weather(
    findings: Findings, weather: Weather, ground: Ground, assets: tuple[Asset, ...]
) -> None:
    """Tell of weather from another place (a typical year may be), refuse that of other seasons."""
    if not assets:
        return
    there = (weather.longitude_deg, weather.latitude_deg)
    here = earth_of(ground.crs).point(assets[0].x_m, assets[0].y_m)
    away_m = _away_m(assets, *ground.point(*there))
    if not _fits(there, here.x, here.y):
        wanted = "weather of a place on the assets' side of the earth"
        findings.add(Problem("latitude", wanted, _km(away_m), weather.source, _MIRRORED))
    elif away_m > _NEAR_WEATHER_M:
        findings.tell(f"{weather.source}: the weather is that of a place {_km(away_m)}")


def note_odd_weather(findings: Findings, weather: Weather) -> None:
    """Refuse a humidity that was a share all along, and tell of a wind nobody forecasts."""
    dampest = float(weather.relative_humidity.max())
    if dampest < _DRY_AIR:
        wanted = f"an hour with at least {100 * _DRY_AIR:g} % relative humidity"
        hint = 'if the column holds shares of 1, give unit = "fraction"'
        got = f"{100 * dampest:.2g} % at most"
        findings.add(Problem("relative_humidity", wanted, got, weather.source, hint))
    strongest = float(weather.wind_speed_m_s.max())
    if strongest > _STORM_M_S:
        findings.tell(
            f"{weather.source}: the wind reaches {strongest:.0f} m/s ({strongest * 3.6:.0f} km/h) "
            "for a whole hour: look at the unit of wind_speed"
        )


def note_far_zone(
    findings: Findings, clock: Clock, longitude_deg: float, latitude_deg: float, place: str
) -> None:
    """Refuse assets on another side of the earth than the time zone that the job names.

    A missing minus puts a job into the wrong summer and the sun on the wrong walls. The places of
    the zones are those of the public time-zone data base (file zone.tab).
    """
    towns = _zone_towns().get(clock.name, ())
    if not towns or any(_fits(town, longitude_deg, latitude_deg) for town in towns):
        return
    there = f"{latitude_deg:.2f}, {longitude_deg:.2f} (latitude, longitude)"
    hint = f'{_MIRRORED} If neither, give time_zone as a shift, such as "UTC+11:00"'
    findings.add(Problem("position", f"assets in {clock.name}", there, place, hint))


def _fits(town: tuple[float, float], longitude_deg: float, latitude_deg: float) -> bool:
    """True unless the town (longitude, latitude) has other seasons or is very far off."""
    import pyproj

    north = town[1]
    if min(abs(north), abs(latitude_deg)) > _TROPICS_DEG and north * latitude_deg < 0.0:
        return False
    _, _, away_m = pyproj.Geod(ellps="WGS84").inv(town[0], north, longitude_deg, latitude_deg)
    return bool(away_m <= _FAR_M)


@cache
def _zone_towns() -> dict[str, tuple[tuple[float, float], ...]]:
    """Longitude and latitude of the chief town of every named zone; nothing where unknown."""
    from importlib import resources

    try:
        table = resources.files("tzdata").joinpath("zoneinfo", "zone.tab").read_text("utf-8")
    except (ModuleNotFoundError, OSError):
        return {}
    return {name: ((_angle(east), _angle(north)),) for north, east, name in _zone_rows(table)}


def _zone_rows(table: str) -> Iterator[tuple[str, str, str]]:
    for match in _ZONE_LINE.finditer(table):
        yield match[1], match[2], match[3]


def _angle(text: str) -> float:
    """Degrees of ISO 6709 text: +DDMM, +DDDMM, or either with seconds behind."""
    digits = text[1:]
    width = 2 if len(digits) in (4, 6) else 3
    rest = digits[width:].ljust(4, "0")
    degrees = int(digits[:width]) + int(rest[:2]) / 60 + int(rest[2:]) / 3600
    return -degrees if text[0] == "-" else degrees


def _away_m(assets: tuple[Asset, ...], x_m: float, y_m: float) -> float:
    return math.hypot(x_m - assets[0].x_m, y_m - assets[0].y_m)


def _km(away_m: float) -> str:
    return f"{away_m / _KM:.0f} km away"
