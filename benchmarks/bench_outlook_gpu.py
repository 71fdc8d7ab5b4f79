"""The outlook's drying demand of a continent on one graphics card, its time split and its limits.

Run where the card is: ``python benchmarks/bench_outlook_gpu.py [--rows N]``. The grid is 2,145 by
1,377 cells, 72 hours, 5 faces, invented weather with cloud cover. Prints the time to move the
weather in, to reckon and to move the answer out (page-locked memory, middle of five), the rates
against what the same card reaches on a plain copy and on plain multiply-adds, and the largest
relative difference from the double-precision kernel on sampled cells. Without a card it reckons a
small grid in single precision on this processor and says so. Fails above 1e-4 (of demands above
0.05 mm/h; smaller ones by 5e-6 mm/h).
Needs numba and, for the card, numba-cuda; no weather file and no network.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray
from operations import (  # beside this file
    of_a_face_hour,
    of_an_hour,
    operations_of,
)

from stillwet.outlook import card
from stillwet.outlook.ask import Ask, Face, faces_named
from stillwet.physics import kernel, sun_grid, sun_track

Array = NDArray[np.float64]
HEIGHT, WIDTH, HOURS = 1377, 2145, 72
ALLOWED, FLOOR_KG_M2_S = 1e-4, 0.05 / 3600
SAMPLE = 4096
GIB = 2.0**30
ASK = Ask(faces_named("N,E,S,W,roof"), 3.0, 0.5, 0.611, 0.75, 0.2)


def track_of(hours: int) -> sun_track.SunTrack:
    """The sun of some July days by textbook formulas: the same for card and processor."""
    moments = np.arange(hours) + 6.0
    angle = np.radians(15.0 * (moments - 12.0))
    declination = np.radians(22.0 - 0.13 * moments / 24)
    parallax = np.full(hours, np.radians(8.794 / 3600))
    extra = np.full(hours, 1322.0)
    return sun_track.SunTrack(
        np.cos(angle),
        np.sin(angle),
        np.cos(declination),
        np.sin(declination),
        np.sin(parallax),
        extra,
        np.full(hours, 6, dtype=np.int64),
    )


def place_of(height: int, width: int) -> sun_track.Places:
    """Cells from 22 to 52 N, 125 to 65 W, with hills."""
    north, east = np.meshgrid(
        np.linspace(52, 22, height), np.linspace(-125, -65, width), indexing="ij"
    )
    hills = 800 + 700 * np.sin(north * 3) * np.cos(east * 2)
    turbidity = np.full((12, height * width), 3.2)
    return sun_track.places(
        latitude_deg=north.ravel(),
        longitude_deg=east.ravel(),
        elevation_m=hills.ravel(),
        turbidity=turbidity,
    )


def made_inputs(height: int, width: int, new: Callable[[tuple[int, ...]], Any]) -> card.CardInputs:
    """Invented weather in arrays that ``new`` makes; every cell and hour its own."""
    cells, rng = height * width, np.random.default_rng(5)
    day = np.sin((np.arange(HOURS) + 6.0 - 9.0) / 24 * 2 * np.pi).astype(np.float32)
    place = place_of(height, width)

    def field(mean: float, swing: float, spread: float, low: float, high: float) -> Any:
        out = new((HOURS, cells))
        own = rng.standard_normal(cells, dtype=np.float32) * np.float32(spread)
        for h in range(HOURS):
            noise = rng.standard_normal(cells, dtype=np.float32) * np.float32(0.3 * spread)
            row = np.float32(mean + swing * day[h]) + own + noise
            out[h] = np.clip(row, np.float32(low), np.float32(high))
        return out

    pressure = new((HOURS, cells))
    pressure[:] = (101325 * (1 - 2.25577e-5 * place.elevation_m) ** 5.2559).astype(np.float32)
    rows = np.stack([*(np.asarray(row) for row in place[:9]), place.turbidity[6]])
    placed = new((10, cells))
    placed[:] = rows
    return card.CardInputs(
        temperature=field(295, 8, 5, 255, 318),
        humidity=field(0.45, -0.25, 0.12, 0.03, 1.0),
        wind=field(4, 2, 2, 0.0, 30.0),
        pressure=pressure,
        sun=np.zeros((1, 1), dtype=np.float32),
        cloud=field(0.35, 0.0, 0.35, 0.0, 1.0),
        track=np.stack(track_of(HOURS)[:6]).astype(np.float32),
        place=placed,
        faces=card.face_rows(ASK).astype(np.float32),
        source=int(sun_grid.SunFrom.CLOUD),
        before=0.0,
        albedo=ASK.albedo,
    )


def in_double(inputs: card.CardInputs, cells: NDArray[np.int64]) -> Array:
    """The plan's own kernel in double precision on some cells of the same inputs (S, H, cells)."""
    t, rh, wind, pressure, cloud = (
        np.ascontiguousarray(np.asarray(field)[:, cells], dtype=np.float64)
        for field in (
            inputs.temperature,
            inputs.humidity,
            inputs.wind,
            inputs.pressure,
            inputs.cloud,
        )
    )
    rows = np.asarray(inputs.place, dtype=np.float64)[:, cells]
    turbidity = np.ascontiguousarray(np.repeat(rows[9][None], 12, axis=0))
    placed: list[Any] = [np.ascontiguousarray(row) for row in rows[:9]]
    place = sun_track.Places._make([*placed, turbidity])
    faces: tuple[Face, ...] = ASK.faces
    tilt = np.array([face.tilt_deg for face in faces])
    track = track_of(HOURS)
    narrow: list[Any] = [np.asarray(row, dtype=np.float64) for row in inputs.track]
    light = sun_grid.grid_light(
        source=sun_grid.SunFrom.CLOUD,
        given=cloud,
        track=sun_track.SunTrack._make([*narrow, track.month]),
        place=place,
        faces=sun_track.face_directions(
            tilt_deg=tilt, azimuth_deg=np.array([face.azimuth_deg for face in faces])
        ),
        albedo=ASK.albedo,
    )
    sky = sun_grid.grid_longwave(
        air_temperature_k=t[:, :, None], relative_humidity=rh[:, :, None], cloud_cover=cloud
    )
    flat = (t.size, 1)
    return kernel.drying_demand_grid(
        air_temperature_k=t.reshape(flat),
        relative_humidity=rh.reshape(flat),
        wind_speed_m_s=wind.reshape(flat),
        pressure_pa=pressure.reshape(-1),
        irradiance_w_m2=light.faces_w_m2.reshape(len(faces), -1),
        irradiance_factor=np.ones(flat),
        sky_longwave_w_m2=sky.reshape(flat),
        tilt_deg=tilt,
        length_m=np.array([face.length_m for face in faces]),
        height_m=np.array([face.height_m for face in faces]),
        geometry=np.array([face.geometry for face in faces], dtype=np.int8),
        sheltering=np.ones(len(faces)),
    ).reshape(len(faces), HOURS, cells.size)


def largest_difference(found: Any, wanted: Array) -> float:
    """The largest relative difference; demands under 0.05 mm/h count as that."""
    gap = np.abs(np.asarray(found, dtype=np.float64) - wanted)
    return float((gap / np.maximum(wanted, FLOOR_KG_M2_S)).max())


def operations_a_cell() -> int:
    """What the formula asks for a cell over all hours and faces."""
    faces = len(ASK.faces)
    hour = of_an_hour().flops + faces * (
        of_a_face_hour().flops + operations_of("light_on_face").flops
    )
    return int(HOURS * hour)


def middle(times: list[float]) -> float:
    return sorted(times)[len(times) // 2]


def on_this_processor() -> int:
    """No card: a small grid in single precision here."""
    inputs = made_inputs(40, 60, lambda shape: np.empty(shape, dtype=np.float32))
    card.demand_in_single(inputs)
    begun = time.perf_counter()
    found = card.demand_in_single(inputs)
    took = time.perf_counter() - begun
    worst = largest_difference(found, in_double(inputs, np.arange(2400)))
    print("no card here: single precision on this processor, 2,400 cells")
    print(f"{took / found.size * 1e9:.0f} ns a face-hour; largest difference {worst:.1e}")
    return 0 if worst < ALLOWED else 1


def copy_rate(cuda: Any) -> float:
    """Bytes a second that the card reads and writes in a plain copy of its own memory."""
    here = cuda.device_array(2**28, dtype=np.float32)
    there = cuda.device_array(2**28, dtype=np.float32)
    times = [timed(cuda, lambda: there.copy_to_device(here)) for _ in range(7)]
    return float(2 * here.nbytes / middle(times))


def arithmetic_rate(cuda: Any) -> float:
    """Single-precision operations a second that the card reaches on independent multiply-adds."""
    rounds, width = 4096, 8

    @cuda.jit
    def busy(out):  # type: ignore[no-untyped-def]
        n = cuda.grid(1)
        x = np.float32(n) * np.float32(1e-9)
        a, b, c, d = x, x + np.float32(1), x + np.float32(2), x + np.float32(3)
        e, f, g, h = x + np.float32(4), x + np.float32(5), x + np.float32(6), x + np.float32(7)
        k = np.float32(0.999)
        for _ in range(rounds):
            a = a * k + x
            b = b * k + x
            c = c * k + x
            d = d * k + x
            e = e * k + x
            f = f * k + x
            g = g * k + x
            h = h * k + x
        out[n] = a + b + c + d + e + f + g + h

    threads = 132 * 2048 * 4
    out = cuda.device_array(threads, dtype=np.float32)
    times = [timed(cuda, lambda: busy[threads // 256, 256](out)) for _ in range(7)]
    return threads * rounds * width * 2 / middle(times)


def timed(cuda: Any, do: Callable[[], Any]) -> float:
    """Seconds between two events of the card."""
    start, end = cuda.event(), cuda.event()
    start.record()
    do()
    end.record()
    end.synchronize()
    return float(cuda.event_elapsed_time(start, end)) / 1000


def on_the_card(height: int, width: int) -> int:
    """The whole grid on the card."""
    cuda = card._cuda()
    inputs = made_inputs(height, width, lambda shape: cuda.pinned_array(shape, dtype=np.float32))
    cells, faces = height * width, len(ASK.faces)
    shape = (faces, HOURS, cells)
    here = cuda.pinned_array(shape, dtype=np.float32)
    here[:] = np.nan
    fields = [np.ascontiguousarray(field) if field.size < 2 else field for field in inputs[:9]]
    there = [cuda.device_array(field.shape, dtype=np.float32) for field in fields]
    out = cuda.device_array(shape, dtype=np.float32)
    every, rest = card.card_kernel(), card._arguments(inputs)[9:]

    def move_in() -> None:
        for target, field in zip(there, fields, strict=True):
            target.copy_to_device(field)

    def reckon() -> None:
        every[-(-cells // card.THREADS), card.THREADS](out, *there, *rest)

    parts = {"weather in": move_in, "reckon": reckon, "answer out": lambda: out.copy_to_host(here)}
    begun = time.perf_counter()
    move_in()
    reckon()
    cuda.synchronize()
    print(f"first run, compiling included: {time.perf_counter() - begun:.1f} s")
    took = {name: middle([timed(cuda, do) for _ in range(5)]) for name, do in parts.items()}
    moved = {"weather in": sum(field.nbytes for field in fields), "answer out": here.nbytes}
    name = cuda.get_current_device().name
    print(
        f"{name if isinstance(name, str) else name.decode()}: {height:,} x {width:,} cells, ",
        end="",
    )
    print(f"{HOURS} h, {faces} faces = {faces * HOURS * cells:,} face-hours")
    for part, seconds in took.items():
        rate = f", {moved[part] / seconds / 1e9:.1f} GB/s" if part in moved else ""
        print(f"  {part}: {seconds * 1000:.1f} ms{rate}")
    print(
        f"  transfer {took['weather in'] + took['answer out']:.3f} s,"
        f" reckoning {took['reckon']:.3f} s"
    )
    _against_limits(cuda, took["reckon"], cells, sum(moved.values()))
    chosen = np.sort(np.random.default_rng(1).choice(cells, min(SAMPLE, cells), replace=False))
    written = not np.isnan(here).any()
    worst = largest_difference(here[:, :, chosen], in_double(inputs, chosen))
    print(f"  every answer written: {written}; largest difference from double: {worst:.1e}")
    _beside_the_processor(inputs, chosen, took["reckon"] / cells)
    return 0 if worst < ALLOWED and written else 1


def _against_limits(cuda: Any, seconds: float, cells: int, moved: float) -> None:
    copy, arithmetic = copy_rate(cuda), arithmetic_rate(cuda)
    flops = operations_a_cell() * cells
    by_memory, by_arithmetic = moved / copy, flops / arithmetic
    print(f"  card's copy {copy / 1e12:.2f} TB/s, multiply-adds {arithmetic / 1e12:.1f} TFLOP/s")
    print(f"  formula: {flops / 1e12:.2f} TFLOP, {moved / GIB:.2f} GiB")
    print(
        f"  limit by memory {by_memory * 1000:.1f} ms, by arithmetic {by_arithmetic * 1000:.1f} ms"
    )
    print(f"  share of the card's limit: {max(by_memory, by_arithmetic) / seconds:.2f}")


def _beside_the_processor(inputs: card.CardInputs, chosen: Any, card_s_a_cell: float) -> None:
    begun = time.perf_counter()
    in_double(inputs, chosen)
    took = (time.perf_counter() - begun) / chosen.size
    print(
        f"  one core in double: {took * 1e6:.1f} us a cell; the card {card_s_a_cell * 1e6:.4f} us"
    )


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=HEIGHT)
    rows = parser.parse_args().rows
    return on_the_card(rows, WIDTH) if card.is_card_there() else on_this_processor()


if __name__ == "__main__":
    sys.exit(main())
