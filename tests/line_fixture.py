"""An invented line for tests: two segments of grass on level ground, the unit to the south."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from job_fixture import HOUR, START_S, make_crew, make_job, make_product, make_weather
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.fire import Fuel
from stillwet.domain.job import Job
from stillwet.domain.lines import Line, LineModel, LinePurpose, LineSegment, LineWork, Side
from stillwet.engine.line_search import Frame
from stillwet.engine.lines import line_sky, make_frame
from stillwet.engine.members import draw_members

UNTESTED = {
    "extinction_margin": Basis(BasisKind.UNTESTED, "test", 1.2, 2.5),
    "flame_flux": Basis(BasisKind.UNTESTED, "test", 20e3, 100e3),
    "flame_exposure": Basis(BasisKind.UNTESTED, "test", 1.0, 4.0),
    "leaf_extinction": Basis(BasisKind.PUBLISHED, "test", 0.3, 0.9),
    "wetted_share": Basis(BasisKind.UNTESTED, "test", 0.3, 0.9),
    "bed_wind": Basis(BasisKind.UNTESTED, "test", 0.2, 1.0),
    "blade_width": Basis(BasisKind.UNTESTED, "test", 1e-3, 10e-3),
}


def make_fuel(model: str = "GR2", **changes: Any) -> Fuel:
    """Two thirds cured grass."""
    values: dict[str, Any] = {"model": model, "moisture_herb": 0.6, "moisture_woody": 0.9}
    return Fuel(**(values | changes))


def make_segment(start_m: float = 0.0, end_m: float = 80.0, **changes: Any) -> LineSegment:
    """A stretch from west to east, 4 m wide."""
    values: dict[str, Any] = {
        "id": f"s{start_m:.0f}",
        "name": f"From {start_m:.0f}",
        "track_m": ((start_m, 0.0), (end_m, 0.0)),
        "width_m": 4.0,
        "fuel": make_fuel(),
        "black_depth_m": 3.0,
    }
    return LineSegment(**(values | changes))


def make_model(**changes: Any) -> LineModel:
    """The stated defaults."""
    values: dict[str, Any] = {
        "extinction_margin": 1.5,
        "flame_flux_w_m2": 60e3,
        "flame_exposure": 2.0,
        "width_multiple": 2.0,
        "leaf_extinction": 0.5,
        "wetted_share": 0.6,
        "bed_wind": 0.5,
        "blade_width_m": 0.003,
    }
    return LineModel(**(values | changes))


def make_work(**changes: Any) -> LineWork:
    """Lit behind, unit on the right (south), done by noon."""
    values: dict[str, Any] = {
        "is_lit": True,
        "fire_side": Side.RIGHT,
        "finish_s": START_S + 4 * HOUR,
    }
    return LineWork(**(values | changes))


def make_line(**changes: Any) -> Line:
    """A burn line of two segments, with the intervals of the stated defaults."""
    values: dict[str, Any] = {
        "id": "l1",
        "name": "North edge",
        "purpose": LinePurpose.BURN,
        "segments": (make_segment(), make_segment(80.0, 160.0)),
        "work": make_work(),
        "model": make_model(),
        "basis": UNTESTED,
    }
    return Line(**(values | changes))


def make_line_job(*lines: Line, **changes: Any) -> Job:
    """A job with these lines (one burn line if none), a stiff product and a big tank."""
    values: dict[str, Any] = {
        "lines": lines or (make_line(),),
        "crews": (make_crew(tank_m3=3.0),),
        "members": 64,
        "product": make_product(),
    }
    return make_job(**(values | changes))


def frame_of(job: Job, sky_of: Job | None = None) -> Frame:
    """The frame of a job's first line; with ``sky_of``, under that job's long-wave sky."""
    line, members = job.lines[0], draw_members(job)
    sky = line_sky(job, line, members)
    if sky_of is not None:
        other = line_sky(sky_of, line, members)
        sky = replace(sky, sky_longwave_w_m2=other.sky_longwave_w_m2)
    return make_frame(job, line, members, sky)


def steady_job(line: Line, *, wind: float, humidity: float, sun: float, **changes: Any) -> Job:
    """Weather that stands still: 30 C, this wind, humidity and share of a clear sky's sun."""
    weather = make_weather()
    by_day = np.clip(np.sin((weather.time_s / HOUR - 12.0) % 24 / 14 * np.pi), 0.0, None)
    count = weather.hours
    still = replace(
        weather,
        air_temperature_k=np.full(count, 303.15),
        relative_humidity=np.full(count, humidity),
        wind_speed_m_s=np.full(count, wind),
        ghi_w_m2=sun * 900.0 * by_day,
        dni_w_m2=sun * 800.0 * by_day,
        dhi_w_m2=sun * 120.0 * by_day,
    )
    return make_line_job(line, weather=still, **changes)
