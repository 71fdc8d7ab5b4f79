"""The comparison itself; as a script it prints the figures of docs/explanation/drying_check.md."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwet.physics import coat, kernel, transient, wind
from stillwet.physics.convection import WALL

if __package__:
    from .greensboro import WALL_TILT, Weather, read_month
else:  # run as a script, from its own folder
    from greensboro import WALL_TILT, Weather, read_month  # type: ignore[import-not-found,no-redef]

Array = NDArray[np.float64]
LENGTH = np.full(4, 2.5)
HEIGHT_M = 1.5
CODES = np.full(4, WALL, dtype=np.int8)
COAT_MM = 2.0
HOURS_AFTER = 10
RUN = 6


class Comparison(NamedTuple):
    """Demand of the balance and of the film kept wet [mm/h], (4, H), and which hours have sun."""

    fast_mm_h: Array
    film_mm_h: Array
    is_day: NDArray[np.bool_]


def fast_demand(weather: Weather) -> Array:
    """The kernel's demand [mm/h], (4, H)."""
    found = kernel.drying_demand_grid(
        air_temperature_k=weather.air_temperature_k,
        relative_humidity=weather.relative_humidity,
        wind_speed_m_s=weather.wind_speed_m_s,
        pressure_pa=weather.pressure_pa,
        irradiance_w_m2=weather.wall_irradiance_w_m2,
        irradiance_factor=np.ones_like(weather.air_temperature_k),
        sky_longwave_w_m2=weather.sky_longwave_w_m2,
        tilt_deg=WALL_TILT,
        length_m=LENGTH,
        height_m=np.full(4, HEIGHT_M),
        geometry=CODES,
        sheltering=np.ones(4),
    )
    return np.asarray(found[:, :, 0] * 3600.0)


def film(weather: Weather, **how: Any) -> transient.FilmHistory:
    """The film on the same walls."""
    profile = wind.log_profile_factor(from_height_m=10.0, to_height_m=HEIGHT_M)
    hours = weather.time_s.size
    return transient.film_history(
        geometry=CODES,
        length_m=LENGTH,
        tilt_deg=WALL_TILT,
        wind_m_s=np.broadcast_to(weather.wind_speed_m_s * profile, (4, hours, 1)),
        air_temperature_k=weather.air_temperature_k,
        relative_humidity=weather.relative_humidity,
        pressure_pa=weather.pressure_pa,
        irradiance_w_m2=weather.wall_irradiance_w_m2,
        sky_longwave_w_m2=weather.sky_longwave_w_m2,
        **how,
    )


def compare_demand(weather: Weather) -> Comparison:
    """Both demands through the weather, the film kept at 3 mm."""
    kept = film(weather, coat_kg_m2=3.0, kept_wet=True).evaporation_kg_m2[:, :, 0]
    return Comparison(fast_demand(weather), kept, weather.ghi_w_m2 > 0)


def six_hour_gaps(found: Comparison) -> Array:
    """Relative difference of the sums over every run of six daylight hours."""
    ones = np.ones(RUN)
    whole = np.convolve(found.is_day.astype(float), ones, "valid") >= RUN
    fast, kept = (
        np.array([np.convolve(row, ones, "valid")[whole] for row in rows])
        for rows in (found.fast_mm_h, found.film_mm_h)
    )
    return np.asarray(np.abs(fast / kept - 1.0).ravel())


def window_of(weather: Weather, first: int) -> Weather:
    hours = slice(first, first + HOURS_AFTER)
    cut = {
        name: value[:, hours] if name == "wall_irradiance_w_m2" else value[hours]
        for name, value in weather._asdict().items()
    }
    return Weather(**cut)


def coats_through(
    weather: Weather, *, exponent: float, every: int, skin: bool = False
) -> tuple[Array, Array]:
    """Share of a 2 mm coat left, by the fast pair and by the film: (starts, 4, hours after).

    A coat is laid at every so many daylight hours and followed for ten hours.
    """
    daylight = np.flatnonzero(weather.ghi_w_m2 > 0)
    starts = daylight[daylight + HOURS_AFTER < weather.time_s.size][::every]
    fast, kept = [], []
    for first in starts:
        window = window_of(weather, int(first))
        summed = np.cumsum(fast_demand(window), axis=1)
        fast.append(coat.share_left(drying_share=summed / COAT_MM, exponent=exponent))
        history = film(window, coat_kg_m2=COAT_MM, exponent=exponent, skin=skin)
        kept.append(history.left_kg_m2[:, :, 0] / COAT_MM)
    return np.array(fast), np.array(kept)


def print_demand(month: int) -> None:
    """One line a wall: mean demand, sum's difference, scatter, worst six hours."""
    found = compare_demand(read_month(month))
    day, ones = found.is_day, np.ones(RUN)
    whole = np.convolve(day.astype(float), ones, "valid") >= RUN
    for name, fast, kept in zip("NESW", found.fast_mm_h, found.film_mm_h, strict=True):
        gap = fast[day] - kept[day]
        runs = [np.convolve(row, ones, "valid")[whole] for row in (fast, kept)]
        print(
            f"month {month:2}  {name}  {day.sum()} h  fast {fast[day].mean():.3f}"
            f"  film {kept[day].mean():.3f} mm/h  sum {fast[day].sum() / kept[day].sum() - 1:+.1%}"
            f"  rms {np.sqrt((gap**2).mean()) / kept[day].mean():.1%}"
            f"  largest hour {np.abs(gap).max():.3f} mm"
            f"  six hours {np.abs(runs[0] / runs[1] - 1).max():.1%}"
        )


def print_coats(exponent: float, *, skin: bool) -> None:
    """One line: how the share of the coat left differs, fast less film."""
    fast, kept = coats_through(read_month(7), exponent=exponent, every=7, skin=skin)
    gap = fast - kept
    print(
        f"n {exponent:.2f}  {'skin' if skin else 'patches':7}  {fast.shape[0] * 4} coats"
        f"  mean {gap.mean():+.1%}  lowest {gap.min():+.1%}  highest {gap.max():+.1%} of the coat"
    )


def print_skin_exponent() -> None:
    """The exponent with which the fast pair comes closest to a film with a skin."""
    for of_skin in (0.5, 0.75, 1.0):
        _, kept = coats_through(read_month(7), exponent=of_skin, every=40, skin=True)
        gaps = {
            n: np.sqrt(((coats_through(read_month(7), exponent=n, every=40)[0] - kept) ** 2).mean())
            for n in np.arange(0.0, 1.01, 0.05)
        }
        best = min(gaps, key=lambda n: gaps[n])
        print(f"skin n {of_skin:.2f}: fast n {best:.2f}, rms {gaps[best]:.1%} of the coat")


if __name__ == "__main__":
    for each in (7, 1, 4, 10):
        print_demand(each)
    for has_skin in (False, True):
        for each_n in (0.5, 0.75, 1.0):
            print_coats(each_n, skin=has_skin)
    print_skin_exponent()
