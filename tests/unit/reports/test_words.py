"""The reader's units and words against hand-made conversions."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwet.domain.basis import Basis, BasisKind, Input
from stillwet.reports.local_time import LocalClock
from stillwet.reports.words import (
    Units,
    bore,
    chance,
    clean,
    coat_detail,
    compass,
    first_sentences,
    gauge,
    input_interval,
    input_name,
    input_value,
    minutes,
    minutes_held,
    packs_words,
    quantity,
    ratio,
    short_name,
    shorten,
)


@pytest.mark.parametrize(
    ("value", "unit", "us", "metric"),
    [
        (6.35, "kg/m2", "0.25 in", "6.3 mm"),  # 1/4 in = 6.35 mm exactly
        (0.003785411784 * 120, "m3", "120 gal", "454 L"),
        (0.003785411784 * 5.5, "m3", "5.5 gal", "21 L"),
        (9.290304, "m2", "100 ft2", "9.3 m2"),
        (310.92777777777775, "K", "100 F", "38 C"),  # 100 F = 37.8 C
        (4.4704, "m/s", "10 mph", "16 km/h"),
        (45.359237, "kg", "100 lb", "45 kg"),
        (42_000.0, "W/m2", "42 kW/m2", "42 kW/m2"),
        (0.11, "fraction", "11 %", "11 %"),
        (273.15, "K", "32 F", "0 C"),
    ],
)
def test_quantities_in_both_systems(value: float, unit: str, us: str, metric: str) -> None:
    """Exact definitions (NIST SP 811, Appendix B) rounded for the reader."""
    assert quantity(value, unit, Units.US) == us
    assert quantity(value, unit, Units.METRIC) == metric


def test_small_amounts_do_not_vanish() -> None:
    """Half a litre of concentrate is not zero."""
    assert quantity(0.0005, "m3", Units.METRIC) == "0.50 L"
    assert quantity(0.0, "m3", Units.METRIC) == "0 L"


@pytest.mark.parametrize("value", [None, math.inf, math.nan])
def test_no_number_is_a_dash(value: float | None) -> None:
    """None and numbers that are not finite show as a dash without a unit."""
    assert quantity(value, "kg/m2", Units.US) == "-"


@pytest.mark.parametrize(
    ("inches", "shown"),
    [
        (1 / 8, "1/8 in"),
        (3 / 16, "3/16 in"),
        (0.18, "3/16 in"),
        (0.25, "1/4 in"),
        (1.0, "1 in"),
        (1.1875, "1 3/16 in"),
        (0.01, "under 1/16 in"),
        (0.15, "1/8 to 3/16 in"),  # 2.4 sixteenths: "1/8" alone would lay a sixth too little
        (0.21, "3/16 to 1/4 in"),
        (1.03, "1 to 1 1/16 in"),
        (0.06, "1/16 in"),
    ],
)
def test_gauge_of_sixteenths(inches: float, shown: str) -> None:
    """A mark where the coat is at one (within 0.15 of a sixteenth), both marks between two."""
    assert gauge(inches * 25.4) == shown


@given(st.floats(0.05, 25.0))
def test_a_gauge_never_tells_a_thinner_coat(water_kg_m2: float) -> None:
    """The upper mark told is no more than a quarter of a millimetre below the coat."""
    upper = Fraction(gauge(water_kg_m2).removesuffix(" in").split()[-1])
    assert float(upper) * 25.4 > water_kg_m2 - 0.25


def test_coat_detail_says_depth_gauge_and_coverage() -> None:
    """3/16 in of water is 11.7 gal per 100 ft2 (231 in3 to the gallon: 2700/231 = 11.69)."""
    assert coat_detail(4.7625, Units.US) == "3/16 in; 4.8 mm; 11.7 gal per 100 ft2"
    assert coat_detail(4.7625, Units.METRIC) == "0.19 in; 4.8 L/m2"


def test_ratio_always_says_of_what() -> None:
    """Volume percent and mass percent are told apart."""
    assert ratio(0.012, "volume percent of the finished mix") == "1.20 % by volume"
    assert ratio(0.0065, "mass percent of the finished mix") == "0.65 % by mass"


def test_chance_never_rounds_up_to_certainty() -> None:
    """256 of 256 members is not a promise, and 89.9 % is not 90 %."""
    assert chance(1.0) == "over 99 %"
    assert chance(0.899) == "89 %"
    assert chance(0.0) == "under 1 %"


def test_what_lasts_is_cut_down_and_what_is_done_rounded_up() -> None:
    """601 s of work are 11 min, 659 s of holding are 10: neither grants time that is not there."""
    assert minutes_held(44.9) == "44 s"
    assert minutes_held(659.0) == "10 min"
    assert minutes_held(7559.0) == "2 h 05 min"
    assert minutes_held(None) == "-"
    assert minutes(45.0) == "45 s"
    assert minutes(601.0) == "11 min"
    assert minutes(7500.0) == "2 h 05 min"
    assert minutes(None) == "-"


@pytest.mark.parametrize(
    ("bearing", "point"), [(0.0, "north"), (235.0, "south-west"), (350.0, "north"), (90.0, "east")]
)
def test_compass_points(bearing: float, point: str) -> None:
    """Eight points, wrapping at north."""
    assert compass(bearing) == point


def test_clean_keeps_words_and_drops_controls() -> None:
    """Escapes, direction overrides and line breaks go; scripts and emoji stay."""
    assert clean("\x1b[31mA\u202eB\nC\t🔥  בית\x00") == "[31mAB C 🔥 בית"


def test_names_that_differ_at_their_end_stay_apart() -> None:
    """Houses of one farm begin alike: what is cut is the middle, and the cut is marked."""
    farm = "The old Ridgeway farm above the creek, "
    first, second = short_name(farm + "barn", 24), short_name(farm + "shed", 24)
    assert first.endswith("barn")
    assert second.endswith("shed")
    assert "..." in first
    assert len(first) <= 24
    assert short_name("Barn", 24) == "Barn"


def test_reasons_are_cut_at_a_sentence() -> None:
    """Whole sentences as far as they fit; a full stop inside a number ends none."""
    text = "Takes 124.4 mm (4.90 in); no more clings. The fire boils off 42.0 mm. It is hot."
    assert first_sentences(text, 45) == "Takes 124.4 mm (4.90 in); no more clings."
    assert first_sentences(text, 200) == text
    assert first_sentences(text, 20) == "Takes 124.4 mm (4..."


def test_packs_are_told_to_the_next_tenth() -> None:
    """2.01 packs are not 2."""
    assert packs_words(2.01) == "2.1 packs"
    assert packs_words(2.0) == "2 packs"
    assert packs_words(1.0) == "1 pack"


def test_shorten_marks_the_cut() -> None:
    """A cut name ends in three dots and keeps to the limit."""
    assert shorten("abcdefghij", 8) == "abcde..."
    assert shorten("abc", 8) == "abc"


def test_inputs_in_the_readers_units() -> None:
    """Name without its unit ending, value and interval converted."""
    basis = Basis(BasisKind.UNTESTED, "by eye", 1.0, 3.0)
    item = Input("thinnest_coat_kg_m2", 2.0, "kg/m2", basis)
    assert input_name(item.name) == "thinnest coat"
    assert input_value(item, Units.METRIC) == "2.0 mm"
    assert input_interval(item, Units.METRIC) == "1.0 to 3.0 mm"
    assert input_interval(item, Units.US) == "0.039 to 0.12 in"


def test_a_word_that_is_a_default_says_what_it_may_be() -> None:
    """A material taken for granted names the other one."""
    basis = Basis(BasisKind.UNTESTED, "usual for the kind", instead="vinyl siding")
    assert input_interval(Input("material", "wood", "", basis), Units.US) == "or vinyl siding"


def test_deadlines_round_down_and_starts_round_up() -> None:
    """Rounding to the minute never grants time."""
    clock = LocalClock("America/Denver")
    time = 1912939200.0 + 59.0
    assert clock.short(time) == "Wed 06:00"
    assert clock.short(time, up=True) == "Wed 06:01"


def test_clock_change_is_named() -> None:
    """Clocks go back in Denver on 3 November 2030: both zones are named, and the hour repeats."""
    clock = LocalClock("America/Denver")
    before, after = 1919921400.0, 1919921400.0 + 3600.0  # 01:30 MDT, 01:30 MST
    assert clock.full(before) == "Sun 3 Nov 2030 01:30 MDT"
    assert clock.full(after) == "Sun 3 Nov 2030 01:30 MST"
    assert clock.zone_words([after, before]) == "MDT (UTC-06:00), then MST (UTC-07:00)"


def test_fixed_offset_zone() -> None:
    """A weather file's own "UTC+09:30" works where no zone has a name."""
    clock = LocalClock("UTC+09:30")
    assert clock.iso(0.0) == "1970-01-01T09:30:00+09:30"
    assert clock.full(0.0) == "Thu 1 Jan 1970 09:30 UTC+09:30"


@pytest.mark.parametrize(
    ("inches", "us", "metric"), [(1.5, "1.5 in", "38 mm"), (1.0, "1 in", "25 mm")]
)
def test_a_hose_is_called_by_its_bore(inches: float, us: str, metric: str) -> None:
    """25.4 mm an inch, exactly (NIST SP 811, appendix B.8)."""
    assert [bore(inches * 0.0254, units) for units in Units] == [us, metric]
