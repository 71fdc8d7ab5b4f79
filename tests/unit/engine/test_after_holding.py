"""Predictions held against looks: scores by outside rules, and right when the world is as drawn."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from after_fixture import LAID_S, Scene, said, scene
from job_fixture import HOUR
from stillwet.domain.after import Band, Dried, Holding
from stillwet.domain.log import CoatChecked, CoatLaid, Entry, Feel
from stillwet.engine.after_holding import Predicted, chance_bins, dried_of, holding_of, predict
from stillwet.engine.log_coats import LoggedCoats, logged_coats

BAND: Band = (100.0, 150.0, 200.0)


@pytest.fixture(scope="module")
def here() -> Scene:
    """The invented job."""
    return scene()


def _log(here: Scene, hours: list[float], coat: float = 4.0) -> LoggedCoats:
    """Coats on house and shed, each face touched at these hours after it was laid."""
    faces = [*here.faces("a1"), *here.faces("a2")]
    entries: list[Entry] = [said(LAID_S, CoatLaid(tuple(faces), "c1", coat_kg_m2=coat))]
    entries += [
        said(LAID_S + hour * HOUR, CoatChecked(face, Feel.WET)) for hour in hours for face in faces
    ]
    return logged_coats(here.prepared, here.plan, entries)


@pytest.mark.parametrize(
    ("wet_at", "dry_at", "expected"),
    [
        (None, 99.0, Dried.SOONER),
        (50.0, 99.0, Dried.SOONER),
        (201.0, None, Dried.LATER),
        (201.0, 260.0, Dried.LATER),
        (120.0, 180.0, Dried.WITHIN),
        (50.0, 260.0, Dried.WITHIN),
        (120.0, None, Dried.OPEN),
        (None, 180.0, Dried.OPEN),
        (None, None, Dried.OPEN),
    ],
)
def test_when_a_coat_dried(wet_at: float | None, dry_at: float | None, expected: Dried) -> None:
    """Off only where what was seen cannot lie in the band."""
    assert dried_of(BAND, wet_at, dry_at) is expected


def test_a_coat_not_dry_in_the_time_reckoned_is_never_later() -> None:
    """An endless prediction cannot be outlived; to be found dry contradicts it."""
    endless = (math.inf, math.inf, math.inf)
    assert dried_of(endless, 1e9, None) is Dried.OPEN
    assert dried_of(endless, None, 1e9) is Dried.SOONER


def test_bins_have_the_interval_of_wilson() -> None:
    """Its ends solve (found - p)^2 = z^2 p (1 - p) / n (Wilson 1927, J. Am. Stat. Assoc. 22:209).

    z = 1.6449, the 95 % point of the normal, for 90 %.
    """
    chance = np.array([0.85] * 10 + [0.3] * 4)
    is_wet = np.array([True] * 7 + [False] * 3 + [True] + [False] * 3)
    low, high = chance_bins(chance, is_wet)
    assert [low.count, high.count] == [4, 10]
    assert [low.found, high.found] == [0.25, 0.7]
    assert high.predicted == pytest.approx(0.85)
    for one in (low, high):
        for end in (one.found_low, one.found_high):
            off = (one.found - end) ** 2
            assert off == pytest.approx(1.6449**2 * end * (1 - end) / one.count, rel=1e-3)


def test_certain_chances_have_a_place() -> None:
    """0 and 1 fall into the outer spans."""
    low, high = chance_bins(np.array([0.0, 1.0]), np.array([False, True]))
    assert (low.low, high.high) == (0.0, 1.0)


def test_later_looks_find_less_and_thicker_coats_dry_later(here: Scene) -> None:
    """The chance of wet falls with the hour, and a coat of 6 mm is dry after one of 3 mm."""
    thin = predict(here.prepared, _log(here, [1.0, 4.0, 8.0], 3.0), seed=1, count=400)
    thick = predict(here.prepared, _log(here, [1.0, 4.0, 8.0], 6.0), seed=1, count=400)
    faces = thin.dry_s.shape[1]
    by_hour = thin.chance_wet.mean(axis=0).reshape(3, faces)
    assert (np.diff(by_hour, axis=0) < 0.0).all()
    assert (thick.dry_s >= thin.dry_s).all()
    assert (thick.chance_wet.mean(axis=0) > thin.chance_wet.mean(axis=0)).all()


def test_same_seed_same_answer(here: Scene) -> None:
    """Nothing hidden is drawn."""
    logged = _log(here, [2.0])
    one, other = (predict(here.prepared, logged, seed=3, count=50) for _ in range(2))
    assert np.array_equal(one.chance_wet, other.chance_wet)
    assert np.array_equal(one.dry_s, other.dry_s)


def _seen_in(here: Scene, logged: LoggedCoats, truth: Predicted, seed: int) -> LoggedCoats:
    """The log as hands would have filled it in a world drawn from the same cases."""
    source = np.random.default_rng(seed)
    looks = []
    for row, look in enumerate(logged.looks):
        draw, wet = source.random(), truth.chance_wet[0, row]
        dry = truth.chance_dry[0, row]
        feel = Feel.WET if draw < wet else Feel.DRY if draw < wet + dry else Feel.TACKY
        looks.append(replace(look, feel=feel))
    return replace(logged, looks=tuple(looks))


def _simulated(here: Scene, count: int, coat: float = 2.5) -> list[Holding]:
    logged = _log(here, [1.0, 3.0, 6.0], coat)
    predicted = predict(here.prepared, logged, seed=1, count=1500)
    found = []
    for seed in range(count):
        truth = predict(here.prepared, logged, seed=1000 + seed, count=1)
        seen = _seen_in(here, logged, truth, seed)
        found.append(holding_of(here.prepared, seen, predicted, seed=1))
    return found


def test_nine_in_ten_hold_where_the_world_is_as_drawn(here: Scene) -> None:
    """In 120 simulated days the count found wet is in its band in about nine of ten.

    The 0.1 % and 99.9 % points of so many draws at 90 % (binomial) are 98 and 117, with room here
    for the counts being whole numbers.
    """
    days = _simulated(here, 120)
    inside = sum(day.expected_wet[0] <= day.found_wet <= day.expected_wet[2] for day in days)
    assert inside >= 98


def test_checks_that_all_say_dry_are_told(here: Scene) -> None:
    """All dry after an hour: sooner than predicted, the Brier score worse than a coin's 0.25."""
    logged = _log(here, [1.0, 1.5])
    dry = replace(logged, looks=tuple(replace(look, feel=Feel.DRY) for look in logged.looks))
    holding = holding_of(here.prepared, dry, predict(here.prepared, dry, seed=1, count=400), seed=1)
    assert holding.verdict == "coats dried sooner than predicted"
    assert holding.brier is not None
    assert holding.brier > 0.25
    assert {one.dried for one in holding.dries} == {Dried.SOONER}


def test_few_checks_are_called_few(here: Scene) -> None:
    """Under 20 touches the verdict says so (untested default)."""
    logged = _log(here, [1.0])
    holding = holding_of(
        here.prepared, logged, predict(here.prepared, logged, seed=1, count=100), seed=1
    )
    assert holding.touched < 20
    assert holding.verdict.endswith("too few checks to judge by")
    enough = replace(holding, is_few=False)  # as where the setting is another number
    assert not enough.verdict.endswith("too few checks to judge by")


def test_coupons_are_told_apart_by_name_and_coat(here: Scene) -> None:
    """Weighed twice by name it is one; without a name each is its own; a new coat renews it."""
    face = here.faces("a1")[0]

    def weighed(hour: float, name: str) -> Entry:
        return said(LAID_S + hour * HOUR, CoatChecked(face, weighed_kg_m2=2.0, coupon=name))

    def coupons(*entries: Entry) -> int:
        laid = said(LAID_S, CoatLaid((face,), "c1", coat_kg_m2=4.0))
        return logged_coats(here.prepared, here.plan, [laid, *entries]).coupons

    assert coupons(weighed(0.5, "a"), weighed(1.0, "a")) == 1
    assert coupons(weighed(0.5, "a"), weighed(1.0, "b")) == 2
    assert coupons(weighed(0.5, ""), weighed(1.0, "")) == 2
    again = said(LAID_S + 1.2 * HOUR, CoatLaid((face,), "c1", coat_kg_m2=4.0))
    assert coupons(weighed(0.5, "a"), again, weighed(1.5, "a")) == 2


def test_only_what_was_weighed_has_a_band_of_weight(here: Scene) -> None:
    """A touch says wet or dry and nothing of grams."""
    face = here.faces("a1")[0]
    entries = [
        said(LAID_S, CoatLaid((face,), "c1", coat_kg_m2=4.0)),
        said(LAID_S + 0.5 * HOUR, CoatChecked(face, Feel.WET)),
        said(LAID_S + 1.0 * HOUR, CoatChecked(face, weighed_kg_m2=2.0, coupon="c")),
    ]
    looks = here.account(*entries).holding.looks
    assert [look.weight_band is None for look in looks] == [True, False]
