"""Values that a person or a program may well write and no field can hold: told, never a traceback.

Each was met by trying the readers; what is wanted of them is our own choice (no source).
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from job_folder import ASSETS, JOB, good, messages
from stillwet.errors import StillwetError
from stillwet.exchange.clock import read_zone
from stillwet.exchange.draft_reader import read_draft, read_product_file
from stillwet.exchange.files import Files
from stillwet.exchange.findings import Findings
from stillwet.exchange.log_entry import Here, read_entry
from stillwet.units import read_quantity

ENTRY = {
    "id": "00000000-0000-4000-8000-000000000001",
    "by": "Ash",
    "kind": "ignition",
    "place": "x",
}
DENVER = read_zone("America/Denver", field="time_zone", place="")
MANY = "9" * 5000


def with_crew(line: str) -> str:
    """The job with one more line in its crew."""
    return JOB.replace('tank = "750 gal"', f'tank = "750 gal"\n{line}')


@pytest.mark.parametrize("raw", ["nan", "inf", "-inf"])
def test_a_number_that_is_none_is_no_name(tmp_path: Path, raw: str) -> None:
    """TOML has nan and inf; neither is an id, and the place of each is told."""
    (message,) = messages(tmp_path, job=JOB.replace('id = "e1"', f"id = {raw}"))
    assert message == f"id: wanted some text, got {raw} (job.toml, [[crew]] 1)"


@pytest.mark.parametrize("raw", [f"1{'0' * 400}", f'"{MANY}/8 in"', f'"{"9" * 400}/8 in"'])
def test_an_enormous_number(tmp_path: Path, raw: str) -> None:
    """A number of hundreds of figures is refused in its field, whole or as a fraction."""
    job = JOB + f"\n[practice]\nthinnest_coat = {raw}\n"
    (message,) = messages(tmp_path, job=job)
    assert message.startswith("thinnest_coat: wanted a ")
    assert "got" in message


@pytest.mark.parametrize("raw", [10**400, f"{MANY}/8 in", "9" * 400 + "/8 in"])
def test_an_enormous_coat_in_the_log(raw: object) -> None:
    """An entry from another device may hold any number; it is refused by name."""
    coat = {**ENTRY, "kind": "coat", "faces": "a1", "crew": "c1", "coat": raw}
    del coat["place"]
    with pytest.raises(StillwetError, match=r"^coat: wanted a "):
        read_entry(coat, Here(1.7e9, DENVER))
    with pytest.raises(StillwetError, match=r"^when_s: wanted epoch seconds, got 1000"):
        read_entry({**ENTRY, "when_s": 10**400}, Here(1.7e9, DENVER))


def test_a_fraction_of_an_inch_keeps_its_value() -> None:
    """1 3/16 in is 30.1625 mm (an inch is 25.4 mm: NIST SP 811, appendix B.8)."""
    assert read_quantity("1 3/16 in", dimension="length", field="x") == pytest.approx(0.0301625)


@pytest.mark.parametrize(("now", "wanted"), [("2026-03-08", "07"), ("2026-11-01", "31")])
def test_an_hour_of_yesterday_before_the_clocks_change(now: str, wanted: str) -> None:
    """At half past midnight "02:30" or "01:30" was yesterday, whatever today's clocks will do.

    Summer time in the US: 15 U.S.C. 260a, 2 a.m. of the second Sunday of March and the first of
    November.
    """
    now_s = datetime.fromisoformat(f"{now}T00:30").replace(tzinfo=DENVER.zone).timestamp()
    hour = "02:30" if wanted == "07" else "01:30"
    entry = read_entry({**ENTRY, "when": hour}, Here(now_s, DENVER))
    then = datetime.fromtimestamp(entry.when_s, tz=DENVER.zone)
    assert f"{then:%d %H:%M}" == f"{wanted} {hour}"


def test_an_hour_that_came_twice_today_is_asked_about() -> None:
    """After the change 01:30 was twice today: the shift is asked for."""
    now = datetime(2026, 11, 1, 9, 0, tzinfo=DENVER.zone).timestamp()
    with pytest.raises(StillwetError, match="wanted a time that comes once, got 2026-11-01 01:30"):
        read_entry({**ENTRY, "when": "01:30"}, Here(now, DENVER))


@pytest.mark.parametrize("zone", ["UTC-05:99", "localtime", "posixrules", "Factory"])
def test_no_zone_at_all(zone: str) -> None:
    """Ninety-nine minutes are no shift, and the zone of whatever machine reads is none."""
    with pytest.raises(StillwetError, match=r"^time_zone: wanted an IANA time zone"):
        read_zone(zone, field="time_zone", place="job.toml")


@pytest.mark.parametrize("text", [";", " ; "])
def test_a_pump_of_separators_alone(tmp_path: Path, text: str) -> None:
    """A separator with nothing about it is no pump; it was a crew without any gear."""
    (message,) = messages(tmp_path, job=with_crew(f'pump = "{text}"'))
    assert message.startswith('pump: wanted text such as "50 gal/min at 100 psi", got')


@pytest.mark.parametrize(("text", "kelvin"), [("2 \u00b0C", 2.0), ("+3.6 F", 2.0), ("2e0 K", 2.0)])
def test_a_spread_of_temperatures_however_written(tmp_path: Path, text: str, kelvin: float) -> None:
    """A difference of 1.8 degrees Fahrenheit is one kelvin (NIST SP 811, appendix B.8)."""
    job = JOB + f'\n[uncertainty]\ntemperature = ["{text}", "{text}"]\n'
    assert good(tmp_path, job=job).uncertainty.temperature_k == pytest.approx((kelvin, kelvin))


def test_a_mapping_knows_its_words(tmp_path: Path) -> None:
    """``units`` for ``unit`` would be passed over, and the numbers with it."""
    mapping = 'columns = { facing = { column = "eave height [ft]", units = "ft" } }'
    job = JOB.replace('"assets.csv"', f'"assets.csv"\n{mapping}')
    found = messages(tmp_path, job=job, assets=ASSETS)
    assert found[0].startswith("facing: wanted column and unit alone, got 'units' (assets.csv)")
    assert 'did you mean "unit"?' in found[0]


def test_standing_fires_in_a_very_long_text(tmp_path: Path) -> None:
    """A text that could be read in very many ways is refused at once (it took a quarter minute)."""
    began = datetime.now()
    job = JOB.replace('from = "SW"', f'from = "SW"\nalso = "{"a from " * 1500},"')
    (message,) = messages(tmp_path, job=job)
    assert message.startswith("also: wanted fires that stand")
    assert (datetime.now() - began).total_seconds() < 5.0


def test_two_products_of_one_id(tmp_path: Path) -> None:
    """Which of the two is meant cannot be known; the first was taken."""
    one = JOB[JOB.index("[product]") : JOB.index("[[crew]]")].replace("[product]", "[[product]]")
    head, tail = JOB[: JOB.index("[product]")], JOB[JOB.index("[[crew]]") :]
    job = f'{head}[product]\nfile = "p.toml"\nuse = "clear"\n\n{tail}'
    (message,) = messages(tmp_path, job=job, p_toml=one + one)
    assert message == "id: wanted each product id once, got 'clear' twice (p.toml)"


def test_problems_caught_are_bounded_too() -> None:
    """Faults raised by rows count as those noted: past a bound only their number is kept."""
    findings = Findings()
    for number in range(20_500):
        with findings.catching():
            read_quantity("x", dimension="length", field=f"f{number}")
    assert findings.count == 20_500
    assert findings.problems()[-1].got == "20300 further problems not shown"


def draft_of(folder: Path, job: str, **texts: str) -> tuple[dict[str, str], dict[str, str]]:
    """The texts of a job's draft, and the fields of its last crew."""
    (folder / "job.toml").write_text(job, "utf-8")
    for name, text in {"assets.csv": ASSETS, "weather.csv": "time\n", **texts}.items():
        (folder / name).write_text(text, "utf-8")
    document, _ = read_draft(Files(folder), "job.toml")
    return dict(document.texts), dict(document.lists["crews"][-1].fields)


def test_a_draft_keeps_odd_numbers_as_written(tmp_path: Path) -> None:
    """Not a number is kept for the person to see and mend."""
    texts, _ = draft_of(tmp_path, JOB.replace("[assets]", "seed = nan\n\n[assets]"))
    assert texts["job.seed"] == "nan"


def test_a_draft_loses_no_third_value(tmp_path: Path) -> None:
    """A pair of three values is told; the third was dropped."""
    job = JOB.replace('["0.5 %", "2 %"]', '["0.5 %", "1 %", "2 %"]')
    with pytest.raises(StillwetError, match=r"^product.ratio: wanted two values"):
        draft_of(tmp_path, job)


def test_a_draft_keeps_the_unit_of_a_number_with_an_exponent(tmp_path: Path) -> None:
    """A flow of 5e-4 under a header of m3/s has that unit in the draft."""
    table = "id,tank [m3],spray_flow [m3/s]\ne9,3,5e-4\n"
    job = JOB + '\n[crews]\nfile = "crews.csv"\n'
    _, crew = draft_of(tmp_path, job, **{"crews.csv": table})
    assert crew["spray_flow"] == "5e-4 m3/s"


def test_a_misspelt_key_of_a_brought_product(tmp_path: Path) -> None:
    """A product's file brought to the desk loses no key silently."""
    (tmp_path / "p.toml").write_text('[[product]]\nid = "clear"\ntpye = "x"\n', "utf-8")
    with pytest.raises(StillwetError, match=r"got 'tpye' .*did you mean \"type\"\?"):
        read_product_file("p.toml", Files(tmp_path))


@pytest.mark.parametrize("raw", ["nan", '"nan"'])
def test_not_a_number_gets_no_unit_proposed(tmp_path: Path, raw: str) -> None:
    """The advice to write "nan %" would help nobody."""
    found = messages(tmp_path, job=JOB.replace('["0.5 %", "2 %"]', f'[{raw}, "2 %"]'))
    assert len(found) == 1
    assert found[0].startswith("ratio_low: wanted a ")
    assert "write it as" not in found[0]


@pytest.mark.parametrize(
    ("key", "unused"), [("year = 2026\n", "year"), ('issued = "2026-08-14T06:00-06:00"\n', "")]
)
def test_a_key_that_a_format_has_no_use_for(tmp_path: Path, key: str, unused: str) -> None:
    """An hourly table has its own years: a year beside it is said to be passed over."""
    job = good(tmp_path, job=JOB.replace("[fire]", f"{key}\n[fire]"))
    said = f"weather.csv: {unused} not used with the format hourly table"
    assert (said in job.remarks) == bool(unused)
