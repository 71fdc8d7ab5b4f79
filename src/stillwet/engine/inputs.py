"""Every number a plan stood on, with its basis, for the asset's card and the job's page."""

from __future__ import annotations

from stillwet.domain.assets import Asset
from stillwet.domain.basis import Basis, BasisKind, Input
from stillwet.domain.job import Job
from stillwet.tables import load_table

_ASSET_UNITS = {
    "value": "",
    "length": "m",
    "width": "m",
    "eave_height": "m",
    "roof_pitch": "deg",
    "facing": "deg",
    "sheltering": "fraction",
    "material": "",
    "shading": "",
    "coat_gap": "s",
}
_FIRE_UNITS = {
    "flame_length": "m",
    "flame_width": "m",
    "flame_tilt": "deg",
    "spread_rate": "m/s",
    "residence": "s",
    "setback": "m",
    "flux_peak": "W/m2",
    "flux_duration": "s",
    "bearing": "deg",
    "ground_slope": "deg",
}
_FUEL_UNITS = {
    "model": "",
    "slope": "deg",
    "moisture_1h": "fraction",
    "moisture_10h": "fraction",
    "moisture_100h": "fraction",
    "moisture_herb": "fraction",
    "moisture_woody": "fraction",
    "canopy_cover": "fraction",
    "canopy_height": "m",
    "crown_ratio": "fraction",
}
_PRACTICE_UNITS = {
    "transfer_efficiency": "fraction",
    "coat_variation": "fraction",
    "cling_safety": "",
    "thinnest_coat": "kg/m2",
    "ember_reserve": "kg/m2",
    "ember_period": "s",
    "water_efficiency": "fraction",
    "work_window": "s",
    "egress_lead": "s",
    "longest_wait": "s",
    "ground_albedo": "fraction",
}
_PRODUCT_UNITS = {
    "ratio_low": "fraction",
    "ratio_high": "fraction",
    "density": "kg/m3",
    "yield_coefficient": "Pa",
    "yield_threshold": "fraction",
    "yield_exponent": "",
    "hardness_half": "kg/m3",
    "drying_exponent": "",
}
_CREW_UNITS = {"tank": "m3", "reserve": "m3", "spray_flow": "m3/s", "setup": "s"}
_SUFFIX = {
    "m": "_m",
    "deg": "_deg",
    "s": "_s",
    "m/s": "_m_s",
    "W/m2": "_w_m2",
    "kg/m2": "_kg_m2",
    "kg/m3": "_kg_m3",
    "Pa": "_pa",
    "m3": "_m3",
    "m3/s": "_m3_s",
}


def _inputs(
    record: object, basis: dict[str, Basis], units: dict[str, str], prefix: str = ""
) -> tuple[Input, ...]:
    """The record's fields that carry a basis, as inputs; a field without one came from the user."""
    found = []
    for name, unit in units.items():
        value = getattr(record, name, None)
        if value is None:
            value = getattr(record, name + _SUFFIX.get(unit, ""), None)
        if value is None or name not in basis:
            continue
        shown = value if isinstance(value, (int, float)) else str(value)
        label = (prefix + name).replace("_", " ")
        found.append(Input(label, shown, unit, basis[name]))
    return tuple(found)


def asset_inputs(asset: Asset) -> tuple[Input, ...]:
    """What an asset's answer stood on: its own numbers, its fire's, the fuel's, what else burns."""
    fire = asset.fire
    found = _inputs(asset, dict(asset.basis), _ASSET_UNITS)
    found += _inputs(fire, dict(fire.basis), _FIRE_UNITS)
    if fire.fuel is not None:
        found += _inputs(fire.fuel, dict(fire.fuel.basis), _FUEL_UNITS, prefix="fuel ")
    for extra in fire.also:
        found += _inputs(extra, dict(extra.basis), _FIRE_UNITS, prefix=f"{extra.name}: ")
    return found


def job_inputs(job: Job) -> tuple[Input, ...]:
    """What the whole plan stood on: practice, product, first crew, forecast, fixed defaults."""
    crew = job.crews[0]
    return (
        _inputs(job.practice, dict(job.practice.basis), _PRACTICE_UNITS)
        + _inputs(job.product, dict(job.product.basis), _PRODUCT_UNITS)
        + _inputs(crew, dict(crew.basis), _CREW_UNITS, prefix=f"{crew.name}: ")
        + _forecast_spreads(job)
        + _fixed_defaults()
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
    return found + _inputs(spread, dict(spread.basis), {"persistence": "s"}, "forecast error's ")


def _fixed_defaults() -> tuple[Input, ...]:
    """Numbers that no job file sets yet, shown so that nobody takes them for measured."""
    from stillwet.engine.exposure import WET_CONVECTION_W_M2K
    from stillwet.engine.members import FLUX_LOG_SD
    from stillwet.physics import convection, drying

    return (
        Input(
            "spread of the flux (standard deviation of its logarithm)",
            FLUX_LOG_SD,
            "",
            Basis(BasisKind.UNTESTED, "scatter of a stated fire's flux", 0.1, 0.5),
        ),
        Input(
            "convection from a boiling wet face",
            WET_CONVECTION_W_M2K,
            "W/m2K",
            Basis(BasisKind.UNTESTED, "outdoor air past a hot face", 5.0, 40.0),
        ),
        Input(
            "sun taken up by a coat",
            drying.SOLAR_ABSORPTIVITY,
            "fraction",
            Basis(
                BasisKind.UNTESTED,
                "white paint takes 0.2 to 0.3, wood 0.6 to 0.7 (Incropera table A.12)",
                drying.SOLAR_ABSORPTIVITY_LOW,
                drying.SOLAR_ABSORPTIVITY_HIGH,
            ),
        ),
        Input(
            "outdoor turbulence",
            convection.OUTDOOR_TURBULENCE_FACTOR,
            "",
            Basis(
                BasisKind.UNTESTED,
                "1.4 for small bodies outdoors (Campbell & Norman 1998)",
                convection.OUTDOOR_TURBULENCE_LOW,
                convection.OUTDOOR_TURBULENCE_HIGH,
            ),
        ),
        Input(
            "heat through the wall behind a coat",
            drying.BACK_CONDUCTANCE_W_M2K,
            "W/m2K",
            Basis(
                BasisKind.UNTESTED,
                "an insulated wall has 0.3 to 0.6, bare 20 mm boards about 3",
                drying.BACK_CONDUCTANCE_LOW,
                drying.BACK_CONDUCTANCE_HIGH,
            ),
        ),
    )


def table_inputs(name: str) -> tuple[Input, ...]:
    """The untested defaults of the table ``data/<name>.toml``, for the reader."""
    return tuple(
        Input(
            key.replace("_", " "),
            float(row["value"]),
            row["unit"],
            Basis(BasisKind.UNTESTED, row["source"], float(row["low"]), float(row["high"])),
        )
        for key, row in load_table(name)[name].items()
    )
