"""From the field log to what a filter works on: coats laid, looks at them, weather met."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from stillwet.domain.job import Job
from stillwet.domain.log import (
    CoatChecked,
    CoatLaid,
    Entry,
    Feel,
    FirePassed,
    WashedOff,
    WeatherSeen,
)
from stillwet.domain.plan import Plan, SurfacePlan, Verdict
from stillwet.engine.mixing import water_share
from stillwet.engine.prepared import Prepared


@dataclass(frozen=True, slots=True)
class LaidCoat:
    """One coat on one face; ``face`` is the row of the prepared surfaces.

    ``coat_kg_m2`` is the mean coat that the log says, at the job's own transfer efficiency where
    it was reckoned from an amount; ``is_gauged`` when it was read off the face.
    """

    face: int
    laid_s: float
    coat_kg_m2: float
    ratio: float
    is_gauged: bool
    by: str


@dataclass(frozen=True, slots=True)
class Look:
    """One look at one coat. ``coupon`` numbers the coupons, -1 where nothing was weighed."""

    coat: int
    when_s: float
    feel: Feel | None
    weighed_kg_m2: float | None
    coupon: int


@dataclass(frozen=True, slots=True)
class Sighting:
    """Weather that somebody met."""

    when_s: float
    seen: WeatherSeen


@dataclass(frozen=True, slots=True)
class LoggedCoats:
    """All that the log says of coats. ``latest`` is the coat now on each face that has one."""

    coats: tuple[LaidCoat, ...]
    latest: dict[int, int]  # face -> coat
    looks: tuple[Look, ...]
    coupons: int
    sightings: tuple[Sighting, ...]
    washed: frozenset[int]  # faces
    passed: frozenset[int]  # faces whose coat the front has met
    unmeasured: dict[int, float]  # face -> when gel came on it that nobody can say how much of
    forbidden: dict[int, str]  # coated face -> why the plan says to lay no coat there
    notes: tuple[str, ...]


def logged_coats(prepared: Prepared, plan: Plan, entries: Iterable[Entry]) -> LoggedCoats:
    """Read the standing entries, in order of what happened. A later coat counts alone.

    A coat laid over an old one is reckoned as the fresh coat only: wetting a dried coat again is
    not counted as restoring it.
    """
    return _Reading(prepared, plan).of(entries)


class _Reading:
    """One reading of a log for one job."""

    def __init__(self, prepared: Prepared, plan: Plan) -> None:
        self._job: Job = prepared.job
        self._surfaces = prepared.surfaces
        self._rows = {face.id: row for row, face in enumerate(prepared.surfaces)}
        self._of_asset: dict[str, list[int]] = {}
        for row, face in enumerate(prepared.surfaces):
            self._of_asset.setdefault(face.asset_id, []).append(row)
        self._planned: Mapping[str, SurfacePlan] = {
            face.surface.id: face for asset in plan.assets for face in asset.surfaces
        }
        self._banned = {
            asset.asset_id: f"{asset.name} was coated, but it is not to be: {asset.reason}"
            for asset in plan.assets
            if asset.verdict is Verdict.DO_NOT_COAT
        }
        self._unmeasured: dict[int, float] = {}
        self._forbidden: dict[int, str] = {}
        self._coats: list[LaidCoat] = []
        self._latest: dict[int, int] = {}
        self._looks: list[Look] = []
        self._coupons: dict[tuple[int, str], int] = {}
        self._sightings: list[Sighting] = []
        self._washed: set[int] = set()
        self._passed: set[int] = set()
        self._notes: list[str] = []

    def of(self, entries: Iterable[Entry]) -> LoggedCoats:
        for entry in entries:
            body = entry.body
            if isinstance(body, CoatLaid):
                self._lay(entry, body)
            elif isinstance(body, CoatChecked):
                self._check(entry, body)
            elif isinstance(body, WeatherSeen):
                self._sightings.append(Sighting(entry.when_s, body))
            elif isinstance(body, WashedOff):
                self._washed |= set(self._known(body.surface_ids))
            elif isinstance(body, FirePassed):
                faces = self._of_asset.get(body.asset_id, [])
                self._passed |= {face for face in faces if face in self._latest}
        return LoggedCoats(
            coats=tuple(self._coats),
            latest=self._latest,
            looks=tuple(self._looks),
            coupons=len(self._coupons),
            sightings=tuple(self._sightings),
            washed=frozenset(self._washed),
            passed=frozenset(self._passed),
            unmeasured=self._unmeasured,
            forbidden=self._forbidden,
            notes=tuple(dict.fromkeys(self._notes)),
        )

    def _known(self, ids: Iterable[str]) -> list[int]:
        lacking = [name for name in ids if name not in self._rows]
        self._notes += [f"the job has no face {name}" for name in lacking]
        return [self._rows[name] for name in ids if name in self._rows]

    def _lay(self, entry: Entry, body: CoatLaid) -> None:
        if body.seen is not None:
            self._sightings.append(Sighting(entry.when_s, body.seen))
        faces = self._known(body.surface_ids)
        area_m2 = sum(self._surfaces[face].area_m2 for face in faces)
        for face in faces:
            name = self._surfaces[face].id
            planned = self._planned[name]
            self._tell_if_banned(face)
            ratio = planned.mix_ratio if body.ratio is None else body.ratio
            coat = self._coat(body, planned, ratio, area_m2)
            if coat <= 0.0:
                self._notes.append(f"{name}: laid as planned, but no coat is planned; say how much")
                self._unmeasured[face] = entry.when_s
                self._washed.discard(face)
                continue
            self._unmeasured.pop(face, None)
            self._latest[face] = len(self._coats)
            self._washed.discard(face)
            self._passed.discard(face)
            self._coats.append(
                LaidCoat(
                    face=face,
                    laid_s=entry.when_s,
                    coat_kg_m2=coat,
                    ratio=ratio,
                    is_gauged=body.coat_kg_m2 is not None,
                    by=body.crew_id or entry.writer,
                )
            )

    def _tell_if_banned(self, face: int) -> None:
        """Gel where none may be is told before anything else that the log says."""
        told = self._banned.get(self._surfaces[face].asset_id)
        if told is not None:
            self._forbidden[face] = told
            self._notes = [told, *self._notes]

    def _coat(self, body: CoatLaid, planned: SurfacePlan, ratio: float, area_m2: float) -> float:
        if body.coat_kg_m2 is not None:
            return body.coat_kg_m2
        if body.mix_m3 is None:
            return planned.coat_kg_m2
        water_m3 = body.mix_m3 * water_share(self._job.product, ratio)
        return 1000.0 * water_m3 * self._job.practice.transfer_efficiency / area_m2

    def _check(self, entry: Entry, body: CoatChecked) -> None:
        for face in self._known([body.surface_id]):
            coat = self._latest.get(face)
            if coat is None:
                self._notes.append(f"{body.surface_id}: checked, but no coat is logged before that")
            elif body.feel is not None or body.weighed_kg_m2 is not None:
                self._looks.append(self._look(entry, body, coat))

    def _look(self, entry: Entry, body: CoatChecked, coat: int) -> Look:
        coupon = -1
        if body.weighed_kg_m2 is not None:
            # A coupon without a name is its own; a fresh coat is a fresh coupon.
            key = (coat, body.coupon or entry.id)
            coupon = self._coupons.setdefault(key, len(self._coupons))
        return Look(coat, entry.when_s, body.feel, body.weighed_kg_m2, coupon)
