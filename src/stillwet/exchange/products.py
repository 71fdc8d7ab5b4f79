"""Products: the label's numbers, the type's untested defaults for what the label does not say."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.products import NO_PRICE, Product, RatioBasis
from stillwet.domain.suitability import Delivery
from stillwet.errors import Problem, StillwetError, shown
from stillwet.exchange.clock import Clock
from stillwet.exchange.fields import Cell, Default, Picker, Quantity, is_labelled_by, row_names
from stillwet.exchange.files import read_bytes
from stillwet.exchange.findings import Findings, nearest_hint
from stillwet.exchange.local import read_deliveries
from stillwet.exchange.toml_door import Section, load_toml, sections_of
from stillwet.tables import load_table
from stillwet.units import DOLLAR, currency_of

RATIO_LOW = Quantity("ratio_low", "fraction", 1e-5, 0.2, "fraction")
RATIO_HIGH = Quantity("ratio_high", "fraction", 1e-5, 0.2, "fraction")
DENSITY = Quantity("density", "density", 100.0, 3000.0, "kg/m3")
YIELD_COEFFICIENT = Quantity("yield_coefficient", "pressure", 0.0, 1e9, "Pa")
YIELD_THRESHOLD = Quantity("yield_threshold", "fraction", 0.0, 0.2, "fraction")
YIELD_EXPONENT = Quantity("yield_exponent", "", 0.1, 5.0)
HARDNESS_HALF = Quantity("hardness_half", "hardness", 0.0, 1e3, "g/L")
DRYING_EXPONENT = Quantity("drying_exponent", "", 0.0, 1.0)
PACK_VOLUME = Quantity("pack", "volume", 1e-5, 10.0, "m3")
PACK_MASS = Quantity("pack", "mass", 1e-3, 20_000.0, "kg")
COST = Quantity("cost_per_pack", "money", 0.0, 1e9, DOLLAR)

# By the type when not given: field -> row of data/product_types.toml.
_BY_TYPE = {
    "density": "density_kg_m3",
    "yield_coefficient": "yield_coefficient_pa",
    "yield_threshold": "yield_threshold",
    "yield_exponent": "yield_exponent",
    "hardness_half": "hardness_half_kg_m3",
    "drying_exponent": "drying_exponent",
}
LABEL_QUANTITIES = (
    DENSITY,
    YIELD_COEFFICIENT,
    YIELD_THRESHOLD,
    YIELD_EXPONENT,
    HARDNESS_HALF,
    DRYING_EXPONENT,
    COST,
)
_NAMES = tuple(spec.name for spec in LABEL_QUANTITIES)
PRODUCT_KEYS = ("id", "name", "type", "ratio", "ratio_basis", "pack", "delivery", *_NAMES)
RATIO_WORDS = {"volume": RatioBasis.VOLUME, "mass": RatioBasis.MASS}


def ratio_word(basis: RatioBasis) -> str:
    """What a file calls a basis of ratios."""
    return next(word for word, own in RATIO_WORDS.items() if own is basis)


def choose_product(sections: list[Section], use: str | None, name: str) -> Section:
    """The product the job uses: the one of this id, or the only one."""
    ids = [str(section.values.get("id", "")) for section in sections]
    if use is None and len(sections) == 1:
        return sections[0]
    if ids.count(str(use)) > 1:
        raise StillwetError(Problem("id", "each product id once", f"{shown(use)} twice", name))
    if use in ids:
        return sections[ids.index(use)]
    got = "no choice" if use is None else shown(use)
    wanted = "use = one of the products " + ", ".join(ids)
    raise StillwetError(Problem("product", wanted, got, name, nearest_hint(use or "", ids)))


def read_product_file(path: Path) -> Product:
    """The one product of a TOML file ([product] or [[product]]); raises with every fault."""
    findings = Findings()
    content = read_bytes(path, name=path.name, key="--product")
    data = load_toml(content, name=path.name, key="--product")
    found = sections_of(data, "product", name=path.name, findings=findings)
    if not found and not findings.count:
        findings.add(Problem("product", "a table headed [[product]]", "none", path.name))
    product = None
    if not findings.count:
        section = choose_product(found, None, path.name)
        product = read_product(section, Clock(zone=None, name="UTC"), findings)
    if product is None or findings.count:
        raise StillwetError(findings.problems())
    return product


def read_product(
    section: Section, clock: Clock, findings: Findings, currency: str | None = None
) -> Product | None:
    """One product, or None when it has faults (which are noted).

    Its price is in ``currency``, that of the job; without one in any.
    """
    section.check_keys(PRODUCT_KEYS, findings)
    cells = section.cells(PRODUCT_KEYS)
    _spread_ratio(cells, section, findings)
    picker = Picker(cells, section.place, findings, clock)
    identity, kind = picker.text("id"), _type(picker)
    picker.defaults = type_defaults(kind) if kind else {}
    numbers = {spec.name: picker.number(spec) for spec in LABEL_QUANTITIES} if kind else {}
    _need_currency(picker, currency)
    low, high = picker.number(RATIO_LOW), picker.number(RATIO_HIGH)
    basis_word = picker.word("ratio_basis", RATIO_WORDS)
    pack_m3 = _pack(picker, numbers.get("density", float("nan")))
    name = picker.text("name") if picker.has("name") else identity
    delivery = _delivery(picker)
    if picker.failed or not numbers:
        return None
    _tell_mismatch(kind, basis_word, section, findings)
    with findings.catching():
        return Product(
            id=identity,
            name=name,
            product_type=kind,
            ratio_basis=RATIO_WORDS[basis_word],
            ratio_low=low,
            ratio_high=high,
            density_kg_m3=numbers["density"],
            yield_coefficient_pa=numbers["yield_coefficient"],
            yield_threshold=numbers["yield_threshold"],
            yield_exponent=numbers["yield_exponent"],
            hardness_half_kg_m3=numbers["hardness_half"],
            drying_exponent=numbers["drying_exponent"],
            pack_m3=pack_m3,
            cost_per_pack=numbers["cost_per_pack"],
            basis=picker.basis,
            delivery=delivery,
        )
    return None


def _spread_ratio(cells: dict[str, Cell], section: Section, findings: Findings) -> None:
    """Ratio = [low, high] as two fields; one number is both."""
    cell = cells.pop("ratio", None)
    if cell is None:
        return
    ends = cell.raw if isinstance(cell.raw, list) else [cell.raw, cell.raw]
    if len(ends) != 2:
        wanted = 'the label\'s range: ["0.5 %", "1.2 %"]'
        findings.add(Problem("ratio", wanted, shown(cell.raw), section.place))
        return
    cells["ratio_low"], cells["ratio_high"] = (Cell(end, cell.place) for end in ends)


def type_names() -> dict[str, str]:
    """Every way to write a product type (its id or its name) and its id."""
    return row_names(load_table("product_types"), "name")


def _type(picker: Picker) -> str:
    names = type_names()
    if not picker.has("type"):
        picker.failed = True
        wanted = "one of " + ", ".join(load_table("product_types"))
        picker.findings.add(Problem("type", wanted, "nothing", picker.place))
        return ""
    return names.get(picker.word("type", names), "")


@cache
def type_defaults(kind: str) -> dict[str, Default]:
    """The untested defaults of a product type by field, each with its interval."""
    row: Mapping[str, Any] = load_table("product_types")[kind]
    found = {
        field: Default(float(row[key]["median"]), _type_basis(row[key]))
        for field, key in _BY_TYPE.items()
    }
    # A cost of nothing is no estimate: the plan shows no money unless the label's price is given.
    found["cost_per_pack"] = Default(0.0, Basis(BasisKind.GIVEN, NO_PRICE))
    return found


def _type_basis(cell: Mapping[str, Any]) -> Basis:
    source = str(cell["source"])
    kind = BasisKind.PUBLISHED if source.startswith("published") else BasisKind.UNTESTED
    return Basis(kind, source.partition(": ")[2] or source, float(cell["low"]), float(cell["high"]))


def _need_currency(picker: Picker, currency: str | None) -> None:
    """Nothing is converted: a price in other money than the job's is a fault."""
    cell = picker.cells.get(COST.name)
    code = "" if cell is None else currency_of(cell.raw)
    if cell is None or not code or currency in (None, code):
        return
    picker.failed = True
    wanted = f"a price in {currency}, the currency of the job"
    hint = f'nothing is converted; if the job reckons in {code}, write currency = "{code}" in [job]'
    picker.findings.add(Problem(COST.name, wanted, shown(cell.raw), cell.place, hint))


def _delivery(picker: Picker) -> frozenset[Delivery]:
    """The ways of delivery that the label names; none where it is not told."""
    with picker.findings.catching():
        if picker.has("delivery"):
            return read_deliveries(picker.cells["delivery"])
    return frozenset()


def _pack(picker: Picker, density_kg_m3: float) -> float:
    """A pack's volume; one labelled by mass is divided by the concentrate's density."""
    cell = picker.cells.get("pack")
    if cell is not None and is_labelled_by(cell, "mass"):
        return picker.number(PACK_MASS) / density_kg_m3
    return picker.number(PACK_VOLUME)


def _tell_mismatch(kind: str, basis_word: str, section: Section, findings: Findings) -> None:
    usual = str(load_table("product_types")[kind]["ratio_basis"])
    if basis_word != usual:
        findings.tell(
            f"{section.place}: ratios are by {basis_word}, while this type's are usually by "
            f"{usual}; its untested yield numbers assume {usual}"
        )
