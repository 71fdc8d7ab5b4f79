"""The outlook's drying demand on a graphics card: a thread a cell, in single precision.

The functions are the kernel's own, narrowed by `outlook.single`; only the loop over cells is
written here. The same loop compiles for this processor, which is how it is tested without a card.
"""

from __future__ import annotations

import warnings
from collections.abc import Callable
from functools import lru_cache
from importlib.util import find_spec
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwet.errors import Problem, StillwetError
from stillwet.outlook.ask import Ask
from stillwet.outlook.holding import Answers, hold_answers
from stillwet.outlook.loading import Forecast
from stillwet.outlook.region import RegionWeather
from stillwet.outlook.single import single_forms
from stillwet.physics import kernel
from stillwet.physics.convection import BUOYANT_BASE, BUOYANT_SLOPE, CYLINDER
from stillwet.physics.convection import OUTDOOR_TURBULENCE_FACTOR as TURBULENCE
from stillwet.physics.drying import BACK_CONDUCTANCE_W_M2K, SOLAR_ABSORPTIVITY, WATER_EMISSIVITY
from stillwet.physics.sun_grid import SunFrom
from stillwet.physics.sun_track import face_directions, places, sun_track
from stillwet.physics.wet_face import NEAR_ROOT
from stillwet.physics.wind import OPEN_ROUGHNESS_M

Single = NDArray[np.float32]
THREADS = 128
_HOW = 'pip install "stillwet[gpu]"'
_TRACK_ROWS, _PLACE_ROWS, _FACE_ROWS = 6, 10, 10


class CardInputs(NamedTuple):
    """What goes to the card, single precision: fields (H, N), the rest small.

    N cells. ``track`` (6, H), ``place`` (10, N) with the turbidity of the forecast's month, and
    ``faces`` (S, 10).
    """

    temperature: Single
    humidity: Single
    wind: Single
    pressure: Single
    sun: Single
    cloud: Single
    track: Single
    place: Single
    faces: Single
    source: int
    before: float  # share of the step before in the light of a stamp
    albedo: float


def card_inputs(weather: RegionWeather, ask: Ask) -> CardInputs:
    """A region of one member made ready; raises for what the card's loop does not do."""
    if weather.air_temperature_k.shape[2] != 1 or weather.sun_from is SunFrom.PARTS:
        wanted = "one member and global sun or cloud"
        raise StillwetError(Problem("--card", wanted, "members or direct and diffuse sun"))
    if weather.cloud is None or weather.sun_shift_s > 0:
        wanted = "cloud cover in the forecast"
        raise StillwetError(Problem("--card", wanted, "none"))
    track = sun_track(time_s=weather.time_s + weather.sun_shift_s)
    place = places(
        latitude_deg=weather.latitude_deg,
        longitude_deg=weather.longitude_deg,
        elevation_m=weather.elevation_m,
        turbidity=weather.turbidity,
    )

    def narrow(values: Any) -> Single:
        return np.ascontiguousarray(values, dtype=np.float32)

    rows = [np.asarray(row) for row in place[:9]]
    rows.append(weather.turbidity[int(track.month[track.month.size // 2])])
    return CardInputs(
        temperature=narrow(weather.air_temperature_k[:, :, 0]),
        humidity=narrow(weather.relative_humidity[:, :, 0]),
        wind=narrow(weather.wind_speed_m_s[:, :, 0]),
        pressure=narrow(weather.pressure_pa),
        sun=narrow(weather.sun[:, :, 0]),
        cloud=narrow(weather.cloud[:, :, 0]),
        track=narrow(np.stack(track[:6])),
        place=narrow(np.stack(rows)),
        faces=narrow(face_rows(ask)),
        source=int(weather.sun_from),
        before=weather.sun_shift_s / -3600.0,
        albedo=ask.albedo,
    )


def why_no_card(forecast: Forecast) -> str | None:
    """Why the card is left aside for this forecast, in a few words; None where it is used."""
    if not is_card_there():
        if find_spec("numba_cuda") is None:
            return f"no card can be used without its compiler ({_HOW})"
        return "no graphics card was found here"
    if forecast.grid.members > 1:
        return "the card does one member at a time"
    if "cloud_cover" not in forecast.fields or forecast.sun_from is SunFrom.PARTS:
        return "the card needs cloud cover and no direct and diffuse sun in the forecast"
    return None


def region_answers_by_card(weather: RegionWeather, ask: Ask) -> Answers:
    """Every answer over the region, its demand from the card."""
    demand = demand_on_card(card_inputs(weather, ask)).astype(np.float64)
    return hold_answers(
        demand_kg_m2_s=demand[:, :, :, None], valid=weather.valid, time_s=weather.time_s, ask=ask
    )


def face_rows(ask: Ask) -> NDArray[np.float64]:
    """Each face's constants: direction, sky view, length, wind factor, roots and coefficients."""
    sky, length, factor, codes = kernel.face_columns(
        tilt_deg=np.array([face.tilt_deg for face in ask.faces]),
        length_m=np.array([face.length_m for face in ask.faces]),
        height_m=np.array([face.height_m for face in ask.faces]),
        sheltering=np.full(len(ask.faces), ask.sheltering),
        geometry=np.array([face.geometry for face in ask.faces], dtype=np.int8),
        roughness_m=OPEN_ROUGHNESS_M,
    )
    way = face_directions(
        tilt_deg=np.array([face.tilt_deg for face in ask.faces]),
        azimuth_deg=np.array([face.azimuth_deg for face in ask.faces]),
    )
    base = np.array([BUOYANT_BASE[int(code)] for code in codes])
    slope = np.array([BUOYANT_SLOPE[int(code)] for code in codes])
    round_face = (codes == CYLINDER).astype(float)
    rows = (way.up, way.east, way.north, sky, length, factor, np.sqrt(length), base, slope)
    return np.stack([*rows, round_face], axis=1)


def make_face(compile_inline: Callable[[Any], Any], forms: Any) -> Any:
    """The demand of one face in one hour, as a function to call from compiled code."""
    powers_of, plate, cylinder = forms.plate_powers, forms.forced_on_plate, forms.forced_on_cylinder
    first, step, root_of = forms.first_rise, forms.halley_step, forms.twelfth_root_of_rise
    vapour_of, coefficient_of = forms.vapour_density_and_slope, forms.coefficient_and_slope
    rough_root_of = forms.rough_root_of_rise
    one, nil, half = np.float32(1), np.float32(0), np.float32(0.5)
    absorptivity, emissivity = np.float32(SOLAR_ABSORPTIVITY), np.float32(WATER_EMISSIVITY)
    back, turbulence = np.float32(BACK_CONDUCTANCE_W_M2K), np.float32(TURBULENCE)
    starts, steps, near_root = kernel.STARTS, kernel.STEPS, np.float32(NEAR_ROOT)

    def face(s: int, faces: Any, air: Any, sun: Any, sky: Any) -> Any:
        """Demand of one face in one hour."""
        ta, rho_va, full, rising, transfer, conductivity = air[:6]
        ground, buoy, lam, lam_wind, turb, turb_wind = air[6:]
        view, length, factor, base = faces[s, 3], faces[s, 4], faces[s, 5], faces[s, 7]
        if faces[s, 9] > half:
            forced = cylinder(conductivity, lam, lam_wind, length, factor, turbulence / length)
        else:
            powers = powers_of(length, factor, turbulence)
            forced = plate(conductivity, lam, lam_wind, turb, turb_wind, powers)
        incoming = absorptivity * sun + emissivity * (view * sky + (one - view) * ground)
        conductance, buoyant = conductivity / length, buoy * (faces[s, 6] * faces[s, 8])
        root, rise, water = near_root, nil, nil
        for _ in range(starts):
            rise = first(
                root,
                ta,
                incoming,
                rho_va,
                full,
                rising,
                transfer,
                forced,
                conductance,
                buoyant,
                base,
                emissivity,
                back,
            )
            root = rough_root_of(rise)
        surface = ta + rise
        for count in range(steps):
            if count > 0:
                rise = surface - ta
                root = root_of(rise)
            full, rising = vapour_of(surface)
            h, h_slope = coefficient_of(rise, root, forced, conductance, buoyant, base)
            surface, water = step(
                surface,
                ta,
                incoming,
                rho_va,
                transfer,
                full,
                rising,
                h,
                h_slope,
                emissivity,
                back,
            )
        return max(water, nil)

    return compile_inline(face)


def make_column(compile_inline: Callable[[Any], Any]) -> Any:
    """The demand of one cell over all hours and faces, as a function to compile.

    ``out`` (S, H, N) in kg/m2s; ``work`` (S,) light of the hour before, for hourly means.
    """
    forms = single_forms(compile_inline)
    sun_over, split, clear_global = forms.sun_over, forms.split_erbs, forms.clear_global_ineichen
    through, on_face, longwave = (
        forms.cloud_transmission,
        forms.light_on_face,
        forms.longwave_of_sky,
    )
    air_of, cloud_code = forms.air_of, int(SunFrom.CLOUD)
    one, nil = np.float32(1), np.float32(0)

    def light(n: int, h: int, given: Any, source: int, albedo: Any, track: Any, place: Any) -> Any:
        """The sun at one cell and hour: global, direct, diffuse and its direction."""
        zenith, up, east, north = sun_over(
            track[0, h],
            track[1, h],
            track[2, h],
            track[3, h],
            track[4, h],
            place[0, n],
            place[1, n],
            place[2, n],
            place[3, n],
            place[4, n],
            place[5, n],
            place[6, n],
        )
        extra = track[5, h]
        ghi = given
        if source == cloud_code:
            ghi = through(given) * clear_global(
                zenith, up, extra, place[9, n], place[8, n], place[7, n]
            )
        dni, dhi = split(ghi, zenith, up, extra)
        return ghi, dni, dhi, extra, up, east, north

    light = compile_inline(light)

    face = make_face(compile_inline, forms)

    def column(
        n: int,
        out: Any,
        temperature: Any,
        humidity: Any,
        wind: Any,
        pressure: Any,
        sun: Any,
        cloud: Any,
        track: Any,
        place: Any,
        faces: Any,
        source: int,
        before: Any,
        albedo: Any,
    ) -> None:
        hours = temperature.shape[0]
        for h in range(hours):
            given = cloud[h, n] if source == cloud_code else sun[h, n]
            now = light(n, h, given, source, albedo, track, place)
            after = now
            if before > nil and h + 1 < hours:
                after = light(n, h + 1, sun[h + 1, n], source, albedo, track, place)
            t, rh = temperature[h, n], humidity[h, n]
            air = air_of(t, rh, wind[h, n], pressure[h, n])
            sky = longwave(t, rh, cloud[h, n])
            for s in range(faces.shape[0]):
                up, east, north = faces[s, 0], faces[s, 1], faces[s, 2]
                this = on_face(*now, up, east, north, albedo)
                if before > nil and h + 1 < hours:
                    that = on_face(*after, up, east, north, albedo)
                    this = this * (one - before) + that * before
                out[s, h, n] = face(s, faces, air, this, sky)

    return compile_inline(column)


@lru_cache(maxsize=1)
def _on_this_processor() -> Any:
    import numba

    inline = numba.njit(fastmath={"contract"}, error_model="numpy", nogil=True)
    column = make_column(inline)

    @numba.njit(error_model="numpy", nogil=True)
    def every(out: Any, *inputs: Any) -> None:
        for n in range(out.shape[2]):
            column(n, out, *inputs)

    return every


def demand_in_single(inputs: CardInputs) -> Single:
    """Drying demand (S, H, N) [kg/m2s] in single precision on this processor."""
    out = np.empty((inputs.faces.shape[0], *inputs.temperature.shape), dtype=np.float32)
    _on_this_processor()(out, *_arguments(inputs))
    return out


def _arguments(inputs: CardInputs) -> tuple[Any, ...]:
    return (*inputs[:9], inputs.source, np.float32(inputs.before), np.float32(inputs.albedo))


def _cuda() -> Any:
    """The card's compiler. One of its releases asks numpy for names that newer numpy let go."""
    for name, now in (("row_stack", "vstack"), ("in1d", "isin"), ("trapz", "trapezoid")):
        if not hasattr(np, name):
            setattr(np, name, getattr(np, now))
    from numba import cuda

    return cuda


def is_card_there() -> bool:
    """True when a graphics card and the compiler for it can be used."""
    try:
        return bool(_cuda().is_available())
    except Exception:  # a missing or unlike driver: what it raises is not bounded
        return False


@lru_cache(maxsize=1)
def card_kernel() -> Any:
    """The loop compiled for the card: a thread a cell."""
    cuda = _cuda()
    column = make_column(cuda.jit(device=True, fastmath=False))

    @cuda.jit
    def every(  # type: ignore[no-untyped-def]
        out,
        temperature,
        humidity,
        wind,
        pressure,
        sun,
        cloud,
        track,
        place,
        faces,
        source,
        before,
        albedo,
    ):
        n = cuda.grid(1)
        if n < out.shape[2]:
            column(
                n,
                out,
                temperature,
                humidity,
                wind,
                pressure,
                sun,
                cloud,
                track,
                place,
                faces,
                source,
                before,
                albedo,
            )

    return every


def demand_on_card(inputs: CardInputs) -> Single:
    """Drying demand (S, H, N) [kg/m2s], reckoned on the card."""
    cuda = _cuda()
    shape = (inputs.faces.shape[0], *inputs.temperature.shape)
    there = [cuda.to_device(values) for values in inputs[:9]]
    out = cuda.device_array(shape, dtype=np.float32)
    blocks = -(-shape[2] // THREADS)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=".*Grid size")  # a small region leaves it idle
        card_kernel()[blocks, THREADS](out, *there, *_arguments(inputs)[9:])
    return np.asarray(out.copy_to_host())
