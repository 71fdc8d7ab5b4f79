"""What is to be cleaned when the danger has passed: coated faces, equipment, water nearby."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class CleanFace:
    """One coated face. ``is_slippery``: somebody may have to stand on it."""

    surface_id: str
    label: str
    area_m2: float
    coat_kg_m2: float
    is_slippery: bool


@dataclass(frozen=True, slots=True)
class CleanAsset:
    """One coated asset: its faces, and what its rinse water must be kept out of.

    ``collects_rain`` None: the list does not say. Distances None: none is drawn in the job.
    """

    asset_id: str
    name: str
    faces: tuple[CleanFace, ...]
    mix_m3: float
    collects_rain: bool | None
    has_windows: bool | None
    is_heritage: bool | None
    to_stream_m: float | None
    to_well_m: float | None


@dataclass(frozen=True, slots=True)
class CleanCrew:
    """One crew's equipment that held gel. Words for hoses and eductor are empty where not told."""

    crew_id: str
    name: str
    tank_m3: float
    hoses_m: tuple[tuple[float, float], ...]  # (bore, length); empty: not told
    has_eductor: bool
    may_hold_foam: bool | None  # None: the job does not say


@dataclass(frozen=True, slots=True)
class CleanUp:
    """The whole clean-up of a job."""

    assets: tuple[CleanAsset, ...]
    crews: tuple[CleanCrew, ...]
    wells: tuple[tuple[str, str], ...]  # (kind, name)
    water_points: tuple[str, ...]
    has_streams: bool
