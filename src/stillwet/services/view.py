"""How a person wants to see an answer, and whose units count: what was asked, else the job's."""

from __future__ import annotations

from dataclasses import dataclass, replace

from stillwet.domain.job import Job
from stillwet.units import SYSTEMS

UNITS = SYSTEMS  # as pages and forms call them


@dataclass(frozen=True, slots=True)
class View:
    """Units "us" or "metric" (nothing: the job's own), paper "letter" or "a4".

    ``address`` of a server that phones can reach puts its codes on the crew sheets.
    """

    units: str = ""
    paper: str = "letter"
    address: str = ""

    def of(self, job: Job) -> View:
        """The view of one job, its units settled."""
        return replace(self, units=units_for(self.units, job))


def units_for(asked: str | None, job: Job | None = None) -> str:
    """The units to show: those asked for, else the job's own, else the first there are."""
    return asked or (SYSTEMS[0] if job is None else job.units)
