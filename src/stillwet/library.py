"""What a program or a notebook needs, under one name each; ``import stillwet`` offers all of it.

The same answers as the commands of the same names, as records instead of text. Every record of an
answer can be had as text and HTML; a plan, a drying demand and a weather also as a pandas frame.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stillwet.domain.chain import Chain, JobShares
from stillwet.domain.codec import text_hash
from stillwet.domain.job import Job
from stillwet.domain.line_plan import LinesPlan
from stillwet.domain.mix_window import MixWindow
from stillwet.domain.plan import Plan
from stillwet.domain.suitability import JobSuitability
from stillwet.domain.weather import Weather
from stillwet.errors import Problem, StillwetError
from stillwet.services.clock import moment_s
from stillwet.services.demand import Demand
from stillwet.services.explaining import Explained
from stillwet.services.lines import LinesAnswer
from stillwet.services.mixing import Mixed
from stillwet.services.planning import (
    Planned,
    make_job_plan,
    read_whole_job,
    silent,
    with_knobs,
)
from stillwet.services.suiting import Suited
from stillwet.services.view import View, units_for

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

Answer = Plan | Demand | LinesPlan | MixWindow | JobSuitability | Chain | JobShares
_ANSWERS = (Plan, Demand, LinesPlan, MixWindow, JobSuitability, Chain, JobShares)


def read_job(path: str | Path) -> Job:
    """The job of a JOB.toml and the files it names, or of a JOB.gpkg.

    Raises StillwetError with every problem its files have.
    """
    return read_whole_job(Path(path))


def demo_job() -> Job:
    """The invented hamlet of ``stillwet demo``."""
    import tempfile

    from stillwet.services.demo import copy_data

    with tempfile.TemporaryDirectory() as folder:
        copy_data("demo", Path(folder) / "job")
        return read_job(Path(folder) / "job" / "job.toml")


def with_weather(job: Job, weather: pd.DataFrame | xr.Dataset) -> Job:
    """The job under other weather: hourly rows, with a time index that knows its zone.

    Columns are named as in an hourly table, with their units ("air_temperature (F)",
    "wind_speed_mph"); ``to_frame(job.weather)`` shows them. The place stays the job's. The times of
    a dataset are UTC. Raises StillwetError with every problem found, row by row.
    """
    from stillwet.exchange.weather_frame import frame_csv, read_weather_frame

    frame = _as_frame(weather)
    found, problems = read_weather_frame(
        frame, job.weather, from_s=job.start_s, to_s=job.fire_over_s
    )
    if found is None:
        raise StillwetError(problems)
    changed = text_hash(job.input_hash + frame_csv(frame).decode())
    return replace(job, weather=found, input_hash=changed)


def make_plan(
    job: Job, *, now: str | None = None, seed: int | None = None, members: int | None = None
) -> Plan:
    """The plan of a job, worst asset first; ``now`` is when it is made, the clock's if not said."""
    return make_job_plan(with_knobs(job, seed=seed, members=members), moment_s(now), silent)


def drying_demand(job: Job, *, units: str | None = None) -> Demand:
    """How hard the weather pulls water from each facing, hour by hour."""
    from stillwet.services.demand import demand_of

    return demand_of(job, units)


def make_lines(job: Job, *, now: str | None = None) -> LinesPlan:
    """The job's wetted lines: coverage, longest lag, schedule, and what stands against them."""
    from stillwet.engine.lines import make_lines as make

    return make(job, now_s=moment_s(now), progress=silent)


def mix_window(job: Job, asset: str | None = None) -> MixWindow:
    """The ratio to set for the job or for one asset (id or name), and the walls on either side."""
    from stillwet.engine.chain import asset_named
    from stillwet.engine.mix_window import make_mix_window

    chosen = None if asset is None else asset_named(job, asset).id
    return make_mix_window(job, _own_plan(job), chosen)


def suits(job: Job) -> JobSuitability:
    """Of each asset and line: use gel, only if, or do not, with why and what instead."""
    from stillwet.engine.cautions import job_cautions
    from stillwet.engine.suitability import job_suitability

    return job_suitability(job, _own_plan(job), job_cautions())


def explain(job: Job, asset: str | None = None) -> Chain | JobShares:
    """The chain of numbers behind one asset's answer, or what the job's answers hang on most."""
    from stillwet.engine.chain import asset_named, chain_of, job_shares_of

    if asset is None:
        return job_shares_of(job, _own_plan(job), progress=silent)
    return chain_of(job, _own_plan(job), asset_named(job, asset))


def to_text(record: Answer, *, units: str | None = None) -> str:
    """An answer as the command of its name prints it, at most 100 columns wide."""
    text: str = _shown(record, units).text()
    return text


def to_html(record: Answer, *, units: str | None = None) -> str:
    """An answer as a piece of HTML, with its figure where it has one."""
    from stillwet.reports.record_html import plan_html, text_html

    if isinstance(record, Plan):
        return plan_html(record, units_for(units))
    shown = _shown(record, units)
    svg = shown.figure(".svg").decode() if hasattr(shown, "figure") else ""
    return text_html(shown.text(), svg)


def to_frame(record: Plan | Demand | Weather) -> pd.DataFrame:
    """A plan (a row a face), a drying demand or a weather (a row an hour) as a pandas frame."""
    from stillwet.exchange.weather_frame import weather_frame
    from stillwet.reports.frames import demand_frame, plan_frame

    if isinstance(record, Plan):
        return plan_frame(record)
    if isinstance(record, Demand):
        return demand_frame(record.facings, time_zone=record.time_zone)
    if isinstance(record, Weather):
        return weather_frame(record)
    raise _not_one_of("to_frame", "a Plan, a Demand or a Weather", record)


def to_dataset(record: Demand | Weather) -> xr.Dataset:
    """A drying demand or a weather as an xarray dataset; its times are UTC."""
    from stillwet.exchange.weather_frame import weather_frame
    from stillwet.reports.frames import demand_dataset, need_xarray

    if isinstance(record, Demand):
        return demand_dataset(record.facings)
    if isinstance(record, Weather):
        frame = weather_frame(record).tz_localize(None)
        if record.ensemble_size:
            frame = frame.set_index("member", append=True)
        dataset: xr.Dataset = need_xarray().Dataset.from_dataframe(frame)
        return dataset
    raise _not_one_of("to_dataset", "a Demand or a Weather", record)


def teach_notebook() -> None:
    """Have the notebook that this runs in, if any, show answers as tables and figures."""
    asked = getattr(sys.modules.get("IPython"), "get_ipython", None)
    shell = asked() if asked is not None else None
    if shell is None:
        return
    html = shell.display_formatter.formatters["text/html"]
    plain = shell.display_formatter.formatters["text/plain"]
    for kind in _ANSWERS:
        html.for_type(kind, to_html)
        plain.for_type(kind, lambda record, printer, _: printer.text(to_text(record)))


def _own_plan(job: Job) -> Plan:
    """The job's plan, as the commands that explain it make it."""
    return make_job_plan(job, job.start_s, silent)


def _as_frame(weather: Any) -> pd.DataFrame:
    if not hasattr(weather, "to_dataframe"):
        frame: pd.DataFrame = weather
        return frame
    found: pd.DataFrame = weather.to_dataframe()
    if "member" in found.index.names:
        found = found.reset_index("member").sort_values("member", kind="stable")
    return found if getattr(found.index, "tz", None) is not None else found.tz_localize("UTC")


def _shown(record: Answer, asked: str | None) -> Any:
    """The record in the wrapper that its own command prints it with."""
    if isinstance(record, Demand):
        return replace(record, units=asked or record.units)
    units = units_for(asked)
    if isinstance(record, Plan):
        return Planned(record, View(units=units))
    if isinstance(record, LinesPlan):
        return LinesAnswer(record, View(units=units))
    if isinstance(record, MixWindow):
        return Mixed(record, units)
    if isinstance(record, JobSuitability):
        return Suited(record)
    if isinstance(record, Chain | JobShares):
        return Explained(record, units)
    raise _not_one_of("to_text", "an answer of this library", record)


def _not_one_of(name: str, wanted: str, record: object) -> StillwetError:
    return StillwetError(Problem(name, wanted, type(record).__name__))
