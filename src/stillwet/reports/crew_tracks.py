"""The crews' routes for a map or a hand-held receiver: GPX 1.1 and GeoJSON (RFC 7946), WGS 84."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from stillwet.domain.crew_plan import CrewPlan, CrewRun, CrewStep
from stillwet.reports.crew_rows import FOOTER, crew_clock, step_name, step_work
from stillwet.reports.plan_json import json_text
from stillwet.reports.words import Units, clean

# Roads are not followed: only driving times are reckoned over them.
_STRAIGHT = "Straight lines between stops, not the roads driven."
_DIGITS = 7  # about a centimetre

Degrees = Callable[[float, float], tuple[float, float]]


def crew_gpx_text(plan: CrewPlan) -> str:
    """One route a crew, its stops as route points with times, in the order of GPX 1.1."""
    degrees = degrees_of(plan.crs)
    parts = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<gpx version="1.1" creator="Stillwet" xmlns="http://www.topografix.com/GPX/1/1">',
        f"<metadata><name>{_text(f'Crew plan {plan.id}: {plan.job_name}')}</name>"
        f"<desc>{_text(f'{FOOTER} {_STRAIGHT}')}</desc><time>{_utc(plan.made_s)}</time></metadata>",
        *(_route(run, plan, degrees) for run in plan.crews),
        "</gpx>",
    ]
    return "\n".join(parts) + "\n"


def _route(run: CrewRun, plan: CrewPlan, degrees: Degrees) -> str:
    start = _point(run.start_at_m, degrees, run.start_s, f"{run.name} starts", "")
    stops = [
        _point(
            (step.x_m, step.y_m),
            degrees,
            step.arrive_s,
            f"{number} {step_name(step)}",
            _told(step, plan),
        )
        for number, step in enumerate(run.steps, start=1)
    ]
    body = "\n".join([start, *stops])
    return f"<rte><name>{_text(run.name)}</name><desc>{_text(_STRAIGHT)}</desc>\n{body}\n</rte>"


def _point(at_m: tuple[float, float], degrees: Degrees, time_s: float, name: str, told: str) -> str:
    longitude, latitude = degrees(*at_m)
    where = (
        f"lat={quoteattr(f'{latitude:.{_DIGITS}f}')} lon={quoteattr(f'{longitude:.{_DIGITS}f}')}"
    )
    more = f"<desc>{_text(told)}</desc>" if told else ""
    return f"<rtept {where}><time>{_utc(time_s)}</time><name>{_text(name)}</name>{more}</rtept>"


def _told(step: CrewStep, plan: CrewPlan) -> str:
    clock = crew_clock(plan)
    both = " or ".join(step_work(step, plan, units) for units in Units)
    words = f"{clock.short(step.start_s, up=True)}: {both}"
    if step.leave_by_s is not None:
        words += f". GONE BY {clock.short(step.leave_by_s)}"
    return words


def crew_geojson_text(plan: CrewPlan) -> str:
    """A line for each crew that drives and a point for each of its stops."""
    degrees, clock = degrees_of(plan.crs), crew_clock(plan)
    features: list[dict[str, Any]] = []
    for run in plan.crews:
        places = [run.start_at_m, *((step.x_m, step.y_m) for step in run.steps)]
        if run.steps:
            line = [list(degrees(*place)) for place in places]
            shape = {"type": "LineString", "coordinates": line}
            told = {"crew": clean(run.name), "note": _STRAIGHT, "caution": FOOTER}
            features.append({"type": "Feature", "geometry": shape, "properties": told})
        for number, step in enumerate(run.steps, start=1):
            point = {"type": "Point", "coordinates": list(degrees(step.x_m, step.y_m))}
            stop: dict[str, Any] = {
                "crew": clean(run.name),
                "stop": number,
                "kind": str(step.kind),
                "name": step_name(step),
                "arrive": clock.iso(step.arrive_s),
                "start": clock.iso(step.start_s),
                "finish": clock.iso(step.finish_s),
                "gone_by": clock.iso(step.leave_by_s),
                "amount_m3": step.amount_m3,
                "mix_ratio_fraction": step.mix_ratio,
                "chance_fraction": step.chance,
            }
            features.append({"type": "Feature", "geometry": point, "properties": stop})
    return json_text({"type": "FeatureCollection", "features": features})


def degrees_of(crs: str) -> Degrees:
    """Turns places of a projected system [m] into longitude and latitude [deg, WGS 84]."""
    from pyproj import Transformer

    transformer = Transformer.from_crs(crs, "EPSG:4326", always_xy=True)

    def degrees(x_m: float, y_m: float) -> tuple[float, float]:
        longitude, latitude = transformer.transform(x_m, y_m)
        return round(float(longitude), _DIGITS), round(float(latitude), _DIGITS)

    return degrees


def _text(text: str) -> str:
    return escape(clean(text))


def _utc(time_s: float) -> str:
    return datetime.fromtimestamp(math.floor(time_s), UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
