"""Every number a plan stood on, with its basis, for the asset's card and the job's page."""

from __future__ import annotations

from stillwet.domain.assets import Asset
from stillwet.domain.basis import Basis, BasisKind, Input
from stillwet.domain.job import Job

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
    """What an asset's answer stood on: the asset's own numbers, then its fire's."""
    return _inputs(asset, dict(asset.basis), _ASSET_UNITS) + _inputs(
        asset.fire, dict(asset.fire.basis), _FIRE_UNITS
    )


def job_inputs(job: Job) -> tuple[Input, ...]:
    """What the whole plan stood on: practice, product, the reference crew, and fixed defaults."""
    crew = job.crews[0]
    return (
        _inputs(job.practice, dict(job.practice.basis), _PRACTICE_UNITS)
        + _inputs(job.product, dict(job.product.basis), _PRODUCT_UNITS)
        + _inputs(crew, dict(crew.basis), _CREW_UNITS, prefix=f"{crew.name}: ")
        + _fixed_defaults()
    )


def _fixed_defaults() -> tuple[Input, ...]:
    """Numbers that no job file sets yet, shown so that nobody takes them for measured."""
    from stillwet.engine.exposure import WET_CONVECTION_W_M2K
    from stillwet.engine.members import FLUX_LOG_SD

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
    )
