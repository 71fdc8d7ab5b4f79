"""What a plan made again hands on to the one after it: visits to assets already begun."""

from __future__ import annotations

from collections.abc import Iterator

from stillwet.domain.crew_plan import BegunFace, BegunVisit
from stillwet.domain.crew_status import OldVisit
from stillwet.services.crew_again import Again
from stillwet.services.crew_parts import Cut
from stillwet.services.crew_rounds import Day


def begun_visits(again: Again, day: Day) -> tuple[BegunVisit, ...]:
    """The visits made, then those of the same assets that no order has, in the order told.

    A fresh coat that the day begins anew is no longer one that was begun.
    """
    made = [_made(*one) for name, one in again.made.items() if name not in day.parts]
    ordered = {stop.visit_id for route in day.routed.routes.routes for stop in route.stops}
    begun = sorted({visit.asset_id for visit in made})
    left = [
        _left(asset_id, cut)
        for asset_id in begun
        for cut in _cuts_of(asset_id, again, day)
        if cut.visit_id not in ordered
    ]
    return (*made, *left)


def _cuts_of(asset_id: str, again: Again, day: Day) -> Iterator[Cut]:
    """The visits still to be made: as the day has them, or as before where it is over for them."""
    yield from day.work.cuts.get(asset_id) or again.before.cuts.get(asset_id, ())
    yield from day.work.fresh.cuts.get(asset_id, ())


def _made(visit: OldVisit, time_s: float) -> BegunVisit:
    late = time_s - visit.finish_s
    return BegunVisit(
        visit_id=visit.visit_id,
        asset_id=visit.asset_id,
        part=visit.part,
        parts=visit.parts,
        coat=visit.coat,
        coats=visit.coats,
        is_recoat=visit.is_recoat,
        finish_s=time_s,
        faces=tuple(BegunFace(f.surface_id, f.share, f.starts_s + late) for f in visit.faces),
    )


def _left(asset_id: str, cut: Cut) -> BegunVisit:
    return BegunVisit(
        visit_id=cut.visit_id,
        asset_id=asset_id,
        part=cut.number,
        parts=cut.of,
        coat=cut.coat,
        coats=cut.coats,
        is_recoat=cut.is_recoat,
        finish_s=None,
        faces=tuple(BegunFace(name, share, None) for name, share in cut.shares),
    )
