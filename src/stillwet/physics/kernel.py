"""The drying demand of many faces, hours and members at once: the balance of `drying`, compiled.

Cells are solved in blocks of 64 so that the inner loops vectorise, air and wind included; what a
cell and hour takes stands in `wet_air` and `wet_face`. Every cell takes the same path through the
same arithmetic whatever its block or thread, so that results are equal to the bit however the work
is shared out.

Numba remembers the compiled code by this file's date alone: after a change of a constant imported
here or of `wet_air`, `wet_face` and `series`, touch this file (and `transient` and `sun_grid`,
which inline them).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from stillwet.compiling import compiled
from stillwet.errors import Problem, StillwetError, shown
from stillwet.physics.convection import (
    BUOYANT_BASE,
    BUOYANT_SLOPE,
    CYLINDER,
    OUTDOOR_TURBULENCE_FACTOR,
)
from stillwet.physics.drying import (
    BACK_CONDUCTANCE_W_M2K,
    SOLAR_ABSORPTIVITY,
    WATER_EMISSIVITY,
)
from stillwet.physics.wet_air import (
    air_of,
    forced_on_cylinder,
    forced_on_plate,
    plate_powers,
    vapour_density_and_slope,
)
from stillwet.physics.wet_face import (
    NEAR_ROOT,
    coefficient_and_slope,
    first_rise,
    halley_step,
    rough_root_of_rise,
    twelfth_root_of_rise,
)
from stillwet.physics.wind import (
    FORECAST_HEIGHT_M,
    OPEN_ROUGHNESS_M,
    log_profile_factor,
)

BLOCK = 64
STARTS, STEPS = 2, 3  # from the air's temperature, then on the whole balance
_GEOMETRIES = len(BUOYANT_BASE)
BASES = np.array([BUOYANT_BASE[code] for code in range(_GEOMETRIES)])
SLOPES = np.array([BUOYANT_SLOPE[code] for code in range(_GEOMETRIES)])

# Rows of the block's working store: air, shared by the faces.
_AIR_ROWS = 12
(
    _TA,
    _RHO_VA,
    _RHO_FULL,
    _RHO_SLOPE,
    _TRANSFER,
    _CONDUCTIVITY,
    _GROUND,
    _BUOY,
    _LAM,
    _LAM_WIND,
    _TURB,
    _TURB_WIND,
) = range(_AIR_ROWS)

_FACE_ROWS, _WORK_ROWS = 4, 8
_INCOMING, _FORCED, _CONDUCTANCE, _BUOYANT = range(_FACE_ROWS)
_SURFACE, _WATER, _RISE, _ROOT, _FULL, _FULL_SLOPE, _H, _H_SLOPE = range(_WORK_ROWS)

_jit: Any = compiled(fastmath={"contract"}, error_model="numpy", nogil=True)


@_jit
def _fill_air(
    air: NDArray[np.float64],
    temperature: NDArray[np.float64],
    humidity: NDArray[np.float64],
    wind: NDArray[np.float64],
    pressure: NDArray[np.float64],
) -> None:
    """Properties of the block's air (BLOCK,), shared by all faces."""
    for j in range(BLOCK):
        (
            air[_TA, j],
            air[_RHO_VA, j],
            air[_RHO_FULL, j],
            air[_RHO_SLOPE, j],
            air[_TRANSFER, j],
            air[_CONDUCTIVITY, j],
            air[_GROUND, j],
            air[_BUOY, j],
            air[_LAM, j],
            air[_LAM_WIND, j],
            air[_TURB, j],
            air[_TURB_WIND, j],
        ) = air_of(temperature[j], humidity[j], wind[j], pressure[j])


@_jit
def _fill_forced(
    forced: NDArray[np.float64],
    air: NDArray[np.float64],
    geometry: int,
    length: float,
    factor: float,
    turbulence: float,
) -> None:
    """Coefficient of the wind on one face for the block; powers of face and air are multiplied."""
    if geometry == CYLINDER:
        scale = turbulence / length
        for j in range(BLOCK):
            forced[j] = forced_on_cylinder(
                air[_CONDUCTIVITY, j], air[_LAM, j], air[_LAM_WIND, j], length, factor, scale
            )
        return
    powers = plate_powers(length, factor, turbulence)
    for j in range(BLOCK):
        forced[j] = forced_on_plate(
            air[_CONDUCTIVITY, j],
            air[_LAM, j],
            air[_LAM_WIND, j],
            air[_TURB, j],
            air[_TURB_WIND, j],
            powers,
        )


@_jit
def _solve_face(
    work: NDArray[np.float64],
    air: NDArray[np.float64],
    face: NDArray[np.float64],
    base: float,
    emissivity: float,
    back: float,
) -> None:
    """Surface temperature and evaporation of one face for the block, in ``work``.

    Loops are short on purpose: the processor then has several cells under way at once, where one
    long chain of arithmetic would wait on itself.
    """
    for j in range(BLOCK):
        work[_ROOT, j] = NEAR_ROOT
    for _ in range(STARTS):
        for j in range(BLOCK):
            work[_RISE, j] = first_rise(
                work[_ROOT, j],
                air[_TA, j],
                face[_INCOMING, j],
                air[_RHO_VA, j],
                air[_RHO_FULL, j],
                air[_RHO_SLOPE, j],
                air[_TRANSFER, j],
                face[_FORCED, j],
                face[_CONDUCTANCE, j],
                face[_BUOYANT, j],
                base,
                emissivity,
                back,
            )
        for j in range(BLOCK):
            work[_ROOT, j] = rough_root_of_rise(work[_RISE, j])
    for j in range(BLOCK):
        work[_SURFACE, j] = air[_TA, j] + work[_RISE, j]
    for step in range(STEPS):
        if step > 0:
            for j in range(BLOCK):
                work[_RISE, j] = work[_SURFACE, j] - air[_TA, j]
                work[_ROOT, j] = twelfth_root_of_rise(work[_RISE, j])
        for j in range(BLOCK):
            work[_FULL, j], work[_FULL_SLOPE, j] = vapour_density_and_slope(work[_SURFACE, j])
        for j in range(BLOCK):
            work[_H, j], work[_H_SLOPE, j] = coefficient_and_slope(
                work[_RISE, j],
                work[_ROOT, j],
                face[_FORCED, j],
                face[_CONDUCTANCE, j],
                face[_BUOYANT, j],
                base,
            )
        for j in range(BLOCK):
            work[_SURFACE, j], work[_WATER, j] = halley_step(
                work[_SURFACE, j],
                air[_TA, j],
                face[_INCOMING, j],
                air[_RHO_VA, j],
                air[_TRANSFER, j],
                work[_FULL, j],
                work[_FULL_SLOPE, j],
                work[_H, j],
                work[_H_SLOPE, j],
                emissivity,
                back,
            )


@_jit
def solve_columns(
    out: NDArray[np.float64],
    start: int,
    stop: int,
    temperature: NDArray[np.float64],
    humidity: NDArray[np.float64],
    wind: NDArray[np.float64],
    pressure: NDArray[np.float64],
    irradiance: NDArray[np.float64],
    irradiance_factor: NDArray[np.float64],
    sky_longwave: NDArray[np.float64],
    sky_view: NDArray[np.float64],
    length: NDArray[np.float64],
    wind_factor: NDArray[np.float64],
    geometry: NDArray[np.int8],
    absorptivity: float,
    emissivity: float,
    back: float,
    turbulence: float,
) -> None:
    """Demand of every face for the columns start to stop, a column being one hour of one member."""
    columns = temperature.size
    members = columns // pressure.size
    air, given = np.empty((_AIR_ROWS, BLOCK)), np.empty((6, BLOCK))
    face, work = np.empty((_FACE_ROWS, BLOCK)), np.empty((_WORK_ROWS, BLOCK))
    hour = np.empty(BLOCK, dtype=np.int64)
    for first in range(start, stop, BLOCK):
        for j in range(BLOCK):
            column = min(first + j, columns - 1)
            hour[j] = column // members if members > 1 else column
            given[0, j] = temperature[column]
            given[1, j] = humidity[column]
            given[2, j] = wind[column]
            given[3, j] = pressure[hour[j]]
            given[4, j] = irradiance_factor[column]
            given[5, j] = sky_longwave[column]
        _fill_air(air, given[0], given[1], given[2], given[3])
        for s in range(geometry.size):
            sky = sky_view[s]
            inverse_length = 1 / length[s]
            scale = SLOPES[geometry[s]] * math.sqrt(length[s])
            _fill_forced(face[_FORCED], air, geometry[s], length[s], wind_factor[s], turbulence)
            for j in range(BLOCK):
                sun = irradiance[s, hour[j]] * given[4, j]
                longwave = sky * given[5, j] + (1 - sky) * air[_GROUND, j]
                face[_INCOMING, j] = absorptivity * sun + emissivity * longwave
                face[_CONDUCTANCE, j] = air[_CONDUCTIVITY, j] * inverse_length
                face[_BUOYANT, j] = air[_BUOY, j] * scale
            _solve_face(work, air, face, BASES[geometry[s]], emissivity, back)
            for j in range(min(BLOCK, stop - first)):
                out[s, first + j] = max(work[_WATER, j], 0.0)


def _flat(name: str, value: Any, shape: tuple[int, ...]) -> NDArray[np.float64]:
    """The values as one contiguous float64 row after a check of their shape."""
    array = np.asarray(value, dtype=np.float64)
    if array.shape != shape:
        raise StillwetError(Problem(name, f"shape {shape}", shown(array.shape)))
    if not np.isfinite(array.sum()):
        raise StillwetError(Problem(name, "finite numbers", "NaN or infinity"))
    return np.ascontiguousarray(array).reshape(-1)


def face_columns(
    *,
    tilt_deg: Any,
    length_m: Any,
    height_m: Any,
    sheltering: Any,
    geometry: Any,
    roughness_m: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.int8]]:
    """Sky view, length, wind factor and shape code of the faces."""
    codes = np.asarray(geometry, dtype=np.int8)
    shape = codes.shape
    if codes.ndim != 1 or ((codes < 0) | (codes >= _GEOMETRIES)).any():
        raise StillwetError(
            Problem("geometry", f"codes 0 to {_GEOMETRIES - 1}, one a face", shown(geometry))
        )
    length = _flat("length_m", length_m, shape)
    if (length <= 0).any():
        raise StillwetError(Problem("length_m", "more than 0 m", shown(length.min())))
    sky_view = 0.5 * (1 + np.cos(np.radians(_flat("tilt_deg", tilt_deg, shape))))
    profile = log_profile_factor(
        from_height_m=FORECAST_HEIGHT_M,
        to_height_m=_flat("height_m", height_m, shape),
        roughness_m=roughness_m,
    )
    return sky_view, length, np.asarray(profile) * _flat("sheltering", sheltering, shape), codes


def drying_demand_grid(
    *,
    air_temperature_k: NDArray[np.float64],
    relative_humidity: NDArray[np.float64],
    wind_speed_m_s: NDArray[np.float64],
    pressure_pa: NDArray[np.float64],
    irradiance_w_m2: NDArray[np.float64],
    irradiance_factor: NDArray[np.float64],
    sky_longwave_w_m2: NDArray[np.float64],
    tilt_deg: NDArray[np.float64],
    length_m: NDArray[np.float64],
    height_m: NDArray[np.float64],
    geometry: NDArray[np.int8],
    sheltering: NDArray[np.float64],
    absorptivity: float = SOLAR_ABSORPTIVITY,
    emissivity: float = WATER_EMISSIVITY,
    back_conductance_w_m2k: float = BACK_CONDUCTANCE_W_M2K,
    turbulence_factor: float = OUTDOOR_TURBULENCE_FACTOR,
    roughness_m: float = OPEN_ROUGHNESS_M,
    threads: int = 1,
) -> NDArray[np.float64]:
    """Drying demand [kg/m2s] of faces (S), hours (H) and ensemble members (M): shape (S, H, M).

    (H, M): air_temperature_k, relative_humidity [fraction, over water], wind_speed_m_s in the open
    at 10 m, irradiance_factor (a member's share of the face's sun), sky_longwave_w_m2 on level
    ground. (H,): pressure_pa. (S, H): irradiance_w_m2 on the face. (S,): tilt_deg, length_m,
    height_m above ground, geometry (WALL, ROOF, CYLINDER, BLADE of `convection`), sheltering
    (share of the open wind). The model and its range are those of `drying.wet_surface`, with which
    it agrees within 1e-6; dew gives 0. The result does not depend on threads, to the bit.
    """
    shape = np.shape(air_temperature_k)
    if len(shape) != 2 or 0 in shape:
        raise StillwetError(Problem("air_temperature_k", "hours by members", shown(shape)))
    sky_view, length, wind_factor, codes = face_columns(
        tilt_deg=tilt_deg,
        length_m=length_m,
        height_m=height_m,
        sheltering=sheltering,
        geometry=geometry,
        roughness_m=roughness_m,
    )
    faces, hours = codes.size, shape[0]
    sun = _flat("irradiance_w_m2", irradiance_w_m2, (faces, hours)).reshape(faces, hours)
    columns = (
        _flat("air_temperature_k", air_temperature_k, shape),
        _flat("relative_humidity", relative_humidity, shape),
        _flat("wind_speed_m_s", wind_speed_m_s, shape),
        _flat("pressure_pa", pressure_pa, (hours,)),
        sun,
        _flat("irradiance_factor", irradiance_factor, shape),
        _flat("sky_longwave_w_m2", sky_longwave_w_m2, shape),
    )
    properties = (absorptivity, emissivity, back_conductance_w_m2k, turbulence_factor)
    out = np.empty((faces, shape[0] * shape[1]))

    def solve(bounds: tuple[int, int]) -> None:
        solve_columns(out, *bounds, *columns, sky_view, length, wind_factor, codes, *properties)

    _share_out(solve, out.shape[1], threads)
    return out.reshape(faces, *shape)


def _share_out(solve: Any, columns: int, threads: int) -> None:
    """Call solve on runs of whole blocks, in this thread or spread over several."""
    blocks = -(-columns // BLOCK)
    if threads <= 1 or blocks == 1:
        solve((0, columns))
        return
    from concurrent.futures import ThreadPoolExecutor

    run = -(-blocks // threads) * BLOCK
    bounds = [(start, min(start + run, columns)) for start in range(0, columns, run)]
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(solve, bounds))
