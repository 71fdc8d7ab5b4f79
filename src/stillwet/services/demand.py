"""Use case: the drying demand of a job's weather on each facing, as table, JSON and figure."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from stillwet.domain.facing import FacingDemand
from stillwet.domain.job import Job
from stillwet.services.outputs import need_figure_place, write_one
from stillwet.services.planning import Progress, read_whole_job
from stillwet.services.view import units_for


@dataclass(frozen=True, slots=True)
class Demand:
    """The drying demand of one job, ready to be shown."""

    facings: FacingDemand
    time_zone: str
    fire_window_s: tuple[float, float]
    units: str

    def text(self) -> str:
        """A table, one row an hour, one column a facing."""
        from stillwet.reports.demand_table import demand_text

        shown = demand_text(self.facings, time_zone=self.time_zone, units=self.units)
        return shown.rstrip("\n")

    def json_text(self) -> str:
        """The same as JSON in SI."""
        from stillwet.reports.demand_table import demand_json_text

        return demand_json_text(self.facings, time_zone=self.time_zone).rstrip("\n")

    def figure(self, suffix: str) -> bytes:
        """The figure as SVG or PNG."""
        from stillwet.reports.figures import drying_figure_svg, svg_to_png

        svg = drying_figure_svg(
            self.facings,
            time_zone=self.time_zone,
            units=self.units,
            fire_window_s=self.fire_window_s,
        )
        return svg_to_png(svg) if suffix == ".png" else svg.encode()


def demand_of_job(
    path: Path, figure: Path | None, *, units: str | None = None, progress: Progress | None = None
) -> Demand:
    """Reckon the drying demand of the job at ``path``; with ``figure``, draw it to that file."""
    if figure is not None:
        need_figure_place(figure)
    if progress is not None:
        progress("reading the job", 0.0)
    job = read_whole_job(path)
    if progress is not None:
        progress("reckoning the drying demand", 0.3)
    demand = demand_of(job, units)
    if figure is not None:
        write_one(figure, demand.figure(figure.suffix.lower()))
    return demand


def demand_of(job: Job, units: str | None = None) -> Demand:
    """The drying demand of a job that has been read."""
    from stillwet.engine.drying import drying_by_facing

    return Demand(drying_by_facing(job), job.time_zone, _fire_window_s(job), units_for(units, job))


def _fire_window_s(job: Job) -> tuple[float, float]:
    """From the first arrival of any front to the end of the embers of the last."""
    return min(asset.fire.arrival_from_s for asset in job.assets), job.fire_over_s
