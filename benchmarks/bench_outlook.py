"""The outlook's kernel beside vectorised NumPy, the processor's limits, and two workers.

Run: ``python benchmarks/bench_outlook.py``. Prints, in one run on one machine: nanoseconds a
face-hour of the compiled kernel and of the same formula written in NumPy over whole arrays; both
against the multiply-adds and the memory traffic that one core reaches here; the whole command with
one and with two processes; and what a cluster would take, reckoned from the measured times of the
blocks by the model in docs/explanation/outlook.md. Says when NumPy is not
10 times slower; fails when the two differ.
"""

from __future__ import annotations

import heapq
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numba
import numpy as np
from numpy.typing import NDArray
from operations import of_a_face_hour  # type: ignore[import-not-found]  # beside this file

from stillwet.constants import (
    GAS_CONSTANT_DRY_AIR,
    GAS_CONSTANT_VAPOUR,
    GRAVITY,
    STANDARD_PRESSURE,
    STEFAN_BOLTZMANN,
    ZERO_CELSIUS,
)
from stillwet.outlook.ask import Ask, answers_named, faces_named
from stillwet.outlook.work import Means, reckon_outlook
from stillwet.physics import kernel
from stillwet.physics.air import (
    DRY_AIR_SPECIFIC_HEAT,
    VAPOUR_SPECIFIC_HEAT,
    WATER_COEFFICIENTS,
)
from stillwet.physics.convection import (
    BUOYANT_BASE,
    BUOYANT_SLOPE,
    OUTDOOR_TURBULENCE_FACTOR,
    PRANDTL_AIR,
    SMALLEST_DIFFERENCE_K,
    WALL,
)
from stillwet.physics.drying import (
    BACK_CONDUCTANCE_W_M2K,
    HIGHEST_SURFACE_K,
    LOWEST_SURFACE_K,
    SOLAR_ABSORPTIVITY,
    WATER_EMISSIVITY,
)
from stillwet.physics.wind import LOWEST_WIND_M_S

Array = NDArray[np.float64]
CELLS, REPEATS, RATIO_WANTED = 200_000, 5, 10.0
WORKERS = (1, 2, 4, 16, 64, 256, 1000)
CONTINENT_BLOCKS = 20_000
DISPATCH_S = 0.001  # a scheduler's time a task: dask's own documentation gives about 1 ms or less
STORE_BYTES_S = 10e9  # assumed: what a shared store takes in all, bytes a second


def made() -> dict[str, Any]:
    """A wall's weather in so many cells, one hour, one member."""
    rng = np.random.default_rng(3)
    t = 280 + 30 * rng.random(CELLS)
    return {
        "air_temperature_k": t[:, None],
        "relative_humidity": (0.05 + 0.9 * rng.random(CELLS))[:, None],
        "wind_speed_m_s": (12 * rng.random(CELLS))[:, None],
        "pressure_pa": 80e3 + 22e3 * rng.random(CELLS),
        "irradiance_w_m2": 900 * rng.random((1, CELLS)),
        "irradiance_factor": np.ones((CELLS, 1)),
        "sky_longwave_w_m2": (250 + 150 * rng.random(CELLS))[:, None],
        "tilt_deg": np.array([90.0]),
        "length_m": np.array([10.0]),
        "height_m": np.array([1.5]),
        "geometry": np.array([WALL], dtype=np.int8),
        "sheltering": np.array([1.0]),
    }


def in_numpy(given: dict[str, Any]) -> Array:
    """The same balance, the same five Halley steps, over whole arrays with NumPy's functions."""
    t = given["air_temperature_k"][:, 0]
    (view,), (length,), (factor,), _ = kernel.face_columns(
        tilt_deg=given["tilt_deg"],
        length_m=given["length_m"],
        height_m=given["height_m"],
        sheltering=given["sheltering"],
        geometry=given["geometry"],
        roughness_m=0.03,
    )
    air = _air(t, given["relative_humidity"][:, 0], given["wind_speed_m_s"][:, 0] * factor, given)
    rho_va, transfer, k, sixth, lam, turb = air
    powers = OUTDOOR_TURBULENCE_FACTOR * k / length
    third = PRANDTL_AIR ** (1 / 3)
    forced = powers * third * np.maximum(0.037 * turb * length**0.8, 0.664 * lam * length**0.5)
    ground = STEFAN_BOLTZMANN * t**4
    long = view * given["sky_longwave_w_m2"][:, 0] + (1 - view) * ground
    incoming = SOLAR_ABSORPTIVITY * given["irradiance_w_m2"][0] + WATER_EMISSIVITY * long
    base, slope = BUOYANT_BASE[WALL], BUOYANT_SLOPE[WALL]
    conductance, buoyant = k / length, sixth * np.sqrt(length)
    surface, water = t, t
    for _ in range(kernel.STEPS):
        surface, water = _step(
            surface, t, incoming, rho_va, transfer, forced, conductance, buoyant, base, slope
        )
    return np.asarray(np.maximum(water, 0.0))


def _saturation(t: Array) -> tuple[Array, Array]:
    """Vapour pressure over water (Hyland & Wexler) and the slope of its logarithm."""
    c8, c9, c10, c11, c12, c13 = WATER_COEFFICIENTS
    log_p = c8 / t + c9 + t * (c10 + t * (c11 + t * c12)) + c13 * np.log(t)
    return np.exp(log_p), (c13 - c8 / t) / t + c10 + t * (2 * c11 + t * 3 * c12)


def _air(t: Array, humidity: Array, wind: Array, given: dict[str, Any]) -> tuple[Array, ...]:
    p = given["pressure_pa"]
    vapour = _saturation(t)[0] * humidity
    rho_va = vapour / (GAS_CONSTANT_VAPOUR * t)
    rho_dry = (p - vapour) / (GAS_CONSTANT_DRY_AIR * t)
    heat = rho_dry * DRY_AIR_SPECIFIC_HEAT + rho_va * VAPOUR_SPECIFIC_HEAT
    nu = kernel._VISCOSITY * t**1.5 / (t + 110.4) / (rho_dry + rho_va)
    k = kernel._CONDUCTION * t**1.5 / (t + 194.0)
    spread = 0.2178e-4 * (t / ZERO_CELSIUS) ** 1.81 * STANDARD_PRESSURE / p
    transfer = 1 / (heat * (k / (heat * spread)) ** (2 / 3))
    sixth = (np.sqrt(GRAVITY * PRANDTL_AIR / t) / nu) ** (1 / 3)
    speed = np.maximum(wind, LOWEST_WIND_M_S) / nu
    return rho_va, transfer, k, sixth, np.sqrt(speed), speed**0.8


def _step(
    t: Array,
    ta: Array,
    incoming: Array,
    rho_va: Array,
    transfer: Array,
    forced: Array,
    conductance: Array,
    buoyant: Array,
    base: float,
    slope: float,
) -> tuple[Array, Array]:
    pressure, log_slope = _saturation(t)
    rho_vs = pressure / t / GAS_CONSTANT_VAPOUR
    rho_slope = rho_vs * (log_slope - 1 / t)
    rise = t - ta
    square = rise * rise + SMALLEST_DIFFERENCE_K**2
    root = slope * buoyant * square ** (1 / 12)
    natural = conductance * (base + root) ** 2
    h = np.cbrt(forced**3 + natural**3)
    h_slope = natural**2 * conductance * (base + root) * root * rise / (3 * square * h * h)
    gap = rho_vs - rho_va
    radiated = WATER_EMISSIVITY * STEFAN_BOLTZMANN * t**3
    held = h * transfer * rho_slope
    whole = held + h_slope * transfer * gap
    water = h * transfer * gap
    celsius = t - ZERO_CELSIUS
    latent = kernel._L0 + celsius * (kernel._L1 + celsius * (kernel._L2 + celsius * kernel._L3))
    latent_slope = kernel._L1 + celsius * (2 * kernel._L2 + celsius * 3 * kernel._L3)
    back = BACK_CONDUCTANCE_W_M2K
    value = incoming - radiated * t - h * rise - back * rise - latent * water
    full = -4 * radiated - h - h_slope * rise - back - latent * whole - latent_slope * water
    steep = np.minimum(full, -0.3 * (back + latent * held))
    square = steep * steep
    bend = 0.5 * value * kernel.SATURATION_GROWTH * latent * held
    step = np.clip(
        -value * steep / np.maximum(square + bend, 0.5 * square),
        -kernel.LARGEST_STEP_K,
        kernel.LARGEST_STEP_K,
    )
    return np.clip(t + step, LOWEST_SURFACE_K, HIGHEST_SURFACE_K), water


def best(do: Callable[[], Any]) -> float:
    """Seconds of the fastest of some runs: what the work takes when nothing else does."""
    times = []
    for _ in range(REPEATS):
        begun = time.perf_counter()
        do()
        times.append(time.perf_counter() - begun)
    return min(times)


@numba.njit(fastmath=True)  # type: ignore[untyped-decorator,unused-ignore]
def _multiply_adds(rounds: int) -> float:
    values = np.linspace(0.0, 1.0, 64)
    for _ in range(rounds):
        for j in range(64):
            values[j] = values[j] * 0.999 + 0.001
    return float(values.sum())


def core_limits() -> tuple[float, float]:
    """Double-precision operations and bytes a second that one core reaches here."""
    rounds = 2_000_000
    _multiply_adds(2)
    arithmetic = rounds * 64 * 2 / best(lambda: _multiply_adds(rounds))
    here, there = np.ones(2**25), np.empty(2**25)
    return arithmetic, 2 * here.nbytes / best(lambda: np.copyto(there, here))


def workers_needed(block_s: float, block_bytes: float, workers: int) -> float:
    """Seconds of a continent: tasks handed out one after another, done and stored beside others."""
    free = [0.0] * workers
    heapq.heapify(free)
    end = 0.0
    store_free = 0.0
    for task in range(CONTINENT_BLOCKS):
        handed = (task + 1) * DISPATCH_S
        done = max(heapq.heappop(free), handed) + block_s
        store_free = max(store_free, done) + block_bytes / STORE_BYTES_S
        heapq.heappush(free, store_free)
        end = max(end, store_free)
    return end


def whole_command(folder: Path) -> tuple[float, float, float, float]:
    """Seconds of reckoning with one and two processes; seconds and bytes of a block."""
    sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))
    from unit.outlook.made_grid import made_forecast  # noqa: PLC0415 (its path is set above)

    source = folder / "forecast.nc"
    made_forecast(rows=160, columns=200, hours=72).to_netcdf(source, engine="h5netcdf")
    ask = Ask(faces_named("N,E,S,W,roof"), 3.0, 0.5, 0.611, 0.75, 0.2)
    times: list[float] = []
    for workers in (1, 2):
        marks: list[float] = []

        def note(_label: str, _share: float, marks: list[float] = marks) -> None:
            marks.append(time.perf_counter())

        means = Means(workers=workers, memory_bytes=workers * 2**28)
        layout, _ = reckon_outlook(
            source, folder / f"{workers}.zarr", ask, answers_named("all"), means, note
        )
        # From the end of the first round to the last block, so that starting up is left out.
        times.append((marks[-1] - marks[workers - 1]) / (len(marks) - workers))
        blocks = layout.count
    written = sum(f.stat().st_size for f in (folder / "1.zarr").rglob("*") if f.is_file())
    return times[0], times[1], times[0], written / blocks


def main() -> int:
    given = made()
    wanted = in_numpy(given)
    found = kernel.drying_demand_grid(**given)[0, :, 0]
    worst = float(np.abs(found - wanted).max() / wanted.max())
    ours = best(lambda: kernel.drying_demand_grid(**given)) / CELLS
    theirs = best(lambda: in_numpy(given)) / CELLS
    arithmetic, memory = core_limits()
    flops = of_a_face_hour().flops
    print(f"same formula, largest difference {worst:.1e} of the largest demand")
    print(f"kernel {ours * 1e9:.0f} ns a face-hour, NumPy {theirs * 1e9:.0f} ns: ", end="")
    print(f"{theirs / ours:.1f} times, on one core (air of one face included)")
    print(f"one core: {arithmetic / 1e9:.1f} GFLOP/s of multiply-adds, {memory / 1e9:.1f} GB/s")
    print(
        f"formula {flops} operations a face-hour: kernel {flops / ours / 1e9:.1f} GFLOP/s, ", end=""
    )
    print(f"{flops / ours / arithmetic:.2f} of that; memory would allow {72 / memory * 1e9:.1f} ns")
    with tempfile.TemporaryDirectory() as folder:
        one, two, block_s, block_bytes = whole_command(Path(folder))
    print(f"a block: {one:.2f} s with one process, {two:.2f} s with two: {one / two:.2f} times")
    first = workers_needed(block_s, block_bytes, 1)
    print(f"simulated, {CONTINENT_BLOCKS:,} blocks of {block_s:.2f} s, {block_bytes / 1e6:.1f} MB:")
    for workers in WORKERS:
        took = workers_needed(block_s, block_bytes, workers)
        print(f"  {workers:5d} workers {took:10.1f} s, {first / took:6.1f} times")
    if theirs / ours < RATIO_WANTED:
        print(f"the aim of {RATIO_WANTED:g} times NumPy is not met")
    return 0 if worst < 1e-6 else 1


if __name__ == "__main__":
    sys.exit(main())
