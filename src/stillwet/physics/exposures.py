"""Named fires: flame, spread, residence and setback for common exposures, each with its source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from types import MappingProxyType

from stillwet.physics.materials import Sourced, sourced
from stillwet.tables import load_table

EMBER_WINDOW = (
    "Embers come before, with and for hours after this fire, through gaps and vents and onto flat "
    "and re-entrant places: a low radiant flux does not make the face safe."
)


@dataclass(frozen=True, slots=True)
class Exposure:
    """One row of ``data/exposures.toml``: a fire by name."""

    name: str
    label: str  # plain words
    ember_window: str  # what to say of embers with every answer
    flame_length_m: Sourced
    flame_width_m: Sourced
    flame_tilt_deg: Sourced
    spread_rate_m_s: Sourced  # 0: stands where it is
    residence_s: Sourced
    setback_m: Sourced
    contact_flux_w_m2: Sourced
    ember_window_s: Sourced


@cache
def exposures() -> Mapping[str, Exposure]:
    """Every named exposure of the packaged table, by name."""
    columns = [field.name for field in fields(Exposure)][3:]
    found = {
        name: Exposure(
            name=name,
            label=row["label"],
            ember_window=f"{EMBER_WINDOW} {row['ember_note']}".strip(),
            **{column: sourced(row[column]) for column in columns},
        )
        for name, row in load_table("exposures").items()
    }
    return MappingProxyType(found)
