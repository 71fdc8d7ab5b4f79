"""What a draft may hold: the fields of every section and list, as the readers have them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from stillwet.exchange.assets import ASSET_COLUMNS
from stillwet.exchange.crews import CREW_COLUMNS, DEPOT_COLUMNS, WATER_COLUMNS
from stillwet.exchange.fire import FIRE_KEYS
from stillwet.exchange.job_file import JOB_KEYS
from stillwet.exchange.line_fields import LINE_COLUMNS
from stillwet.exchange.local import LOCAL_KEYS, WELL_COLUMNS
from stillwet.exchange.practice import PERSISTENCE, PRACTICE
from stillwet.exchange.products import PRODUCT_KEYS
from stillwet.exchange.tabular import Columns
from stillwet.exchange.weather_section import WEATHER_KEYS

# Keys whose value is a pair in the job file, each end a field of its own here.
PAIRS: Mapping[str, tuple[str, str]] = {
    "fire.arrival": ("fire.arrival_from", "fire.arrival_to"),
    "product.ratio": ("product.ratio_low", "product.ratio_high"),
    **{
        f"uncertainty.{name}": (f"uncertainty.{name}_first", f"uncertainty.{name}_later")
        for name in ("temperature", "humidity", "wind", "sun")
    },
}
# Keys whose value is a list of names, written here with semicolons between.
NAMES = ("local.approved",)
# Keys whose value is a table, kept here as JSON text.
TABLES = ("weather.columns", "roads.columns", "fire.also")
SECTIONS: Mapping[str, tuple[str, ...]] = {
    "job": JOB_KEYS,
    "weather": tuple(key for key in WEATHER_KEYS if key != "file"),
    "fire": FIRE_KEYS,
    "product": PRODUCT_KEYS,
    "roads": ("layer", "columns"),
    "local": LOCAL_KEYS,
    "practice": tuple(spec.name for spec in PRACTICE),
    "uncertainty": ("temperature", "humidity", "wind", "sun", PERSISTENCE.name),
}
LIST_COLUMNS: Mapping[str, Columns] = {
    "assets": ASSET_COLUMNS,
    "lines": LINE_COLUMNS,
    "streams": Columns(quantities={}, words=("name",)),
    "wells": WELL_COLUMNS,
    "crews": CREW_COLUMNS,
    "water": WATER_COLUMNS,
    "depots": DEPOT_COLUMNS,
}
INLINE = {"crews": "crew", "water": "water_point", "depots": "depot", "wells": "well"}


def text_keys() -> frozenset[str]:
    """Every "section.field" that may be typed."""
    found: set[str] = set()
    for section, keys in SECTIONS.items():
        for key in keys:
            found.update(PAIRS.get(f"{section}.{key}", (f"{section}.{key}",)))
    return frozenset(found)


@dataclass(frozen=True, slots=True)
class Spot:
    """Where something stands in a draft: a typed field, or a field of a row, or a whole list."""

    key: str = ""  # "section.field", or a section alone
    list: str = ""
    row: str = ""
    field: str = ""
