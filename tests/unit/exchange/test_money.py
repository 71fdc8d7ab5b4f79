"""Prices in the job's own currency: read, refused in any other, shown with their code."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from job_fixture import make_job, make_product
from job_folder import JOB, good, messages
from stillwet.domain.codec import from_plain, to_plain
from stillwet.domain.plan import Load
from stillwet.domain.products import Product
from stillwet.errors import StillwetError
from stillwet.exchange.job_file import read_job
from stillwet.exchange.job_writer import make_job_files
from stillwet.reports.words import money
from stillwet.units import CURRENCIES, WHOLE_MONEY, read_quantity

AUD = JOB.replace("[job]", '[job]\ncurrency = "aud"').replace('"180 usd"', '"240.50 AUD"')


def test_a_job_names_its_currency(tmp_path: Path) -> None:
    """The code in any case; dollars of the United States where nothing is said."""
    job = good(tmp_path, job=AUD)
    assert (job.currency, job.product.pack_price) == ("AUD", 240.5)
    assert good(tmp_path, job=JOB).currency == "USD"


def test_a_job_written_out_keeps_its_price_and_its_code(tmp_path: Path) -> None:
    """In files that read back to the same money."""
    job = good(tmp_path, job=AUD)
    folder = tmp_path / "out"
    folder.mkdir()
    for name, content in make_job_files(job).files.items():
        (folder / name).write_bytes(content)
    assert '"240.5 AUD"' in (folder / "job.toml").read_text(encoding="utf-8")
    again, problems = read_job(folder / "job.toml")
    assert problems == ()
    assert again is not None
    assert (again.currency, again.product.pack_price) == ("AUD", 240.5)


def test_a_price_in_other_money_is_refused_and_nothing_converted(tmp_path: Path) -> None:
    """Told with the field, what was wanted, what came, and both ways out."""
    (told,) = messages(tmp_path, job=JOB.replace("[job]", '[job]\ncurrency = "AUD"'))
    assert told == (
        "cost_per_pack: wanted a price in AUD, the currency of the job, got '180 usd' "
        "(job.toml, [product]); nothing is converted; if the job reckons in USD, "
        'write currency = "USD" in [job]'
    )


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ('currency = "AUS"', "currency: wanted the ISO 4217 code of a currency"),
        ('currency = "dollars"', "currency: wanted the ISO 4217 code of a currency"),
        ("currency = 36", "currency: wanted"),
    ],
)
def test_a_code_that_is_none_is_refused(tmp_path: Path, line: str, wanted: str) -> None:
    """By its field; a number, too."""
    told = messages(tmp_path, job=JOB.replace("[job]", f"[job]\n{line}"))
    assert any(one.startswith(wanted) for one in told), told


@pytest.mark.parametrize("price", ["180", "180 gal", "180 XYZ", "$180"])
def test_a_price_has_a_code(tmp_path: Path, price: str) -> None:
    """A sign or a bare number could be any of a dozen dollars."""
    told = messages(tmp_path, job=JOB.replace("180 usd", price))
    assert any(one.startswith("cost_per_pack: wanted") for one in told), told


def test_a_record_of_a_job_knows_only_codes() -> None:
    """As the reader does."""
    with pytest.raises(StillwetError, match="currency: wanted the ISO 4217 code"):
        make_job(currency="dollars")


def test_codes_are_those_in_use() -> None:
    """Against CLDR, which has from ISO 4217 what is tender where on a day.

    The guilder ANG is CLDR's a little longer (withdrawn by ISO's amendment 176 of 2025); El
    Salvador's colon and the digital bolivar stand in ISO's list of 2025 and are nobody's cash.
    """
    core, numbers = pytest.importorskip("babel.core"), pytest.importorskip("babel.numbers")
    day = date(2025, 6, 1)
    tender = {
        code
        for land in core.get_global("territory_currencies")
        for code in numbers.get_territory_currencies(land, start_date=day, end_date=day)
    }
    assert tender - {"ANG"} == CURRENCIES - {"SVC", "VED"}
    assert all(numbers.get_currency_precision(code) == 0 for code in WHOLE_MONEY)


def test_amounts_are_shown_with_their_code() -> None:
    """Thousands apart; cents where asked and where the money has any; a price not given is said."""
    assert money(1234.5, "AUD") == "AUD 1,234"
    assert money(240.5, "AUD", cents=True) == "AUD 240.50"
    assert money(25000.0, "JPY", cents=True) == "JPY 25,000"
    assert money(None, "AUD") == "no price given"


def test_what_was_kept_in_dollars_is_still_in_dollars() -> None:
    """Records of older files call the price after the dollar; they come back as USD."""
    product = to_plain(make_product(cost_per_pack=120.0), Product)
    product["cost_per_pack_usd"] = product.pop("cost_per_pack")
    assert from_plain(product, Product) == make_product(cost_per_pack=120.0)
    load = to_plain(Load(1.0, 0.9, 0.1, 100.0, 5, 600.0, (), "Engine 1", "USD"), Load)
    load["cost_usd"] = load.pop("cost")
    del load["currency"]
    assert from_plain(load, Load) == Load(1.0, 0.9, 0.1, 100.0, 5, 600.0, (), "Engine 1", "USD")


def test_densities_of_a_label() -> None:
    """NIST SP 811, appendix B.8: lb/ft3 is 1.601846 E+01 kg/m3, lb/gal (US) 1.198264 E+02."""
    for text, wanted in (("1 lb/ft3", 16.01846), ("1 lb/gal", 119.8264)):
        found = read_quantity(text, dimension="density", field="density")
        assert found == pytest.approx(wanted, rel=5e-7)
