"""A wet face in the weather: convection, the balance, the kernels that solve it many at a time."""

from __future__ import annotations

from typing import Any

import numpy as np

from kept.keeping import Groups
from kept.physics.drawing import at, each, every, log, many, seeded, to
from kept.physics.weather import OUTDOOR, PRESSURE, SHARE
from stillwet.physics import convection, drying, kernel, series, transient, wet_air, wet_face

SHAPES = (convection.WALL, convection.ROOF, convection.CYLINDER, convection.BLADE)
_FORCED: dict[str, Any] = {"reynolds": log(10.0, 5e7), "prandtl": to(0.6, 6.0)}
_AT_TURN = [{"reynolds": 5e5}, {"reynolds": 5.0001e5}]
_STILL: dict[str, Any] = {"rayleigh": log(1.0, 1e11), "prandtl": to(0.6, 6.0)}

_CONVECTION = {
    "nusselt_plate_laminar_pohlhausen": many(
        convection.nusselt_plate_laminar_pohlhausen, **_FORCED
    ),
    "nusselt_plate_turbulent_incropera": many(
        convection.nusselt_plate_turbulent_incropera, **_FORCED
    ),
    "nusselt_plate_mixed_incropera": many(
        convection.nusselt_plate_mixed_incropera, **_FORCED, edges=_AT_TURN
    ),
    "nusselt_plate_tripped": many(convection.nusselt_plate_tripped, **_FORCED),
    "nusselt_cylinder_churchill_bernstein": many(
        convection.nusselt_cylinder_churchill_bernstein, **_FORCED
    ),
    "nusselt_vertical_plate_churchill_chu": many(
        convection.nusselt_vertical_plate_churchill_chu, **_STILL
    ),
    "nusselt_horizontal_cylinder_churchill_chu": many(
        convection.nusselt_horizontal_cylinder_churchill_chu, **_STILL
    ),
    "nusselt_hot_plate_facing_up_mcadams": many(
        convection.nusselt_hot_plate_facing_up_mcadams,
        rayleigh=log(1e4, 1e11),
        edges=[{"rayleigh": 1e7}, {"rayleigh": 1.0001e7}],
    ),
    "rayleigh_number": many(
        convection.rayleigh_number,
        difference_k=to(0.1, 60.0),
        length_m=log(0.002, 5.0),
        film_temperature_k=OUTDOOR,
        viscosity_m2_s=to(1.2e-5, 2.5e-5),
    ),
    "nusselt_forced_outdoor": many(
        convection.nusselt_forced_outdoor, geometry=every(*SHAPES), reynolds=log(10.0, 5e7)
    ),
    "nusselt_buoyant_outdoor": many(
        convection.nusselt_buoyant_outdoor, geometry=every(*SHAPES), rayleigh=log(1.0, 1e11)
    ),
    "blend_churchill": many(
        convection.blend_churchill, forced=to(0.0, 60.0), buoyant=to(0.5, 10.0)
    ),
    "outdoor_coefficient": many(
        convection.outdoor_coefficient,
        geometry=every(*SHAPES),
        length_m=0.7,
        wind_m_s=to(0.0, 20.0),
        surface_temperature_k=OUTDOOR,
        air_temperature_k=OUTDOOR,
        vapour_pressure_pa=to(100.0, 3000.0),
        pressure_pa=PRESSURE,
        edges=[{"wind_m_s": 0.0, "turbulence_factor": 1.0}, {"wind_m_s": 0.5}],
    ),
}

_FACE_LOSS: dict[str, Any] = {
    "coefficient_w_m2k": to(3.0, 60.0),
    "vapour_pressure_pa": to(100.0, 3000.0),
    "pressure_pa": PRESSURE,
}

_DRYING = {
    "face_longwave": many(
        drying.face_longwave,
        sky_w_m2=to(200.0, 500.0),
        air_temperature_k=OUTDOOR,
        tilt_deg=every(0.0, 35.0, 90.0, 150.0),
    ),
    "transfer_coefficient_chilton_colburn": many(
        drying.transfer_coefficient_chilton_colburn,
        coefficient_w_m2k=to(3.0, 60.0),
        volumetric_heat_j_m3k=to(900.0, 1400.0),
        lewis=to(0.8, 1.2),
        edges=[{"lewis_exponent": 0.5}],
    ),
    "evaporation_density_form": each(
        drying.evaporation_density_form,
        surface_temperature_k=OUTDOOR,
        air_temperature_k=OUTDOOR,
        **_FACE_LOSS,
    ),
    "evaporation_humidity_ratio_form": each(
        drying.evaporation_humidity_ratio_form, surface_temperature_k=OUTDOOR, **_FACE_LOSS
    ),
    "solve_balance": each(
        drying.solve_balance,
        absorbed_w_m2=to(200.0, 1100.0),
        air_temperature_k=OUTDOOR,
        coefficient_w_m2k=lambda temperature: 5.0 + 0.01 * temperature,
        evaporation_kg_m2_s=lambda temperature, h: 1e-7 * h * (temperature - 280.0),
        emissivity=to(0.5, 1.0),
        back_conductance_w_m2k=to(0.0, 3.0),
        back_temperature_k=OUTDOOR,
    ),
    "wet_surface": each(
        drying.wet_surface,
        geometry=every(*SHAPES),
        length_m=log(0.003, 5.0),
        tilt_deg=to(0.0, 150.0),
        wind_m_s=to(0.0, 20.0),
        air_temperature_k=OUTDOOR,
        relative_humidity=SHARE,
        pressure_pa=PRESSURE,
        irradiance_w_m2=to(0.0, 1000.0),
        sky_longwave_w_m2=to(200.0, 480.0),
        edges=[
            {
                "absorptivity": 0.4,
                "emissivity": 0.9,
                "back_conductance_w_m2k": 3.0,
                "turbulence_factor": 1.0,
            },
            {"relative_humidity": 1.0, "irradiance_w_m2": 0.0, "sky_longwave_w_m2": 200.0},
        ],
    ),
    "WetSurface.demand_kg_m2_s": lambda: [
        drying.WetSurface(290.0, 10.0, leaving).demand_kg_m2_s for leaving in (-1e-5, 0.0, 2e-5)
    ],
}


def _weather(hours: int, members: int) -> dict[str, Any]:
    """Every sort of hour: night and day, calm and gale, freezing and hot, damp and dry."""
    random, shape = seeded("weather"), (hours, members)
    return {
        "air_temperature_k": 253.0 + 75.0 * random.random(shape),
        "relative_humidity": random.random(shape),
        "pressure_pa": 65e3 + 40e3 * random.random(hours),
        "sky_longwave_w_m2": 180.0 + 320.0 * random.random(shape),
        "wind_speed_m_s": 22.0 * random.random(shape) ** 2,
        "irradiance_factor": 0.5 + random.random(shape),
    }


_FACES: dict[str, Any] = {
    "tilt_deg": np.array([90.0, 30.0, 90.0, 60.0, 120.0]),
    "length_m": np.array([2.5, 4.0, 0.3, 0.004, 0.05]),
    "height_m": np.array([1.5, 3.0, 4.0, 0.02, 0.3]),
    "geometry": np.array([*SHAPES, convection.WALL], dtype=np.int8),
    "sheltering": np.array([1.0, 0.8, 0.5, 0.2, 0.0]),
}


def _sunlight(faces: int, hours: int) -> Any:
    return 950.0 * seeded("sunlight").random((faces, hours)) ** 2


def _grid(hours: int = 30, members: int = 3, **changes: Any) -> object:
    given = {
        **_weather(hours, members),
        **_FACES,
        "irradiance_w_m2": _sunlight(5, hours),
        **changes,
    }
    return kernel.drying_demand_grid(**given)


def _refused_grids() -> list[object]:
    nothing = {"air_temperature_k": np.empty((0, 3))}
    odd = {"irradiance_w_m2": np.zeros((5, 29))}
    blank = {"pressure_pa": np.full(30, np.nan)}
    calls = [lambda given=given: _grid(**given) for given in (nothing, odd, blank)]
    return [at(call, {})() for call in calls]


_KERNEL = {
    "face_columns": at(
        kernel.face_columns,
        {**_FACES, "roughness_m": 0.03},
        {**_FACES, "roughness_m": 0.2},
        *(
            {**_FACES, "roughness_m": 0.03, **wrong}
            for wrong in (
                {"geometry": np.array([0, 1, 2, 3, 4])},
                {"geometry": np.array([-1, 1, 2, 3, 0])},
                {"geometry": np.zeros((1, 5))},
                {"length_m": np.array([2.5, 4.0, 0.3, 0.0, 0.05])},
                {"height_m": np.ones(4)},
                {"sheltering": np.full(5, np.inf)},
            )
        ),
    ),
    "drying_demand_grid": lambda: [
        _grid(),
        _grid(hours=3, members=1),
        _grid(hours=64, members=1),
        _grid(hours=50, members=4, threads=3),
        _grid(
            hours=5,
            absorptivity=0.45,
            emissivity=0.9,
            back_conductance_w_m2k=2.5,
            turbulence_factor=1.1,
            roughness_m=0.1,
        ),
    ],
    "drying_demand_grid refused": _refused_grids,
}


def _film(hours: int = 6, members: int = 2, **changes: Any) -> object:
    weather = _weather(hours, members)
    del weather["irradiance_factor"]
    wind = weather.pop("wind_speed_m_s")
    return transient.film_history(
        geometry=_FACES["geometry"][:4],
        length_m=_FACES["length_m"][:4],
        tilt_deg=_FACES["tilt_deg"][:4],
        wind_m_s=np.stack([share * wind for share in (1.0, 0.8, 0.5, 0.2)]),
        irradiance_w_m2=_sunlight(4, hours),
        **weather,
        **{"coat_kg_m2": 0.8, "step_s": 60.0, **changes},
    )


_TRANSIENT = {
    "film_history": lambda: [
        _film(),
        _film(exponent=0.7, step_s=50.1),
        _film(exponent=0.7, skin=True, coat_kg_m2=3.0),
        _film(kept_wet=True, members=1),
        _film(hours=2, members=20, exponent=0.5, coat_kg_m2=0.1),
        _film(hours=2, back_conductance_w_m2k=0.0),
        _film(
            hours=3,
            back_conductance_w_m2k=9.0,
            absorptivity=0.45,
            emissivity=0.9,
            turbulence_factor=1.0,
            wood_thickness_m=0.03,
            wood_conductivity_w_mk=0.2,
            wood_heat_j_m3k=5e5,
        ),
    ],
}


def _over(function: Any, *ranges: tuple[float, float], fixed: tuple[Any, ...] = ()) -> object:
    """A compiled function of plain numbers, undone, over a dozen evenly drawn points."""
    random = seeded(function.__name__)
    points = [[low + (high - low) * random.random() for low, high in ranges] for _ in range(12)]
    return [function.py_func(*point, *fixed) for point in points]


_RISE, _AIR_K, _FACE_K = (-40.0, 40.0), (255.0, 330.0), (230.0, 360.0)
_INCOMING, _RHO = (150.0, 1300.0), (0.001, 0.06)
_TRANSFER, _H, _CONDUCTANCE, _BUOYANT = (7e-4, 1e-3), (1.0, 60.0), (0.005, 8.0), (1.0, 40.0)
_BASE, _EMISSIVITY, _BACK = (0.0, 0.9), (0.8, 1.0), (0.0, 3.0)
_VAPOUR_SLOPE = (0.0001, 0.003)
_COEFFICIENT = (_RISE, (0.7, 2.0), _H, _CONDUCTANCE, _BUOYANT, _BASE)
_LAST = (_EMISSIVITY, _BACK)

_WET_FACE = {
    "constants": lambda: [
        getattr(wet_face, name) for name in ("NEAR_ROOT", "LARGEST_STEP_K", "SATURATION_GROWTH")
    ],
    "twelfth_root": lambda: [
        _over(wet_face.twelfth_root, (0.01, 2.0)),
        _over(wet_face.twelfth_root, (2.0, 7000.0)),
    ],
    "twelfth_root_of_rise": lambda: _over(wet_face.twelfth_root_of_rise, _RISE),
    "rough_root_of_rise": lambda: _over(wet_face.rough_root_of_rise, _RISE),
    "blend": lambda: _over(wet_face.blend, _H, (0.5, 10.0)),
    "coefficient_and_slope": lambda: _over(wet_face.coefficient_and_slope, *_COEFFICIENT),
    "exchange_of": lambda: _over(
        wet_face.exchange_of,
        *(_FACE_K, _RISE, _INCOMING, _RHO, _TRANSFER, _RHO, _VAPOUR_SLOPE, _H),
        *((-0.2, 0.2), _EMISSIVITY),
    ),
    "exchange": lambda: _over(
        wet_face.exchange,
        *(_FACE_K, _AIR_K, _INCOMING, _RHO, _TRANSFER, _H, _CONDUCTANCE, _BUOYANT, _BASE),
        *((0.3, 0.5), _EMISSIVITY),
    ),
    "latent_heat_and_slope": lambda: _over(wet_face.latent_heat_and_slope, (273.15, 373.15)),
    "guarded": lambda: [
        _over(wet_face.guarded, (-400.0, 400.0), (-80.0, -10.0), (-1.0, 1.0)),
        _over(wet_face.guarded, (-9e3, 9e3), (-80.0, -10.0), (-1.0, 1.0)),
    ],
    "first_rise": lambda: _over(
        wet_face.first_rise,
        *((0.7, 2.0), _AIR_K, (150.0, 3000.0), _RHO, _RHO, _VAPOUR_SLOPE, _TRANSFER),
        *(_H, _CONDUCTANCE, _BUOYANT, _BASE, *_LAST),
    ),
    "halley_step": lambda: _over(
        wet_face.halley_step,
        *(_FACE_K, _AIR_K, _INCOMING, _RHO, _TRANSFER, _RHO, _VAPOUR_SLOPE, _H),
        *((-3.0, 3.0), *_LAST),
    ),
}

_WET_AIR = {
    "series": lambda: [wet_air._VAPOUR, wet_air._VAPOUR_SLOPE, wet_air._LEWIS],
    "vapour_density": lambda: _over(wet_air.vapour_density, (200.0, 376.0)),
    "vapour_density_and_slope": lambda: _over(wet_air.vapour_density_and_slope, (200.0, 376.0)),
    "air_of": lambda: _over(wet_air.air_of, _AIR_K, (0.0, 1.0), (0.0, 25.0), (60e3, 105e3)),
    "plate_powers": lambda: _over(wet_air.plate_powers, (0.003, 5.0), (0.1, 1.0), (1.0, 1.5)),
    "forced_on_plate": lambda: _over(
        wet_air.forced_on_plate,
        *((0.02, 0.03), (200.0, 300.0), (0.1, 5.0), (5e3, 1e4), (0.02, 12.0)),
        fixed=((0.04, 0.6, 0.7, 0.8),),
    ),
    "forced_on_cylinder": lambda: _over(
        wet_air.forced_on_cylinder,
        *((0.02, 0.03), (200.0, 300.0), (0.1, 5.0), (0.003, 1.0), (0.1, 1.0), (1.0, 400.0)),
    ),
}

_POLYNOMIALS = {"poly4": 5, "poly6": 7, "poly8": 9, "poly10": 11, "poly16": 17}
_SERIES = {
    "coefficients": lambda: {
        name: [float(value) for value in getattr(series, name)]
        for name in (
            *("CUBE_LOW", "CUBE_NEAR", "CUBE_OF_SUM", "FIFTH_WIDE", "FIFTH_LOW"),
            *("TWELFTH_INVERSE", "TWELFTH_ROUGH"),
        )
    },
    "polynomials": lambda: {
        name: _over(
            getattr(series, name), (-1.0, 1.0), fixed=(tuple(1.0 + k * k for k in range(count)),)
        )
        for name, count in _POLYNOMIALS.items()
    },
    "inverse_cube_root": lambda: _over(series.inverse_cube_root, (0.7, 1.4), (0.5, 2.0)),
    "inverse_fifth_root": lambda: _over(series.inverse_fifth_root, (0.7, 1.4), (0.5, 2.0)),
}

GROUPS: Groups = {
    "convection": _CONVECTION,
    "drying": _DRYING,
    "kernel": _KERNEL,
    "transient": _TRANSIENT,
    "wet_air": _WET_AIR,
    "wet_face": _WET_FACE,
    "series": _SERIES,
}
