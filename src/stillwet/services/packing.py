"""Use case: the packet. One PDF with all that a job's people need on paper."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from stillwet.domain.crew_plan import CrewPlan, StepKind
from stillwet.domain.facing import FacingDemand
from stillwet.domain.job import Job
from stillwet.domain.line_plan import LinesPlan
from stillwet.domain.packet import Packet, SkyHour
from stillwet.domain.plan import Plan
from stillwet.errors import StillwetError
from stillwet.services.crewing import Knobs, plan_crews
from stillwet.services.keeping import keep_plan_in
from stillwet.services.outputs import need_file_place, write_one
from stillwet.services.planning import Progress, read_whole_job, silent, with_knobs
from stillwet.services.view import View

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from stillwet.engine.prepared import Prepared
    from stillwet.routing.solver import Solver

NO_LINES = "The job names no lines, so there is no line sheet."
NO_CREWS = "Crew sheets were left out when this packet was made (--no-crews)."
NOTHING_TO_SPRAY = "No asset has a coat planned: there is nothing for crews to spray."
NOTHING_TO_MIX = "No asset has a coat planned: there is nothing to mix."
# Gauge steps that a crew can tell on a wall, from thin to thick.
_COATS_KG_M2 = {
    "us": tuple(sixteenths * 25.4 / 16.0 for sixteenths in (2, 3, 4, 6, 8)),
    "metric": (3.0, 4.0, 5.0, 8.0, 12.0),
}
_READ, _PLANNED, _CREWED, _LINED = 0.05, 0.2, 0.8, 0.9


@dataclass(frozen=True, slots=True)
class Packed:
    """A packet, the file it was written to, and what to say of its plans being kept."""

    packet: Packet
    path: Path
    kept: tuple[str, ...]

    def text(self) -> str:
        """What was written, and what is not in it."""
        plan = self.packet.plan
        first = f"{self.path}: packet of plan {plan.id}, {len(plan.assets)} assets"
        return "\n".join([first, *self.packet.missing.values()])


def packet_of_job(
    path: Path,
    out: Path,
    *,
    now_s: float,
    with_crews: bool = True,
    knobs: Knobs | None = None,
    view: View | None = None,
    seed: int | None = None,
    members: int | None = None,
    progress: Progress | None = None,
    should_stop: Callable[[], bool] = lambda: False,
) -> Packed:
    """Make the packet of the job at ``path`` and write it to ``out``, whole or not at all.

    Plans made on the way are kept in a job file. Asked to stop, the crews get the best plan found
    so far. Raises StillwetError with every problem found, before anything is written.
    """
    from stillwet.reports.packet_pdf import packet_pdf_bytes

    tell = progress or silent
    need_file_place(out, (".pdf",))
    tell("reading the job", 0.0)
    job = with_knobs(read_whole_job(path), seed=seed, members=members)
    view = (view or View()).of(job)
    packet = make_packet(
        job,
        now_s=now_s,
        units=view.units,
        knobs=(knobs or Knobs()) if with_crews else None,
        progress=tell,
        should_stop=should_stop,
    )
    tell("setting the pages", _LINED)
    pdf = packet_pdf_bytes(packet, units=view.units, paper=view.paper, address=view.address)
    write_one(out, pdf)
    plans = (packet.base, packet.crews, packet.lines)
    kept = tuple(keep_plan_in(path, plan, job) for plan in plans if plan is not None)
    tell("done", 1.0)
    return Packed(packet, out, tuple(words for words in kept if words))


def make_packet(
    job: Job,
    *,
    now_s: float,
    units: str,
    knobs: Knobs | None,
    progress: Progress = silent,
    should_stop: Callable[[], bool] = lambda: False,
) -> Packet:
    """Every part of the packet of a job that has been read; no crews without ``knobs``."""
    from stillwet.engine.make_plan import plan_of
    from stillwet.engine.prepared import prepare

    progress("the plan", _READ)
    prepared = prepare(job)
    base = plan_of(prepared, now_s=now_s)
    progress("the crews' day", _PLANNED)
    crews, no_crews = _crews(
        job,
        base,
        knobs,
        lambda run: plan_crews(
            job, solver=_solver(), now_s=now_s, knobs=run, should_stop=should_stop
        ),
    )
    progress("the lines", _CREWED)
    lines, no_lines = _lines(job, now_s)
    missing = {"crews": no_crews, "lines": no_lines}
    return assemble(prepared, base, crews=crews, lines=lines, missing=missing, units=units)


def assemble(
    prepared: Prepared,
    base: Plan,
    *,
    crews: CrewPlan | None,
    lines: LinesPlan | None,
    missing: dict[str, str],
    units: str,
) -> Packet:
    """The packet of plans that are made: what is left is quick."""
    from stillwet.engine.cleaning import make_clean_up
    from stillwet.engine.drying import drying_by_facing
    from stillwet.engine.make_plan import plan_of
    from stillwet.engine.mix_window import make_mix_window
    from stillwet.engine.mixing import packs_for
    from stillwet.engine.pocket import make_pocket

    job, plan = prepared.job, base
    if crews is not None:
        lay_times = first_lay_times(crews, job.start_s)
        plan = plan_of(prepared, now_s=base.made_s, lay_times=lay_times)
    has_coats = any(asset.mix_m3 > 0.0 for asset in plan.assets)
    mix = make_mix_window(job, plan) if has_coats else None
    told = missing | ({} if has_coats else {"mix": NOTHING_TO_MIX})
    of_lines = sum(line.concentrate_m3 for line in lines.lines) if lines is not None else 0.0
    sky, demand = _weather(job, plan, drying_by_facing(job))
    return Packet(
        plan=plan,
        base=base,
        crews=crews,
        mix=mix,
        lines=lines,
        missing={part: words for part, words in told.items() if words},
        sky=sky,
        demand=demand,
        pocket=make_pocket(prepared, plan, coats=_COATS_KG_M2[units]),
        clean_up=make_clean_up(job, plan),
        depots=tuple(depot.name for depot in job.depots),
        pack_m3=job.product.pack_m3,
        density_kg_m3=job.product.density_kg_m3,
        packs=packs_for(job.product, plan.load.concentrate_m3 + of_lines),
        pack_price=job.product.pack_price,
        currency=job.currency,
    )


def first_lay_times(crews: CrewPlan, start_s: float) -> dict[str, float]:
    """When the first coat of each face is begun, to the step that the crews' coats go by."""
    from stillwet.engine.coating import LAY_STEP_S

    times: dict[str, float] = {}
    for run in crews.crews:
        for step in run.steps_of(StepKind.COAT):
            for face in () if step.is_recoat or step.coat > 1 else step.faces:
                begun = max(start_s, face.starts_s - face.starts_s % LAY_STEP_S)
                times[face.surface_id] = min(begun, times.get(face.surface_id, begun))
    return times


def _crews(
    job: Job, plan: Plan, knobs: Knobs | None, run: Callable[[Knobs], CrewPlan]
) -> tuple[CrewPlan | None, str]:
    """The crew plan, or why there is none."""
    if knobs is None:
        return None, NO_CREWS
    if all(asset.mix_m3 <= 0.0 for asset in plan.assets):
        return None, NOTHING_TO_SPRAY
    try:
        return run(knobs), ""
    except StillwetError as error:
        return None, f"The crews' day could not be planned: {_first_words(error)}."


def _lines(job: Job, now_s: float) -> tuple[LinesPlan | None, str]:
    """The lines' answer, or why there is none."""
    from stillwet.engine.lines import make_lines

    if not job.lines:
        return None, NO_LINES
    try:
        return make_lines(job, now_s=now_s), ""
    except StillwetError as error:
        return None, f"The lines could not be reckoned: {_first_words(error)}."


def _first_words(error: StillwetError) -> str:
    rest = len(error.problems) - 1
    told = str(error.problems[0])
    return f"{told}; and {rest} more" if rest else told


def _solver() -> Solver:
    from stillwet.routing.pyvrp_solver import PyvrpSolver

    return PyvrpSolver()


def _weather(
    job: Job, plan: Plan, demand: FacingDemand
) -> tuple[tuple[SkyHour, ...], FacingDemand]:
    """The forecast and its drying demand over the hours of the plan."""
    weather = job.weather
    from_s, to_s = plan.weather.from_s, plan.weather.to_s
    rows = [row for row, time_s in enumerate(weather.time_s.tolist()) if from_s <= time_s <= to_s]
    used = (demand.time_s >= from_s) & (demand.time_s <= to_s)
    cut = replace(demand, time_s=demand.time_s[used], demand_kg_m2_s=demand.demand_kg_m2_s[:, used])
    return tuple(_sky_hour(job, row) for row in rows), cut


def _sky_hour(job: Job, row: int) -> SkyHour:
    weather = job.weather
    return SkyHour(
        time_s=float(weather.time_s[row]),
        air_temperature_k=float(weather.air_temperature_k[row]),
        relative_humidity=float(weather.relative_humidity[row]),
        wind_speed_m_s=float(weather.wind_speed_m_s[row]),
        wind_from_deg=_known(weather.wind_direction_deg, row),
        cloud_cover=_known(weather.cloud_cover, row),
        rain_kg_m2=_known(weather.precipitation_kg_m2, row) or 0.0,
    )


def _known(column: NDArray[np.float64], row: int) -> float | None:
    value = float(column[row])
    return None if math.isnan(value) else value
