"""How fast and how strongly surface fires run."""

from __future__ import annotations

from typing import Any

import numpy as np

from kept.keeping import Groups
from kept.physics.drawing import COUNT, at, log, many, seeded, to
from kept.physics.fuels import SEVERAL
from stillwet.physics import spread, spread_direction
from stillwet.physics.fuel_models import FuelModel, fuel_model, fuel_models

_SIGMA, _PACKING = to(200.0, 3500.0), log(1e-3, 0.1)
_DRY = {"one_hour": 0.06, "ten_hour": 0.07, "hundred_hour": 0.08, "herb": 0.6, "woody": 0.9}


def _moisture(**changes: Any) -> spread.FuelMoisture:
    return spread.FuelMoisture(**{**_DRY, **changes})


def _fire(fuel: FuelModel, **changes: Any) -> spread.SurfaceSpread:
    given: dict[str, Any] = {
        "moisture": _moisture(),
        "midflame_wind_m_s": 2.2,
        "slope_deg": 12.0,
        "wind_from_upslope_deg": 40.0,
        **changes,
    }
    return spread.surface_spread(fuel=fuel, **given)


def _many_fires(code: str) -> spread.SurfaceSpread:
    """An array in every argument."""
    random = seeded(f"fires in {code}")
    return _fire(
        fuel_model(code),
        moisture=spread.FuelMoisture(
            one_hour=0.02 + 0.3 * random.random(COUNT),
            ten_hour=0.03 + 0.3 * random.random(COUNT),
            hundred_hour=0.04 + 0.3 * random.random(COUNT),
            herb=0.3 + random.random(COUNT),
            woody=0.5 + random.random(COUNT),
        ),
        midflame_wind_m_s=12.0 * random.random(COUNT),
        slope_deg=30.0 * random.random(COUNT),
        wind_from_upslope_deg=360.0 * random.random(COUNT),
    )


def _edges() -> list[object]:
    wet = {"one_hour": 0.9, "ten_hour": 0.9, "hundred_hour": 0.9, "herb": 3.0, "woody": 3.0}
    fuel = fuel_model("1")
    calls = [
        *(
            {"midflame_wind_m_s": 14.0, "wind_limit": limit}
            for limit in (*spread.WindLimit, *spread.WindLimit)
        ),
        {"midflame_wind_m_s": 0.0, "slope_deg": 0.0},
        {"moisture": _moisture(**wet)},
        {"slope_deg": 36.8},
        {"slope_deg": 36.9},
        *({"midflame_wind_m_s": wind} for wind in (-0.1, 40.1)),
        *({"slope_deg": slope} for slope in (-0.1, 45.1)),
        *({"wind_from_upslope_deg": angle} for angle in (-361.0, 361.0)),
    ]
    return [at(_fire, {"fuel": fuel, **call})() for call in calls]


_SPREAD = {
    "FuelMoisture refused": at(
        _moisture,
        *(
            {name: value}
            for name, values in {
                **dict.fromkeys(("one_hour", "ten_hour", "hundred_hour"), (-0.01, 2.01)),
                **dict.fromkeys(("herb", "woody"), (0.09, 3.51)),
            }.items()
            for value in values
        ),
    ),
    "moisture_damping_rothermel": many(
        spread.moisture_damping_rothermel,
        moisture_ratio=to(0.0, 1.3),
        edges=[{"moisture_ratio": ratio} for ratio in (0.999, 1.0)],
    ),
    "mineral_damping_rothermel": at(
        spread.mineral_damping_rothermel,
        *({"effective_mineral": ash} for ash in (1e-6, 0.01, 0.03)),
    ),
    "reaction_velocity_albini": many(
        spread.reaction_velocity_albini,
        characteristic_1_ft=_SIGMA,
        relative_packing_ratio=log(0.1, 8.0),
    ),
    "propagating_flux_ratio_rothermel": many(
        spread.propagating_flux_ratio_rothermel, characteristic_1_ft=_SIGMA, packing_ratio=_PACKING
    ),
    "wind_factor_rothermel": many(
        spread.wind_factor_rothermel,
        wind_ft_min=to(0.0, 3000.0),
        characteristic_1_ft=_SIGMA,
        relative_packing_ratio=log(0.1, 8.0),
    ),
    "slope_factor_rothermel": many(
        spread.slope_factor_rothermel, slope_tangent=to(0.0, 1.0), packing_ratio=_PACKING
    ),
    "combined_factor_andrews": many(
        spread.combined_factor_andrews,
        wind_factor=to(0.0, 40.0),
        slope_factor=to(0.0, 10.0),
        wind_from_upslope_deg=to(-180.0, 180.0),
    ),
    "surface_spread": lambda: [_fire(fuel) for fuel in fuel_models()],
    "surface_spread of many": lambda: {code: _many_fires(code) for code in SEVERAL},
    "surface_spread at the edges": _edges,
    "WindLimit": lambda: [limit.value for limit in spread.WindLimit],
}


def _directions(code: str) -> object:
    """Flanks, head and back of one fire, and of many at once."""
    head = _fire(fuel_model(code))
    return [
        spread_direction.spread_towards(
            head=head,
            upslope_deg=200.0,
            downwind_deg=240.0,
            towards_deg=np.arange(0.0, 360.0, 45.0),
        ),
        spread_direction.spread_towards(
            head=_many_fires(code), upslope_deg=10.0, downwind_deg=70.0, towards_deg=350.0
        ),
    ]


_DIRECTION = {
    "length_to_width_andrews": many(
        spread_direction.length_to_width_andrews, effective_wind_m_s=to(0.0, 12.0)
    ),
    "effective_wind_rothermel": lambda: [
        spread_direction.effective_wind_rothermel(
            fire=_fire(fuel_model(code)), factor=np.linspace(0.0, 30.0, COUNT)
        )
        for code in SEVERAL
    ],
    "spread_towards": lambda: {code: _directions(code) for code in SEVERAL},
}

GROUPS: Groups = {"spread": _SPREAD, "spread_direction": _DIRECTION}
