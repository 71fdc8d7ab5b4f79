"""Every number a plan stood on, with its basis, for the asset's card and the job's page."""

from __future__ import annotations

from collections.abc import Mapping

from stillwet.domain.assets import Asset
from stillwet.domain.basis import Basis, BasisKind, Input
from stillwet.domain.job import Job
from stillwet.engine.mixing import hardest_water
from stillwet.tables import load_table

# Name in the basis -> field of the record, and its unit for the reader.
Fields = Mapping[str, tuple[str, str]]

_ASSET: Fields = {
    "value": ("value", ""),
    "length": ("length_m", "m"),
    "width": ("width_m", "m"),
    "eave_height": ("eave_height_m", "m"),
    "roof_pitch": ("roof_pitch_deg", "deg"),
    "facing": ("facing_deg", "deg"),
    "sheltering": ("sheltering", "fraction"),
    "material": ("material", ""),
    "shading": ("shading", ""),
    "coat_gap": ("coat_gap_s", "s"),
}
_FIRE: Fields = {
    "flame_length": ("flame_length_m", "m"),
    "flame_width": ("flame_width_m", "m"),
    "flame_tilt": ("flame_tilt_deg", "deg"),
    "spread_rate": ("spread_rate_m_s", "m/s"),
    "residence": ("residence_s", "s"),
    "setback": ("setback_m", "m"),
    "flux_peak": ("flux_peak_w_m2", "W/m2"),
    "flux_duration": ("flux_duration_s", "s"),
    "bearing": ("bearing_deg", "deg"),
    "ground_slope": ("ground_slope_deg", "deg"),
}
_OF_THE_FRONT = ("spread_rate", "flux_peak", "flux_duration", "ground_slope")
_STANDING_FIRE: Fields = {name: told for name, told in _FIRE.items() if name not in _OF_THE_FRONT}
FUEL: Fields = {
    "model": ("model", ""),
    "slope": ("slope_deg", "deg"),
    "moisture_1h": ("moisture_1h", "fraction"),
    "moisture_10h": ("moisture_10h", "fraction"),
    "moisture_100h": ("moisture_100h", "fraction"),
    "moisture_herb": ("moisture_herb", "fraction"),
    "moisture_woody": ("moisture_woody", "fraction"),
    "canopy_cover": ("canopy_cover", "fraction"),
    "canopy_height": ("canopy_height_m", "m"),
    "crown_ratio": ("crown_ratio", "fraction"),
}
_PRACTICE: Fields = {
    "transfer_efficiency": ("transfer_efficiency", "fraction"),
    "coat_variation": ("coat_variation", "fraction"),
    "cling_safety": ("cling_safety", ""),
    "thinnest_coat": ("thinnest_coat_kg_m2", "kg/m2"),
    "ember_reserve": ("ember_reserve_kg_m2", "kg/m2"),
    "ember_period": ("ember_period_s", "s"),
    "water_efficiency": ("water_efficiency", "fraction"),
    "work_window": ("work_window_s", "s"),
    "egress_lead": ("egress_lead_s", "s"),
    "longest_wait": ("longest_wait_s", "s"),
    "ground_albedo": ("ground_albedo", "fraction"),
}
_HARDNESS = "kg/m3 as CaCO3"
_PRODUCT: Fields = {
    "ratio_low": ("ratio_low", "fraction"),
    "ratio_high": ("ratio_high", "fraction"),
    "density": ("density_kg_m3", "kg/m3"),
    "yield_coefficient": ("yield_coefficient_pa", "Pa"),
    "yield_threshold": ("yield_threshold", "fraction"),
    "yield_exponent": ("yield_exponent", ""),
    "hardness_half": ("hardness_half_kg_m3", _HARDNESS),
    "drying_exponent": ("drying_exponent", ""),
}
_WATER: Fields = {
    "hardness": ("hardness_kg_m3", _HARDNESS),
    "water_temperature": ("water_temperature_k", "K"),
}
CREW: Fields = {
    "tank": ("tank_m3", "m3"),
    "reserve": ("reserve_m3", "m3"),
    "spray_flow": ("spray_flow_m3_s", "m3/s"),
    "setup": ("setup_s", "s"),
}
_PERSISTENCE: Fields = {"persistence": ("persistence_s", "s")}


def inputs_of(
    record: object, basis: Mapping[str, Basis], listed: Fields, prefix: str = ""
) -> tuple[Input, ...]:
    """The record's listed fields that have a value and a basis, as inputs."""
    found = []
    for name, (attribute, unit) in listed.items():
        value = getattr(record, attribute)
        if value is not None and name in basis:
            told = value if isinstance(value, (int, float)) else str(value)
            found.append(Input((prefix + name).replace("_", " "), told, unit, basis[name]))
    return tuple(found)


def asset_inputs(asset: Asset) -> tuple[Input, ...]:
    """What an asset's answer stood on: its own numbers, its fire's, the fuel's, what else burns."""
    fire = asset.fire
    found = inputs_of(asset, asset.basis, _ASSET) + inputs_of(fire, fire.basis, _FIRE)
    if fire.fuel is not None:
        found += inputs_of(fire.fuel, fire.fuel.basis, FUEL, "fuel ")
    for extra in fire.also:
        found += inputs_of(extra, extra.basis, _STANDING_FIRE, f"{extra.name}: ")
    return found


def job_inputs(job: Job) -> tuple[Input, ...]:
    """What the whole plan stood on: practice, product, water, first crew, forecast, defaults."""
    crew = job.crews[0]
    return shared_inputs(job, inputs_of(crew, crew.basis, CREW, f"{crew.name}: "))


def shared_inputs(job: Job, of_crews: tuple[Input, ...]) -> tuple[Input, ...]:
    """What every answer of a job stands on, with the numbers of the crews that do the work."""
    water = hardest_water(job)
    return (
        *inputs_of(job.practice, job.practice.basis, _PRACTICE),
        *inputs_of(job.product, job.product.basis, _PRODUCT),
        *(() if water is None else inputs_of(water, water.basis, _WATER, f"{water.name}: ")),
        *of_crews,
        *_forecast_spreads(job),
        *_fixed_defaults(),
    )


def _forecast_spreads(job: Job) -> tuple[Input, ...]:
    """How wide the members' weather spreads: standard deviations at the first hour and at 24 h."""
    spread = job.uncertainty
    told = {
        "temperature": " and ".join(f"{size:g}" for size in spread.temperature_k) + " K",
        "humidity": " and ".join(f"{size:g}" for size in spread.humidity) + " of RH",
        "wind": " and ".join(f"{size:g}" for size in spread.wind_log) + " of its logarithm",
        "sun": " and ".join(f"{size:g}" for size in spread.sun_log) + " of its logarithm",
    }
    found = tuple(
        Input(f"forecast spread of {name}, first hour and 24 h", words, "", spread.basis[name])
        for name, words in told.items()
        if name in spread.basis
    )
    return found + inputs_of(spread, spread.basis, _PERSISTENCE, "forecast error's ")


def _fixed_defaults() -> tuple[Input, ...]:
    """Numbers that no job file sets yet, shown so that nobody takes them for measured."""
    from stillwet.engine.exposure import WET_CONVECTION_W_M2K
    from stillwet.engine.members import FLUX_LOG_SD
    from stillwet.physics import convection, drying

    return (
        untested(
            "spread of the flux (standard deviation of its logarithm)",
            (FLUX_LOG_SD, 0.1, 0.5),
            "",
            "scatter of a stated fire's flux",
        ),
        untested(
            "convection from a boiling wet face",
            (WET_CONVECTION_W_M2K, 5.0, 40.0),
            "W/m2K",
            "outdoor air past a hot face",
        ),
        untested(
            "sun taken up by a coat",
            (
                drying.SOLAR_ABSORPTIVITY,
                drying.SOLAR_ABSORPTIVITY_LOW,
                drying.SOLAR_ABSORPTIVITY_HIGH,
            ),
            "fraction",
            "white paint takes 0.2 to 0.3, wood 0.6 to 0.7 (Incropera table A.12)",
        ),
        untested(
            "outdoor turbulence",
            (
                convection.OUTDOOR_TURBULENCE_FACTOR,
                convection.OUTDOOR_TURBULENCE_LOW,
                convection.OUTDOOR_TURBULENCE_HIGH,
            ),
            "",
            "1.4 for small bodies outdoors (Campbell & Norman 1998)",
        ),
        untested(
            "heat through the wall behind a coat",
            (
                drying.BACK_CONDUCTANCE_W_M2K,
                drying.BACK_CONDUCTANCE_LOW,
                drying.BACK_CONDUCTANCE_HIGH,
            ),
            "W/m2K",
            "an insulated wall has 0.3 to 0.6, bare 20 mm boards about 3",
        ),
    )


def untested(name: str, span: tuple[float, float, float], unit: str, source: str) -> Input:
    """An untested default; ``span``: value, low, high."""
    value, low, high = span
    return Input(name, value, unit, Basis(BasisKind.UNTESTED, source, low, high))


def table_inputs(name: str) -> tuple[Input, ...]:
    """The untested defaults of the table ``data/<name>.toml``, for the reader."""
    return tuple(
        untested(
            key.replace("_", " "),
            (float(row["value"]), float(row["low"]), float(row["high"])),
            row["unit"],
            row["source"],
        )
        for key, row in load_table(name)[name].items()
    )
