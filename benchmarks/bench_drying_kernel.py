"""The drying kernel beside the same wet film handed to scipy's integrator, and its time a cell.

Run: ``python benchmarks/bench_drying_kernel.py``. Weather: three July days of the real year that
ships with pvlib (TMY3 723170, Greensboro NC); four walls. The integrator carries the film's and
the board's heat with the uncompiled physics (LSODA, relative tolerance 1e-4); the kernel takes each
hour in balance. Fails when the kernel is not 1 000 times faster a face-hour, or when the sums
differ by 5 % or more.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pvlib
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from stillwet.constants import STEFAN_BOLTZMANN
from stillwet.physics import air, convection, drying, kernel, sun, transient, wind

Array = NDArray[np.float64]
FIRST_HOUR, HOURS = 4536, 72  # 9 to 11 July
RATIO_WANTED = 1000.0
DIFFERENCE_ALLOWED = 0.05
NS_WANTED = 150.0
LENGTH_M, HEIGHT_M, COAT_MM = 2.5, 1.5, 3.0
LAYER_M = transient.WOOD_THICKNESS_M / transient.NODES
BETWEEN = transient.WOOD_CONDUCTIVITY_W_MK / LAYER_M
BEHIND = 1 / (
    1 / drying.BACK_CONDUCTANCE_W_M2K
    - transient.WOOD_THICKNESS_M / transient.WOOD_CONDUCTIVITY_W_MK
    + 1 / (2 * BETWEEN)
)


def read_weather() -> dict[str, Array]:
    """The days' columns, (H,), and the sun on four walls, (4, H)."""
    path = Path(pvlib.__file__).parent / "data" / "723170TYA.CSV"
    table, _ = pvlib.iotools.read_tmy3(path, map_variables=True, coerce_year=2001)
    table = table.iloc[FIRST_HOUR : FIRST_HOUR + HOURS]
    time_s = np.array([stamp.timestamp() - 1800.0 for stamp in table.index])
    kelvin = table["temp_air"].to_numpy(dtype=float) + 273.15
    humidity = table["relative_humidity"].to_numpy(dtype=float) / 100
    vapour = np.asarray(air.vapour_pressure(temperature_k=kelvin, relative_humidity=humidity))
    cloud = table["TotCld (tenths)"].to_numpy(dtype=float) / 10
    walls = sun.face_irradiance(
        time_s=time_s,
        latitude_deg=36.1,
        longitude_deg=-79.95,
        elevation_m=273.0,
        ghi_w_m2=table["ghi"].to_numpy(dtype=float),
        dni_w_m2=table["dni"].to_numpy(dtype=float),
        dhi_w_m2=table["dhi"].to_numpy(dtype=float),
        tilt_deg=np.full(4, 90.0),
        azimuth_deg=np.array([0.0, 90.0, 180.0, 270.0]),
        shaded=np.zeros(4, dtype=bool),
    )
    sky = sun.sky_longwave(air_temperature_k=kelvin, vapour_pressure_pa=vapour, cloud_cover=cloud)
    return {
        "kelvin": kelvin,
        "humidity": humidity,
        "vapour": vapour,
        "wind": table["wind_speed"].to_numpy(dtype=float),
        "pressure": table["pressure"].to_numpy(dtype=float) * 100,
        "sky": np.asarray(sky),
        "walls": walls,
    }


def kernel_inputs(weather: dict[str, Array], members: int) -> dict[str, Any]:
    """The kernel's arguments for four walls and so many equal members."""

    def column(name: str) -> Array:
        return np.repeat(weather[name][:, None], members, axis=1)

    return {
        "air_temperature_k": column("kelvin"),
        "relative_humidity": column("humidity"),
        "wind_speed_m_s": column("wind"),
        "pressure_pa": weather["pressure"],
        "irradiance_w_m2": weather["walls"],
        "irradiance_factor": np.ones((HOURS, members)),
        "sky_longwave_w_m2": column("sky"),
        "tilt_deg": np.full(4, 90.0),
        "length_m": np.full(4, LENGTH_M),
        "height_m": np.full(4, HEIGHT_M),
        "geometry": np.full(4, convection.WALL, dtype=np.int8),
        "sheltering": np.ones(4),
    }


def film_rates(_time_s: float, state: Array, hour: dict[str, float]) -> Array:
    """Rates of the film's and the board's temperatures and of the water gone."""
    film, boards = float(state[0]), state[1:-1]
    h = convection.outdoor_coefficient(
        geometry=convection.WALL,
        length_m=LENGTH_M,
        wind_m_s=hour["wind"],
        surface_temperature_k=film,
        air_temperature_k=hour["kelvin"],
        vapour_pressure_pa=hour["vapour"],
        pressure_pa=hour["pressure"],
    )
    e = drying.evaporation_density_form(
        surface_temperature_k=film,
        coefficient_w_m2k=float(h),
        air_temperature_k=hour["kelvin"],
        vapour_pressure_pa=hour["vapour"],
        pressure_pa=hour["pressure"],
    )
    radiated = drying.WATER_EMISSIVITY * STEFAN_BOLTZMANN * film**4
    gain = hour["absorbed"] - radiated + h * (hour["kelvin"] - film)
    into_wood = 2 * BETWEEN * (film - boards[0])
    flows = np.concatenate(
        ([into_wood], -BETWEEN * np.diff(boards), [BEHIND * (boards[-1] - hour["kelvin"])])
    )
    latent = air.latent_heat(temperature_k=film)
    film_rate = (gain - latent * e - into_wood) / (transient.WATER_SPECIFIC_HEAT * COAT_MM)
    board_rates = -np.diff(flows) / (transient.WOOD_HEAT_J_M3K * LAYER_M)
    return np.concatenate(([film_rate], board_rates, [max(e, 0.0)]))


def integrate_wall(weather: dict[str, Array], wall: int) -> Array:
    """Water gone in each hour [mm] from one wall kept wet, hour by hour with scipy."""
    profile = float(wind.log_profile_factor(from_height_m=10.0, to_height_m=HEIGHT_M))
    state = np.append(np.full(transient.NODES + 1, weather["kelvin"][0]), 0.0)
    gone = np.empty(HOURS)
    for i in range(HOURS):
        hour = {name: float(weather[name][i]) for name in ("kelvin", "vapour", "pressure")}
        hour["wind"] = float(weather["wind"][i]) * profile
        longwave = drying.face_longwave(
            sky_w_m2=float(weather["sky"][i]), air_temperature_k=hour["kelvin"], tilt_deg=90.0
        )
        hour["absorbed"] = float(
            drying.SOLAR_ABSORPTIVITY * weather["walls"][wall, i]
            + drying.WATER_EMISSIVITY * longwave
        )
        state[-1] = 0.0
        found = solve_ivp(
            film_rates, (0.0, 3600.0), state, method="LSODA", rtol=1e-4, atol=1e-6, args=(hour,)
        )
        state = found.y[:, -1].copy()
        gone[i] = state[-1]
    return gone


def best_of(repeats: int, **inputs: Any) -> float:
    """Shortest time of one kernel call [s], compiled and warm."""
    taken = []
    kernel.drying_demand_grid(**inputs)
    for _ in range(repeats):
        begun = time.perf_counter()
        kernel.drying_demand_grid(**inputs)
        taken.append(time.perf_counter() - begun)
    return min(taken)


def main() -> int:
    """Print the table; fail when the kernel misses its ratio or its agreement."""
    weather = read_weather()
    begun = time.perf_counter()
    by_scipy = np.array([integrate_wall(weather, wall) for wall in range(4)])
    scipy_s = (time.perf_counter() - begun) / by_scipy.size
    fast = kernel.drying_demand_grid(**kernel_inputs(weather, 1))[:, :, 0] * 3600
    members = 256
    cells = by_scipy.size * members
    kernel_s = best_of(9, **kernel_inputs(weather, members)) / cells
    both_s = best_of(9, **kernel_inputs(weather, members), threads=2) / cells
    single_s = best_of(9, **kernel_inputs(weather, 1)) / by_scipy.size
    difference = float(np.abs(fast.sum(axis=1) / by_scipy.sum(axis=1) - 1).max())
    scatter = float(np.sqrt(((fast - by_scipy) ** 2).mean()) / by_scipy.mean())
    print(f"{by_scipy.size} face-hours, four walls, three July days")
    print(f"solve_ivp on the film               {scipy_s * 1e6:12.0f} us a face-hour")
    print(f"kernel, 256 members, 1 thread       {kernel_s * 1e9:12.0f} ns a face-hour-member")
    print(f"kernel, 256 members, 2 threads      {both_s * 1e9:12.0f} ns a face-hour-member")
    print(f"kernel, 1 member, call included     {single_s * 1e9:12.0f} ns a face-hour")
    print(f"ratio, 256 members                  {scipy_s / kernel_s:12,.0f}")
    print(f"ratio, 1 member                     {scipy_s / single_s:12,.0f}")
    print(f"largest difference of a wall's sum  {difference:12.2%}")
    print(f"hourly scatter (rms over mean)      {scatter:12.2%}")
    print(f"wanted: ratio {RATIO_WANTED:,.0f}, {NS_WANTED:.0f} ns, sums {DIFFERENCE_ALLOWED:.0%}")
    return int(scipy_s / single_s < RATIO_WANTED or difference >= DIFFERENCE_ALLOWED)


if __name__ == "__main__":
    sys.exit(main())
