"""What a plan stands on whenever the coats are laid: members, faces, drying and the fire's ask.

Reckoned once, so that a plan can be made again and again for other lay times.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Surface
from stillwet.domain.job import Job
from stillwet.engine import coating, mixing
from stillwet.engine.drying import Drying, job_drying
from stillwet.engine.exposure import FireAsk, ask_of_asset
from stillwet.engine.faces import faces_of
from stillwet.engine.fire_behaviour import settle_fires
from stillwet.engine.members import Members, draw_members

Array = NDArray[np.float64]
Progress = Callable[[str, float], None]


@dataclass(frozen=True, eq=False)
class Prepared:
    """The job with its fires settled, and all that does not hang on lay times. S faces."""

    job: Job
    members: Members
    faces: dict[str, tuple[Surface, ...]]  # by asset
    surfaces: tuple[Surface, ...]  # all, in the order of the assets
    drying: Drying
    asks: dict[str, FireAsk]  # by asset
    mix: mixing.Mix
    cling: Array  # (S,) thickest mean coat counted on

    @property
    def demand(self) -> coating.Ask:
        """What every face must still hold, and when."""
        job = self.job
        by_id = {asset.id: asset for asset in job.assets}
        arrival = np.array([by_id[face.asset_id].fire.arrival_to_s for face in self.surfaces])
        return coating.Ask(
            water_demand=np.concatenate(
                [self.asks[asset.id].water_demand_kg_m2 for asset in job.assets]
            ),
            arrival_s=arrival,
            end_s=arrival + job.practice.ember_period_s,
            reserve=job.practice.ember_reserve_kg_m2,
        )

    @property
    def until_s(self) -> Array:
        """(S,) when crews have to be gone: the earliest arrival less the egress lead."""
        by_id = {asset.id: asset for asset in self.job.assets}
        earliest = np.array([by_id[face.asset_id].fire.arrival_from_s for face in self.surfaces])
        return earliest - self.job.practice.egress_lead_s

    @property
    def from_s(self) -> Array:
        """(S,) before which no face is coated: the longest wait before the earliest arrival."""
        job = self.job
        soonest = self.until_s + job.practice.egress_lead_s - job.practice.longest_wait_s
        return np.maximum(job.start_s, np.minimum(soonest, self.until_s))


def prepare(job: Job, *, progress: Progress | None = None) -> Prepared:
    """Everything before the coats; ``progress`` is called with a step's name and the share done.

    Raises StillwetError where the job cannot be reckoned at all.
    """
    tell = progress or (lambda _step, _share: None)
    tell("drawing members", 0.0)
    job = settle_fires(job)
    members = draw_members(job)
    faces = {asset.id: faces_of(asset) for asset in job.assets}
    surfaces = tuple(face for asset in job.assets for face in faces[asset.id])
    tell("what the sky will take", 0.05)
    drying = job_drying(job, surfaces, members)
    tell("what the fire will ask", 0.4)
    asks = {asset.id: ask_of_asset(job, asset, faces[asset.id], members) for asset in job.assets}
    mix = mixing.make_mix(job, members)
    strongest = mixing.best_ratio(mix, len(surfaces))
    cling = coating.round_coat_down(mixing.cling_median(mix, surfaces, strongest) * mix.keep)
    return Prepared(job, members, faces, surfaces, drying, asks, mix, cling)
