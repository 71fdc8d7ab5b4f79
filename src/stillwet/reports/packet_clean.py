"""The clean-up list of a packet: wash-off by face, flush by equipment, slippery places, water."""

from __future__ import annotations

from typing import Any

from stillwet.domain.cleaning import CleanAsset, CleanCrew, CleanFace
from stillwet.domain.packet import Packet
from stillwet.reports.line_words import length
from stillwet.reports.source_list import breakable
from stillwet.reports.words import Units, bore, clean, quantity, short_name
from stillwet.tables import load_table

Model = dict[str, Any]


def clean_page(packet: Packet, units: Units) -> Model:
    """Everything the clean-up pages print."""
    found, steps = packet.clean_up, load_table("mix_steps")
    return {
        "assets": [_asset(asset, units) for asset in found.assets],
        "slippery": [
            f"{_name(asset.name)}: {', '.join(clean(face.label) for face in slippery)}"
            for asset in found.assets
            if (slippery := [face for face in asset.faces if face.is_slippery])
        ],
        "crews": [_crew(crew, units) for crew in found.crews],
        "flush": steps["flush"]["lines"],
        "daily": steps["daily"]["lines"],
        "waters": _waters(packet),
        "near": [_near(asset, units) for asset in _nearest_first(found.assets)],
    }


def _name(text: str) -> str:
    return breakable(short_name(text, 40))


def _asset(asset: CleanAsset, units: Units) -> Model:
    return {
        "name": _name(asset.name),
        "faces": [_face(face, units) for face in asset.faces],
        "mind": _mind(asset),
    }


def _face(face: CleanFace, units: Units) -> str:
    slippery = ", SLIPPERY" if face.is_slippery else ""
    return f"{clean(face.label)} {quantity(face.area_m2, 'm2', units)}{slippery}"


def _mind(asset: CleanAsset) -> str:
    """What this asset asks for; what the list does not say is asked, not assumed."""
    told = []
    if asset.collects_rain:
        told.append("Rain is collected here: pipe off before washing, first water thrown away.")
    elif asset.collects_rain is None and any(face.is_slippery for face in asset.faces):
        told.append("Is rain collected from the roof? Ask.")
    if asset.is_heritage:
        told.append("Old surfaces: ask the owner how to wash them.")
    if asset.has_windows:
        told.append("Windows: wash before it dries on.")
    return " ".join(told)


def _crew(crew: CleanCrew, units: Units) -> Model:
    parts = [f"tank, {quantity(crew.tank_m3, 'm3', units)}", "pump"]
    parts.append("eductor and pick-up tube" if crew.has_eductor else "proportioner, if it has one")
    parts += [f"hose {bore(across, units)}, {length(run, units)}" for across, run in crew.hoses_m]
    parts += ["nozzle and strainer", "boots, steps, handrails"]
    return {
        "name": _name(crew.name),
        "parts": parts if crew.hoses_m else [*parts, "hoses: ______"],
        "foam": {
            True: "Foam may be in it: flush before AND after gel.",
            False: "No foam in it, as the job says: see that it stays so.",
            None: "Was foam in it? ______",
        }[crew.may_hold_foam],
    }


def _waters(packet: Packet) -> list[str]:
    found = packet.clean_up
    told = [f"{clean(kind)}: {_name(name)}" for kind, name in found.wells]
    told += [f"water point: {_name(name)}" for name in found.water_points]
    if found.has_streams:
        told.append("streams as drawn on the map")
    return told


def _nearest_first(assets: tuple[CleanAsset, ...]) -> list[CleanAsset]:
    """The coated assets with water drawn near them, nearest first; no more than a dozen."""
    known = [asset for asset in assets if _least(asset) is not None]
    return sorted(known, key=lambda asset: _least(asset) or 0.0)[:12]


def _least(asset: CleanAsset) -> float | None:
    told = [away for away in (asset.to_stream_m, asset.to_well_m) if away is not None]
    return min(told, default=None)


def _near(asset: CleanAsset, units: Units) -> str:
    told = []
    if asset.to_stream_m is not None:
        told.append(f"{length(asset.to_stream_m, units)} to a stream")
    if asset.to_well_m is not None:
        told.append(f"{length(asset.to_well_m, units)} to a well or cistern")
    return f"{_name(asset.name)}: {', '.join(told)}"
