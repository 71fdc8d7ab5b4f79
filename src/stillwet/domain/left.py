"""What is left on each face now, as the log and the checks revise it. SI; epoch seconds."""

from __future__ import annotations

from dataclasses import dataclass

from stillwet.domain.basis import Input
from stillwet.domain.plan import Verdict


@dataclass(frozen=True, slots=True)
class FaceLeft:
    """One coated face. ``hold_...`` as revised, ``unchecked_...`` as reckoned without the checks.

    Water is that of the mean coat, the middle case and the 5 and 95 % points; hold times are those
    of the thinnest tenth, by which the front's demand and the reserve are still there.
    """

    surface_id: str
    asset_id: str
    asset_name: str
    label: str
    laid_s: float
    laid_by: str
    coat_kg_m2: float  # laid, middle case as revised
    left_kg_m2: float
    left_low_kg_m2: float
    left_high_kg_m2: float
    share_left: float
    hold_90_s: float
    hold_50_s: float
    hold_low_s: float  # 5 % point
    hold_high_s: float  # 95 % point
    unchecked_90_s: float
    unchecked_50_s: float
    fire_from_s: float
    fire_to_s: float
    chance: float  # that it still meets the whole demand when the fire comes
    verdict: Verdict
    checks: int  # of this coat
    flags: tuple[str, ...] = ()

    def minutes_to_go(self, now_s: float) -> float:
        """Minutes until fewer than nine cases in ten hold; below 0 when that is past."""
        return (self.hold_90_s - now_s) / 60.0


@dataclass(frozen=True, slots=True)
class Learned:
    """One thing the checks say of the whole site: 5, 50 and 95 % points before and after."""

    name: str
    unit: str
    before: tuple[float, float, float]
    after: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Left:
    """The whole answer. ``faces`` worst first; the other lists are faces that are not in it."""

    job_name: str
    time_zone: str
    now_s: float
    faces: tuple[FaceLeft, ...]
    not_laid: tuple[str, ...]  # assets or faces that the plan coats and nobody has logged
    washed: tuple[str, ...]  # faces whose gel has been washed off
    passed: tuple[str, ...]  # faces that the front has passed
    learned: tuple[Learned, ...]
    checks: int
    weather_seen: int
    notes: tuple[str, ...]  # entries that could not be used, and why
    cautions: tuple[str, ...]
    inputs: tuple[Input, ...]
    over: frozenset[str] = frozenset()  # ids of the faces that are washed or that the front passed
