"""Assets as rows of a list that ``assets.read_entries`` reads back to the same assets."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from stillwet.domain.assets import Asset
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.fire import FireExposure, Fuel, StandingFire
from stillwet.domain.suitability import Delivery
from stillwet.exchange import assets as columns
from stillwet.exchange import fire as fires
from stillwet.exchange.fields import Default, Quantity
from stillwet.exchange.fire_fuel import FUEL_MODEL, FUEL_QUANTITIES, FUEL_SLOPE, fuel_defaults
from stillwet.exchange.places import Earth, written_time
from stillwet.exchange.sheets import Filler, SheetRow

_FRONT = (
    (fires.FLAME_LENGTH, "flame_length_m"),
    (fires.FLAME_WIDTH, "flame_width_m"),
    (fires.FLAME_TILT, "flame_tilt_deg"),
    (fires.SPREAD_RATE, "spread_rate_m_s"),
    (fires.RESIDENCE, "residence_s"),
    (fires.SETBACK, "setback_m"),
    (fires.FLUX_PEAK, "flux_peak_w_m2"),
    (fires.FLUX_DURATION, "flux_duration_s"),
)
_STANDING = ("flame_length_m", "flame_width_m", "flame_tilt_deg", "residence_s", "setback_m")


def asset_row(asset: Asset, earth: Earth, zone: Any) -> tuple[SheetRow, list[str]]:
    """One asset with its fire; also the fields whose stated default is no longer today's."""
    filler = Filler(columns.defaults_of_kind(asset.kind), asset.basis)
    filler.word("id", asset.id)
    filler.word("name", asset.name if asset.name != asset.id else "")
    filler.word("kind", asset.kind)
    filler.number(columns.VALUE, asset.value)
    _shape_cells(filler, asset)
    filler.plain("facing", asset.facing_deg)
    filler.word("material", asset.material)
    filler.word("shading", asset.shading.value)
    filler.number(columns.SHELTERING, asset.sheltering)
    _work_cells(filler, asset)
    _site_cells(filler, asset)
    _fire_cells(filler, asset.fire, zone)
    filler.word("note", asset.note)
    drawn = asset.footprint_m
    shape = earth.point(asset.x_m, asset.y_m) if drawn is None else earth.ring(drawn)
    return SheetRow(filler.cells, shape), filler.aged


def _shape_cells(filler: Filler, asset: Asset) -> None:
    """Sizes that a drawn footprint does not give."""
    if asset.footprint_m is None:
        filler.number(columns.LENGTH, asset.length_m)
        filler.number(columns.WIDTH, asset.width_m)
    filler.number(columns.EAVE_HEIGHT, asset.eave_height_m)
    filler.number(columns.ROOF_PITCH, asset.roof_pitch_deg)


def _work_cells(filler: Filler, asset: Asset) -> None:
    filler.flag("must", asset.must, otherwise=False)
    filler.words("needs", asset.needs)
    filler.plain("coats", asset.coats)
    filler.number(columns.COAT_GAP, asset.coat_gap_s)
    filler.word("after", asset.after or "")
    filler.flag("recoat", asset.recoat, otherwise=False)


def _site_cells(filler: Filler, asset: Asset) -> None:
    site = asset.site
    filler.flag("released", asset.released, otherwise=None if site.release_told else True)
    filler.word("task", site.task.value if site.task else "")
    filler.word("delivery", "" if site.delivery is Delivery.GROUND else site.delivery.value)
    for name in ("energised", "heritage", "has_windows", "collects_rain"):
        filler.flag(name, getattr(site, name))


def _fire_cells(into: Filler, fire: FireExposure, zone: Any) -> None:
    own = Filler(fires.named_fire(fire.name), fire.basis, into.cells, into.aged)
    own.word("exposure", fire.name)
    own.word("arrival_from", written_time(fire.arrival_from_s, zone))
    own.word("arrival_to", written_time(fire.arrival_to_s, zone))
    own.plain("fire_from", fire.bearing_deg)
    for spec, attribute in _FRONT:
        own.number(spec, getattr(fire, attribute))
    told = fires.GROUND_SLOPE.name in fire.basis or fire.ground_slope_deg != 0.0
    own.number(fires.GROUND_SLOPE, fire.ground_slope_deg if told else None)
    if fire.fuel is not None:
        _fuel_cells(into, fire.fuel, fire.ground_slope_deg)
    if fire.also:
        into.cells["also"] = [_standing_cells(one) for one in fire.also]


def _fuel_cells(into: Filler, fuel: Fuel, ground_slope_deg: float) -> None:
    own = Filler(_fuel_taken(ground_slope_deg), _by_key(fuel.basis), into.cells, into.aged)
    own.word(FUEL_MODEL, fuel.model)
    for name, spec in FUEL_QUANTITIES.items():
        if name.startswith("moisture"):
            own.number(spec, getattr(fuel, name))
    own.number(FUEL_SLOPE, fuel.slope_deg)
    if fuel.canopy_cover > 0.0:
        own.number(FUEL_QUANTITIES["canopy_cover"], fuel.canopy_cover)
        own.number(FUEL_QUANTITIES["canopy_height"], fuel.canopy_height_m)
        own.number(FUEL_QUANTITIES["crown_ratio"], fuel.crown_ratio)


def _fuel_taken(ground_slope_deg: float) -> dict[str, Default]:
    """What the reader takes of fuel by itself: live moistures, crowns, and the ground's slope."""
    slope = Default(max(0.0, ground_slope_deg), Basis(BasisKind.GIVEN, "the ground"))
    return {**fuel_defaults(), FUEL_SLOPE.name: slope}


def _by_key(basis: Mapping[str, Basis]) -> dict[str, Basis]:
    """A fuel's basis by the names of the columns."""
    return {FUEL_SLOPE.name if name == "slope" else name: own for name, own in basis.items()}


def _standing_cells(fire: StandingFire) -> dict[str, str]:
    """One standing fire as the keys of a [[fire.also]] table, labelled."""
    filler = Filler(fires.named_fire(fire.name), fire.basis)
    specs: dict[str, Quantity] = {attribute: spec for spec, attribute in _FRONT}
    cells = {"exposure": fire.name}
    if fire.bearing_deg is not None:
        cells["from"] = f"{fire.bearing_deg!r} deg"
    for attribute in _STANDING:
        spec = specs[attribute]
        before = len(filler.cells)
        filler.number(spec, getattr(fire, attribute))
        if len(filler.cells) > before:
            cells[spec.name] = f"{getattr(fire, attribute)!r} {spec.unit}"
    return cells
