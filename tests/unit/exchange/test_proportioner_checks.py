"""Proportioner checks from files: readings in SI with their errors; bad ones each get an answer."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from stillwet.domain.products import RatioBasis
from stillwet.domain.proportioner import Method
from stillwet.exchange.proportioner import CHECK_COLUMNS, Checks, read_checks
from stillwet.units import to_si

HEAD = "when,method,dial [%],mix_flow,drawn,seconds"
ROW = "2030-06-01 09:00,timed draw,1.0,30 gal/min,0.3 gal,60 s"


def _write(folder: Path, text: str, name: str = "checks.csv") -> Path:
    (folder / name).write_text(text, encoding="utf-8")
    return folder / name


def _good(folder: Path, text: str, name: str = "checks.csv") -> Checks:
    found, _, problems = read_checks(_write(folder, text, name))
    assert problems == (), "\n".join(map(str, problems))
    assert found is not None
    return found


def _told(folder: Path, text: str, name: str = "checks.csv") -> str:
    found, _, problems = read_checks(_write(folder, text, name))
    assert found is None
    return "\n".join(map(str, problems))


def test_readings_are_in_si_with_the_methods_own_errors(tmp_path: Path) -> None:
    """0.3 gal in 60 s at 30 gal/min; what was not said of errors is the method's stated default."""
    (check,), _ = _good(tmp_path, f"{HEAD}\n{ROW}\n")
    assert check.method is Method.TIMED_DRAW
    assert check.ratio_basis is RatioBasis.VOLUME
    assert check.dial.value == pytest.approx(0.01)
    assert check.readings["drawn"].value == pytest.approx(0.3 * 3.785411784e-3)
    assert check.readings["drawn"].within == pytest.approx(5e-5)
    assert check.readings["seconds"].within == 0.5
    flow = check.readings["mix_flow"]
    assert flow.within == pytest.approx(0.05 * flow.value)
    assert check.flow_m3_s == pytest.approx(to_si(30.0, "gal/min", dimension="flow"))


def test_errors_that_are_said_are_taken(tmp_path: Path) -> None:
    """In the reading's own unit, or as a share of it."""
    text = f"{HEAD},drawn_within,mix_flow_within,dial_within [%]\n{ROW},20 mL,3 %,0.05\n"
    (check,), _ = _good(tmp_path, text)
    assert check.readings["drawn"].within == pytest.approx(2e-5)
    flow = check.readings["mix_flow"]
    assert flow.within == pytest.approx(0.03 * flow.value)
    assert check.dial.within == pytest.approx(5e-4)


def test_mixed_units_are_brought_together_where_each_says_its_own(tmp_path: Path) -> None:
    """The same draw in gallons and in litres gives the same check."""
    other = ROW.replace("0.3 gal", "1.1356235352 L").replace("30 gal/min", "113.56235352 L/min")
    (first, second), _ = _good(tmp_path, f"{HEAD}\n{ROW}\n{other}\n")
    assert second.readings["drawn"].value == pytest.approx(first.readings["drawn"].value)
    assert second.flow_m3_s == pytest.approx(first.flow_m3_s or 0.0)


def test_a_dial_in_parts_counts_the_concentrate_in_the_mix(tmp_path: Path) -> None:
    """1:100 is one in 101."""
    text = f"{HEAD.replace(' [%]', '')}\n{ROW.replace(',1.0,', ',1:100,')}\n"
    (check,), _ = _good(tmp_path, text)
    assert check.dial.value == pytest.approx(1.0 / 101.0)


def test_toml_reads_as_the_table_does(tmp_path: Path) -> None:
    """[[check]] tables with the same names; calibration samples among them."""
    text = """
    [[check]]
    method = "conductivity"
    dial = "1 %"
    conductivity = "750 uS/cm"
    when = "2030-06-01T09:00-06:00"
    [[check]]
    method = "conductivity"
    known_ratio = "0.5 %"
    conductivity = "600 uS/cm"
    """
    checks, standards = _good(tmp_path, text, "checks.toml")
    assert checks[0].readings["conductivity"].value == pytest.approx(0.075)
    assert standards[0].ratio.value == pytest.approx(0.005)
    assert standards[0].conductivity.value == pytest.approx(0.06)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("60 s", "0 s", "seconds: wanted 1 to 7200 s, got '0 s'"),
        (",1.0,", ",120,", "dial: wanted 0.001 to 50 %, got 120 %"),
        ("0.3 gal", "0.3", "drawn: wanted a unit after the number"),
        ("0.3 gal", "0.3 lb", "drawn: wanted a unit of volume"),
        ("30 gal/min", "30 gal", "mix_flow: wanted a unit of flow"),
        ("0.3 gal", "", "drawn: wanted a reading: timed draw needs it, got nothing"),
        (",1.0,", ",,", "dial: wanted the ratio that was set, got nothing"),
        ("timed draw", "time draw", 'did you mean "timed draw"?'),
        ("2030-06-01 09:00", "6/1/2030", "when: wanted a date and time"),
    ],
)
def test_bad_checks_get_a_clear_answer(tmp_path: Path, old: str, new: str, told: str) -> None:
    """Each names the field, what was wanted, what came, and the row."""
    text = _told(tmp_path, f"{HEAD}\n{ROW.replace(old, new)}\n")
    assert told in text
    assert "checks.csv, row 2" in text or "check 1" in text


def test_every_bad_row_is_told_at_once(tmp_path: Path) -> None:
    """Two faults in two rows are two problems."""
    rows = ROW.replace("60 s", "0 s") + "\n" + ROW.replace(",1.0,", ",120,")
    text = _told(tmp_path, f"{HEAD}\n{rows}\n")
    assert "seconds: wanted" in text
    assert "dial: wanted" in text


def test_a_powder_measured_by_volume_is_refused(tmp_path: Path) -> None:
    """A ratio by mass cannot come from a drawn volume: weigh it."""
    text = _told(tmp_path, f"{HEAD},ratio_basis\n{ROW},mass\n")
    assert "method: wanted weighed can: this ratio is by mass, as of a powder" in text
    assert "weigh the powder" in text


def test_two_bases_of_one_proportioner_are_refused(tmp_path: Path) -> None:
    """Percent by volume beside percent by mass in one file of one device misleads."""
    head = "method,dial [%],shown [%],ratio_basis"
    text = _told(tmp_path, f"{head}\nrefractometer,1,1.1,volume\nrefractometer,1,1.1,mass\n")
    assert "ratio_basis: wanted one basis for all checks" in text


def test_a_file_of_samples_alone_has_no_checks(tmp_path: Path) -> None:
    """Calibration is no check."""
    head = "method,known_ratio [%],conductivity [uS/cm]"
    assert "checks: wanted at least one check" in _told(tmp_path, f"{head}\nconductivity,1,700\n")


def test_the_same_name_twice_is_refused(tmp_path: Path) -> None:
    """Two checks of one id cannot be told apart in the report."""
    text = _told(tmp_path, f"id,{HEAD}\na,{ROW}\na,{ROW}\n")
    assert "id: wanted each check id once" in text


def test_a_file_that_is_none_is_refused(tmp_path: Path) -> None:
    """Not there, or of another kind."""
    _, _, problems = read_checks(tmp_path / "none.csv")
    assert "no such file" in str(problems[0])
    assert "a file ending in .csv" in _told(tmp_path, "text", "checks.doc")


def test_the_page_about_checks_is_true(tmp_path: Path) -> None:
    """Its example reads, and every column, method and word that is read stands on it."""
    page = (Path(__file__).parents[3] / "docs" / "how-to" / "proportioner_check.md").read_text(
        encoding="utf-8"
    )
    blocks = re.findall(r'```csv title="checks.csv"\n(.*?)```', page, re.DOTALL)
    assert len(blocks) == 1
    checks, _ = _good(tmp_path, blocks[0])
    assert len(checks) == 3
    prose = re.sub(r"```.*?```", "", page, flags=re.DOTALL)
    words = set(re.findall(r"[a-z0-9_]+", " ".join(re.findall(r"`([^`]+)`", prose))))
    names = {name for name in CHECK_COLUMNS.names if not name.endswith("_within")}
    assert names - words == set()
    assert [method for method in Method if f"`{method}`" not in page] == []
