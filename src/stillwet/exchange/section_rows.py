"""The sections of a job file that hold no list: head, product, local rules, practice, spread."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from stillwet.domain.basis import Basis
from stillwet.domain.job import Job, Practice, Uncertainty
from stillwet.domain.products import Product
from stillwet.domain.suitability import LocalRules
from stillwet.exchange import local as rules
from stillwet.exchange import products as labels
from stillwet.exchange.fields import Default, Quantity
from stillwet.exchange.places import written_time
from stillwet.exchange.practice import PERSISTENCE, PRACTICE, practice_defaults, spread_defaults
from stillwet.exchange.sheets import Filler
from stillwet.units import DOLLAR, si_name

Keys = dict[str, Any]
_PRODUCT = (
    (labels.DENSITY, "density_kg_m3"),
    (labels.YIELD_COEFFICIENT, "yield_coefficient_pa"),
    (labels.YIELD_THRESHOLD, "yield_threshold"),
    (labels.YIELD_EXPONENT, "yield_exponent"),
    (labels.HARDNESS_HALF, "hardness_half_kg_m3"),
    (labels.DRYING_EXPONENT, "drying_exponent"),
    (labels.COST, "cost_per_pack"),
)
_PRACTICE = {
    "thinnest_coat": "thinnest_coat_kg_m2",
    "ember_reserve": "ember_reserve_kg_m2",
    "ember_period": "ember_period_s",
    "work_window": "work_window_s",
    "egress_lead": "egress_lead_s",
    "longest_wait": "longest_wait_s",
}
_SPREADS = {
    "temperature": "temperature_k",
    "humidity": "humidity",
    "wind": "wind_log",
    "sun": "sun_log",
}


def labelled(spec: Quantity, value: float, currency: str = DOLLAR) -> str | float:
    """A number with its SI unit, or money with its code, as a job file holds it."""
    if not spec.dimension:
        return float(value)
    unit = currency if spec is labels.COST else si_name(spec.dimension)
    return f"{float(value)!r} {unit}"


def _untaken(
    numbers: Iterable[tuple[Quantity, float | None]],
    defaults: Mapping[str, Default],
    basis: Mapping[str, Basis],
    currency: str = DOLLAR,
) -> tuple[Keys, list[str]]:
    """The keys that a reader would not take by itself, and those that have aged."""
    filler, keys = Filler(defaults, basis), {}
    for spec, value in numbers:
        before = len(filler.cells)
        filler.number(spec, value)
        if value is not None and len(filler.cells) > before:
            keys[spec.name] = labelled(spec, value, currency)
    return keys, filler.aged


def head_keys(job: Job, zone: Any) -> Keys:
    """The [job] section."""
    return {
        "name": job.name,
        "time_zone": job.time_zone,
        "start": written_time(job.start_s, zone),
        "units": job.units,
        "currency": job.currency,
        "members": job.members,
        "seed": job.seed,
    }


def product_keys(product: Product, currency: str) -> tuple[Keys, list[str]]:
    """The [product] section; and the fields that have aged."""
    ratio = [labelled(labels.RATIO_LOW, end) for end in (product.ratio_low, product.ratio_high)]
    keys: Keys = {
        "id": product.id,
        **({"name": product.name} if product.name else {}),
        "type": product.product_type,
        "ratio": ratio,
        "ratio_basis": labels.ratio_word(product.ratio_basis),
        "pack": labelled(labels.PACK_VOLUME, product.pack_m3),
    }
    priced = product.pack_price is not None
    numbers = [
        (spec, float(getattr(product, attribute)))
        for spec, attribute in _PRODUCT
        if priced or spec is not labels.COST
    ]
    own, aged = _untaken(
        numbers, labels.type_defaults(product.product_type), product.basis, currency
    )
    if product.delivery:
        own["delivery"] = sorted(product.delivery)
    return {**keys, **own}, aged


def local_keys(local: LocalRules) -> Keys:
    """The [local] section; empty when nothing is known."""
    numbers = (
        (rules.GROUND_BUFFER, local.ground_buffer_m),
        (rules.WELL_BUFFER, local.well_buffer_m),
        (rules.WIND_LIMIT, local.wind_limit_m_s),
    )
    keys, _ = _untaken(numbers, {}, local.basis)
    for name in ("approved", "foam_in_equipment"):
        if getattr(local, name) is not None:
            keys[name] = getattr(local, name)
    if local.delivery is not None:
        keys["delivery"] = sorted(local.delivery)
    return keys


def practice_keys(practice: Practice) -> tuple[Keys, list[str]]:
    """The [practice] section, of what is not a stated default; and the fields that have aged."""
    numbers = [
        (spec, float(getattr(practice, _PRACTICE.get(spec.name, spec.name)))) for spec in PRACTICE
    ]
    return _untaken(numbers, practice_defaults(), practice.basis)


def uncertainty_keys(spread: Uncertainty) -> tuple[Keys, list[str]]:
    """The [uncertainty] section, of what is not a stated default; and the fields that have aged."""
    numbers = [(PERSISTENCE, spread.persistence_s)]
    defaults = spread_defaults()
    keys, aged = _untaken(numbers, {PERSISTENCE.name: defaults.persistence}, spread.basis)
    filler = Filler(basis=spread.basis)
    for name, attribute in _SPREADS.items():
        pair = getattr(spread, attribute)
        if pair == defaults.pairs[name] and not filler.is_told(name):
            continue
        if name in spread.basis and not filler.is_told(name):
            aged.append(name)
        keys[name] = [f"{end!r} K" if name == "temperature" else end for end in map(float, pair)]
    return keys, aged
