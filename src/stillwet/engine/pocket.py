"""The pocket table, reckoned like the plan's own coats: typical faces, every member, every hour."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.assets import Geometry, Surface
from stillwet.domain.plan import Plan
from stillwet.domain.pocket import Pocket, PocketCell, PocketFace, PocketFire
from stillwet.domain.weather import HOUR_S
from stillwet.engine import coating, mixing
from stillwet.engine.drying import TYPICAL_FACES, Drying, typical_drying
from stillwet.engine.prepared import Prepared
from stillwet.engine.verdicts import CONFIDENT, EVEN

Array = NDArray[np.float64]

MOST_HOURS = 12  # rows of the table; a longer day is told every second or third hour
MOST_FIRES = 2
_EMBERS = "embers alone"


@dataclass(frozen=True, eq=False)
class _Fire:
    """The members' demand (M,) of the hardest face that is sprayed against one kind of fire."""

    name: str
    assets: int
    hardest: str
    demand: Array


def make_pocket(prepared: Prepared, plan: Plan, *, coats: Sequence[float]) -> Pocket:
    """The pocket table of a plan, for these mean coats [kg/m2].

    A coat that no facing is counted on to keep at the plan's ratio is left out.
    """
    faces = _faces(prepared)
    ratio = plan.mix_ratio or float(mixing.best_ratio(prepared.mix, 1)[0])
    cling = mixing.cling_median(prepared.mix, faces, np.full(len(faces), ratio))
    counted = coating.round_coat_down(cling * prepared.mix.keep)
    kept = tuple(coat for coat in coats if coat <= counted.max())
    drying = typical_drying(prepared.job, faces, prepared.members)
    spread = coating.make_spread(prepared.members, cling)
    hours = lay_hours(prepared.job.start_s, max(asset.arrival_to_s for asset in plan.assets))
    reserve = prepared.job.practice.ember_reserve_kg_m2
    fires = _fires(prepared, plan)
    return Pocket(
        ratio=ratio,
        reserve_kg_m2=reserve,
        lay_s=hours,
        coats_kg_m2=kept,
        end_s=float(drying.time_s[-1]),
        fires=tuple(
            PocketFire(
                name=fire.name,
                assets=fire.assets,
                hardest=fire.hardest,
                demand_50_kg_m2=float(np.quantile(fire.demand, EVEN)),
                demand_90_kg_m2=float(np.quantile(fire.demand, CONFIDENT)),
                faces=_pocket_faces(
                    faces,
                    counted,
                    hold_times(drying, spread, fire.demand + reserve, kept, hours),
                    kept,
                ),
            )
            for fire in fires[:MOST_FIRES]
        ),
        fires_left_out=tuple(fire.name for fire in fires[MOST_FIRES:]),
    )


def lay_hours(start_s: float, last_s: float) -> tuple[float, ...]:
    """Whole hours from the start of work to the last fire, no more than ``MOST_HOURS``."""
    first, last = math.ceil(start_s / HOUR_S), math.floor(last_s / HOUR_S)
    step = max(1, math.ceil((last - first + 1) / MOST_HOURS))
    return tuple(hour * HOUR_S for hour in range(first, max(first, last) + 1, step))


def hold_times(
    drying: Drying,
    spread: coating.Spread,
    target: Array,
    coats: Sequence[float],
    hours: Sequence[float],
) -> Array:
    """Hold-until times of shape (confidences, faces, hours, coats), surest first; NaN for never.

    ``target``: (M,) water [kg/m2] that the thinnest tenth must still have. The times are those that
    90 % and 50 % of the members reach, as for a plan's own faces.
    """
    count = drying.total_kg_m2.shape[0]
    ask = coating.Ask(
        water_demand=np.broadcast_to(target, (count, target.size)),
        arrival_s=np.full(count, hours[0]),
        end_s=np.full(count, hours[0]),
        reserve=0.0,
    )
    found = np.empty((2, count, len(hours), len(coats)))
    for at, hour in enumerate(hours):
        lay = np.full(count, hour)
        for which, coat in enumerate(coats):
            hold = coating.hold_until(drying, spread, ask, coat=np.full(count, coat), lay_s=lay)
            for row, confidence in enumerate((CONFIDENT, EVEN)):
                when = coating.reached(hold, confidence)
                found[row, :, at, which] = np.where(when > hour, when, np.nan)
    return found


def _faces(prepared: Prepared) -> tuple[Surface, ...]:
    """Four walls and a level roof, and a pole where the job has anything round."""
    shapes = {face.geometry for face in prepared.surfaces} | {Geometry.WALL, Geometry.ROOF}
    return tuple(face for face in TYPICAL_FACES if face.geometry in shapes)


def _fires(prepared: Prepared, plan: Plan) -> list[_Fire]:
    """The kinds of fire that sprayed assets meet, commonest first; embers alone where none is."""
    found: dict[str, _Fire] = {}
    for asset in plan.assets:
        if asset.mix_m3 <= 0.0:
            continue
        demand = prepared.asks[asset.asset_id].water_demand_kg_m2
        own = demand[int(np.argmax(np.median(demand, axis=1)))]
        before = found.get(asset.exposure, _Fire(asset.exposure, 0, "", np.full_like(own, -1.0)))
        harder = float(np.median(own)) > float(np.median(before.demand))
        found[asset.exposure] = _Fire(
            asset.exposure,
            before.assets + 1,
            asset.name if harder else before.hardest,
            own if harder else before.demand,
        )
    if not found:
        return [_Fire(_EMBERS, 0, "", np.zeros(prepared.members.count))]
    return sorted(found.values(), key=lambda fire: -fire.assets)


def _pocket_faces(
    faces: tuple[Surface, ...], counted: Array, times: Array, coats: Sequence[float]
) -> tuple[PocketFace, ...]:
    return tuple(
        PocketFace(
            label=face.label,
            cling_kg_m2=float(counted[row]),
            rows=tuple(
                tuple(
                    PocketCell(_time(times[0, row, at, which]), _time(times[1, row, at, which]))
                    if coat <= counted[row]
                    else None
                    for which, coat in enumerate(coats)
                )
                for at in range(times.shape[2])
            ),
        )
        for row, face in enumerate(faces)
    )


def _time(time_s: float) -> float | None:
    return None if math.isnan(time_s) else float(time_s)
