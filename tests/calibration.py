"""How often the confidence statements come true under real weather and made-up forecasts.

The truth is a real weather year (TMY3 station 723170, Greensboro NC, shipped with pvlib). Each
case's forecast is that truth less an error: an AR(1) series for each quantity, independent between
quantities, whose standard deviation grows with lead time as the job's uncertainty says. The plan's
own functions then make their statements from the forecast alone, and the truth judges them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from job_fixture import make_job
from job_folder import packaged
from stillwet.domain.assets import Surface
from stillwet.domain.job import Job, Uncertainty
from stillwet.domain.weather import COLUMNS, HOUR_S, Weather
from stillwet.engine import coating
from stillwet.engine.drying import TYPICAL_FACES, Drying, face_demand, running_sum
from stillwet.engine.members import DRAWS, Members, draw_members, growing_sd, members_from
from stillwet.engine.sky import make_sky
from stillwet.exchange.clock import Clock
from stillwet.exchange.findings import Findings
from stillwet.exchange.weather_series import make_weather
from stillwet.exchange.weather_typical import read_tmy3

Array = NDArray[np.float64]

LEADS_H = (2, 12, 24, 48)  # from the forecast's issue to laying the coat
DEMAND_KG_M2 = 0.2


@dataclass(frozen=True, slots=True)
class Wait:
    """How long a coat waits: hours from laying to the fire, hours it is followed, and the coat."""

    to_fire_h: int
    followed_h: int
    coat_kg_m2: float


SHORT = Wait(to_fire_h=6, followed_h=36, coat_kg_m2=3.0)
LONG = Wait(to_fire_h=24, followed_h=60, coat_kg_m2=8.0)
_FIRST_HOUR = 24  # of the year; the last case must end inside it
_OTHERS = (
    "drying_exponent",
    "water_efficiency",
    "coat_factor",
    "coat_variation",
    "yield_factor",
    "flux_factor",
)


@dataclass(frozen=True, eq=False)
class Coverage:
    """Whether each statement came true, (cases, leads, faces); NaN where none was made.

    ``hold``: the face was wet enough until the 90 % hold-until time. ``verdict``: the smallest coat
    that meets the demand in 90 % of members met it in truth.
    """

    labels: tuple[str, ...]
    leads_h: tuple[int, ...]
    hold: Array
    verdict: Array


@cache
def true_weather() -> Weather:
    """The real year, as the reader of a job would have it."""
    findings = Findings()
    content = packaged("pvlib", "data", "723170TYA.CSV")
    draft = read_tmy3(content, name="723170TYA.CSV", year=2030, findings=findings)
    weather = make_weather(draft, Clock(None), findings)
    assert weather is not None
    return weather


def _slice(weather: Weather, first: int, count: int) -> Weather:
    hours = slice(first, first + count)
    columns = {name: getattr(weather, name)[hours] for name in COLUMNS}
    return replace(weather, time_s=weather.time_s[hours], **columns)


def forecast_of(
    truth: Weather, uncertainty: Uncertainty, rng: np.random.Generator, factor: float = 1.0
) -> Weather:
    """A forecast issued at the first hour of ``truth``, wrong by an AR(1) error in each quantity.

    ``factor`` makes the errors that much larger than the uncertainty says.
    """
    count = truth.hours
    step = np.exp(-HOUR_S / uncertainty.persistence_s)
    lead_h = np.arange(count, dtype=np.float64)

    def error(size: tuple[float, float]) -> Array:
        noise = rng.standard_normal(count)
        series = np.empty(count)
        series[0] = noise[0]
        for hour in range(1, count):
            series[hour] = step * series[hour - 1] + np.sqrt(1.0 - step**2) * noise[hour]
        return factor * growing_sd(size, lead_h) * series

    sun = np.exp(-error(uncertainty.sun_log))
    humidity = truth.relative_humidity - error(uncertainty.humidity)
    return replace(
        truth,
        issued_s=float(truth.time_s[0]),
        air_temperature_k=truth.air_temperature_k - error(uncertainty.temperature_k),
        relative_humidity=np.clip(humidity, 0.01, 1.0),
        wind_speed_m_s=truth.wind_speed_m_s * np.exp(-error(uncertainty.wind_log)),
        ghi_w_m2=truth.ghi_w_m2 * sun,
        dni_w_m2=truth.dni_w_m2 * sun,
        dhi_w_m2=truth.dhi_w_m2 * sun,
    )


def _drying(weather: Weather, job: Job, members: Members | None) -> Drying:
    faces = TYPICAL_FACES
    sky = make_sky(
        weather,
        from_s=float(weather.time_s[0]),
        to_s=float(weather.time_s[-1]),
        members=members,
        uncertainty=job.uncertainty,
    )
    demand = face_demand(
        sky,
        weather,
        faces,
        shaded=np.zeros(len(faces), dtype=np.bool_),
        sheltering=np.ones(len(faces)),
        albedo=job.practice.ground_albedo,
    )
    return running_sum(sky.time_s, demand)


def _ask(members: Members, fire_s: float, faces: Sequence[Surface], job: Job) -> coating.Ask:
    shape = (len(faces), members.count)
    demand = DEMAND_KG_M2 * members.flux_factor / members.water_efficiency
    arrival = np.full(len(faces), fire_s)
    return coating.Ask(
        water_demand=np.broadcast_to(demand, shape),
        arrival_s=arrival,
        end_s=arrival + job.practice.ember_period_s,
        reserve=job.practice.ember_reserve_kg_m2,
    )


def weather_only(members: Members) -> Members:
    """The members with nothing uncertain but the weather: all else at its middle value."""
    middle = {name: np.full(members.count, np.median(getattr(members, name))) for name in _OTHERS}
    return replace(members, **middle)


def _case(
    job: Job,
    first: int,
    lead_h: int,
    seed: tuple[int, ...],
    *,
    wait: Wait,
    is_weather_only: bool,
    error_factor: float,
    believed: Uncertainty,
) -> tuple[Array, Array]:
    """One case's hold-until and verdict outcomes over the faces."""
    rng = np.random.default_rng(seed)
    truth = _slice(true_weather(), first, lead_h + wait.followed_h + 1)
    forecast = forecast_of(truth, job.uncertainty, rng, error_factor)
    members = draw_members(replace(job, seed=int(rng.integers(2**31))))
    nature = members_from(job, rng.random((job.members, DRAWS)))
    if is_weather_only:
        members = weather_only(members)
        nature = members
    nature = _first(nature)
    lay_s = float(truth.time_s[0]) + lead_h * HOUR_S
    fire_s = lay_s + wait.to_fire_h * HOUR_S
    faces = TYPICAL_FACES
    lay = np.full(len(faces), lay_s)
    cling = np.full(len(faces), 50.0)
    coat = np.full(len(faces), wait.coat_kg_m2)

    drying, spread = (
        _drying(forecast, replace(job, uncertainty=believed), members),
        coating.make_spread(members, cling),
    )
    ask = _ask(members, fire_s, faces, job)
    hold = coating.hold_until(drying, spread, ask, coat=coat, lay_s=lay)
    stated = np.quantile(hold, 0.1, axis=1, method="lower")
    needed = coating.coat_needed(drying, spread, ask, lay_s=lay, confidence=0.9)

    # The truth: the real weather, and one random draw of everything else.
    real, true_spread = _drying(truth, job, None), coating.make_spread(nature, cling)
    true_ask = _ask(nature, fire_s, faces, job)
    held = coating.hold_until(real, true_spread, true_ask, coat=coat, lay_s=lay)[:, 0]
    spare = coating.margin(real, true_spread, true_ask, coat=needed, lay_s=lay)[:, 0]
    is_stated = (stated > lay_s) & (stated < truth.time_s[-1] - 1.0)
    return (
        np.where(is_stated, (held >= stated - 1.0).astype(float), np.nan),
        np.where(np.isfinite(needed), (spare >= -1e-9).astype(float), np.nan),
    )


def _first(members: Members) -> Members:
    cut = {name: getattr(members, name)[:1] for name in ("uniform", *_OTHERS)}
    return replace(members, **cut)


def coverage(
    *,
    every_days: int = 1,
    seed: int = 1,
    is_weather_only: bool = False,
    error_factor: float = 1.0,
    wait: Wait = SHORT,
    believed_persistence_s: float | None = None,
) -> Coverage:
    """Every statement of a year of days, at every lead, with coats laid at changing hours.

    ``error_factor`` and ``believed_persistence_s`` make the members wrong about the forecast.
    """
    job = make_job()
    believed = job.uncertainty
    if believed_persistence_s is not None:
        believed = replace(believed, persistence_s=believed_persistence_s)
    outcomes = [
        [
            _case(
                job,
                _FIRST_HOUR + 24 * day + (7 * day) % 24,
                lead_h,
                (seed, day, lead_h),
                is_weather_only=is_weather_only,
                error_factor=error_factor,
                wait=wait,
                believed=believed,
            )
            for lead_h in LEADS_H
        ]
        for day in range(0, 360, every_days)
    ]
    both = np.array(outcomes)  # (days, leads, 2, faces)
    return Coverage(
        labels=tuple(face.label for face in TYPICAL_FACES),
        leads_h=LEADS_H,
        hold=both[:, :, 0],
        verdict=both[:, :, 1],
    )
