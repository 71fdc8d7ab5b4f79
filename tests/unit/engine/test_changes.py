"""What-if changes: what is typed is what changes, and bad text is refused by name."""

from __future__ import annotations

import re
from dataclasses import fields, replace

import numpy as np
import pytest

from job_fixture import (
    HOUR,
    START_S,
    make_asset,
    make_fire,
    make_job,
    make_weather,
    with_fire,
)
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.fire import Fuel
from stillwet.domain.job import Job
from stillwet.engine.change_keys import KEYS, Change
from stillwet.engine.changes import change_job, read_change, read_changes, usual_doubts
from stillwet.engine.fire_behaviour import settle_fire
from stillwet.engine.make_plan import make_plan
from stillwet.errors import StillwetError


def test_wind_scales_and_arrival_shifts() -> None:
    """+30 % on every hour's wind, two hours earlier on every fire, and nothing else."""
    job = make_job()
    other = change_job(job, (read_change("wind=+30%"), read_change("arrival=-2 h")))
    np.testing.assert_allclose(other.weather.wind_speed_m_s, job.weather.wind_speed_m_s * 1.3)
    np.testing.assert_array_equal(other.weather.air_temperature_k, job.weather.air_temperature_k)
    fire, before = other.assets[0].fire, job.assets[0].fire
    assert fire.arrival_from_s == before.arrival_from_s - 2 * HOUR
    assert fire.arrival_to_s == before.arrival_to_s - 2 * HOUR


@pytest.mark.parametrize(
    ("text", "kelvin"), [("temperature=+3 C", 3.0), ("temperature=-9 F", -5.0)]
)
def test_temperature_difference_has_no_offset(text: str, kelvin: float) -> None:
    """3 C warmer is 3 K; 9 F cooler is 5 K."""
    job = make_job()
    other = change_job(job, (read_change(text),))
    np.testing.assert_allclose(
        other.weather.air_temperature_k - job.weather.air_temperature_k, kelvin
    )


def test_humidity_percent_are_points_and_setting_sets() -> None:
    """humidity=-5 % takes five points; setback=20 ft sets 6.096 m."""
    job = make_job()
    other = change_job(job, (read_change("humidity=-5 %"), read_change("setback=20 ft")))
    np.testing.assert_allclose(
        other.weather.relative_humidity, job.weather.relative_humidity - 0.05
    )
    assert other.assets[0].fire.setback_m == pytest.approx(6.096)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("wind=+30%", "wind times 1.3"),
        ("wind = -20 %", "wind times 0.8"),
        ("Flame_Length=+2 ft", "flame length up by 2 ft"),
        ("arrival=-2h", "arrival earlier by 2 h"),
        ("start=+30 min", "start later by 30 min"),
        ("humidity=-5 %", "humidity down by 5 percentage points"),
        ("coat variation=0.5", "coat variation set to 0.5"),
        ("setback=20 ft", "setback set to 20 ft"),
    ],
)
def test_what_a_change_is_taken_to_mean(text: str, words: str) -> None:
    """Said back in plain words, whatever the spacing and case."""
    assert read_change(text).words == words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("gust=+3", "--set: wanted one of arrival"),
        ("wind", "--set: wanted one of arrival"),
        ("humidty=+3 %", 'did you mean "humidity"?'),
        ("wind=strong", "wind: wanted a change such as +30%"),
        ("wind=+3 kg", "wind: wanted a unit of speed"),
        ("wind=-130%", "wind: wanted a share of at most all of it, got -130 %"),
        ("arrival=14", "arrival: wanted a shift such as -2 h"),
        ("arrival=+20", "arrival: wanted a unit of time"),
        ("temperature=+10%", "temperature: wanted a shift such as +3 C, or a value"),
        ("sun=500 W/m2", "sun: wanted a share such as +30%"),
        ("yield stress=40 Pa", "yield stress: wanted a share such as +30%"),
    ],
)
def test_bad_changes_are_named(text: str, words: str) -> None:
    """The message names the key, what was wanted and what came."""
    with pytest.raises(StillwetError, match=re.escape(words)):
        read_change(text)


def test_every_bad_change_is_told_at_once() -> None:
    """Two faults, two problems."""
    with pytest.raises(StillwetError) as caught:
        read_changes(["gust=+3", "wind=+10%", "wind=strong"])
    assert [problem.field for problem in caught.value.problems] == ["--set", "wind"]


@pytest.mark.parametrize("key", sorted(KEYS))
def test_every_key_changes_the_job_it_can_change(key: str) -> None:
    """A shift or a share of every key leaves another job, of another hash, and the old one as it
    was.
    """
    amounts = {"fraction": "-1 %", "temperature": "+1 C", "time": "+5 min", "hardness": "+9 ppm"}
    weather = make_weather()
    lit = replace(
        weather,
        ghi_w_m2=np.full(weather.hours, 500.0),
        dni_w_m2=np.full(weather.hours, 400.0),
        dhi_w_m2=np.full(weather.hours, 150.0),
        cloud_cover=np.full(weather.hours, 0.5),
    )
    job = make_job(weather=lit)
    text = amounts.get(KEYS[key].dimension, "+10%")
    other = change_job(job, (read_change(f"{key}={text}"),))
    assert other.input_hash != job.input_hash
    plain = replace(other, input_hash=job.input_hash, remarks=job.remarks)
    differ = [name.name for name in fields(job) if _differs(plain, job, name.name)]
    assert len(differ) == 1, differ


def _differs(one: Job, other: Job, name: str) -> bool:
    return repr(getattr(one, name)) != repr(getattr(other, name))


def test_the_same_changes_give_the_same_hash_however_written() -> None:
    """-2 h and -120 min are one change; another amount is another."""
    job = make_job()
    hashes = [
        change_job(job, (read_change(text),)).input_hash
        for text in ("arrival=-2 h", "arrival=-120 min", "arrival=-1 h")
    ]
    assert hashes[0] == hashes[1] != hashes[2]


def test_sun_scales_every_part_of_the_sunlight() -> None:
    """Global, direct and diffuse alike; refused where the file has cloud only, and cloud where it
    has sun only.
    """
    weather = make_weather()
    lit = {name: np.full(weather.hours, 300.0) for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2")}
    sunny = make_job(
        weather=make_weather(**lit, cloud_cover=np.full(weather.hours, np.nan)),
    )
    other = change_job(sunny, (read_change("sun=-20%"),)).weather
    for name in lit:
        np.testing.assert_allclose(getattr(other, name), 240.0)
    with pytest.raises(StillwetError, match="cloud: wanted weather with cloud cover"):
        change_job(sunny, (read_change("cloud=50 %"),))
    with pytest.raises(StillwetError, match="sun: wanted weather with irradiance"):
        change_job(make_job(), (read_change("sun=-20%"),))


def test_an_ensemble_moves_with_its_mean() -> None:
    """Every member's wind is scaled, and no other column."""
    weather = make_weather()
    winds = weather.wind_speed_m_s[:, None] * np.array([0.8, 1.2])
    warmth = weather.air_temperature_k[:, None] + np.array([-1.0, 1.0])
    ensemble = {"wind_speed_m_s": winds, "air_temperature_k": warmth}
    job = make_job(weather=make_weather(ensemble=ensemble))
    other = change_job(job, (read_change("wind=+50%"),)).weather
    np.testing.assert_allclose(other.ensemble["wind_speed_m_s"], 1.5 * winds)
    np.testing.assert_array_equal(other.ensemble["air_temperature_k"], warmth)


def test_what_is_held_at_a_bound_is_told() -> None:
    """Humidity 20 points lower goes below nothing in the dry hours: held at 0, and said."""
    other = change_job(make_job(), (read_change("humidity=-20 %"),))
    assert other.weather.relative_humidity.min() == 0.0
    (remark,) = other.remarks
    assert remark.startswith("What if humidity=-20 %: held inside its range in ")
    assert remark in make_plan(other, now_s=START_S).warnings


def test_flame_changes_without_effect_are_told() -> None:
    """A flux typed in does not know the flame."""
    typed = with_fire(make_asset(), flux_peak_w_m2=20e3, flux_duration_s=60.0)
    job = make_job(assets=(make_asset(id="b"), typed))
    (remark,) = change_job(job, (read_change("flame length=+30%"),)).remarks
    assert "no effect on 1 of 2 assets, whose flux is typed in" in remark


def test_intervals_move_along_and_a_set_number_has_none() -> None:
    """Transfer efficiency 10 points lower: 0.5 to 0.95 becomes 0.4 to 0.85. Set to 0.6, it is that.
    Water efficiency 20 points higher stops at all of the water.
    """
    job = make_job()
    moved = change_job(job, (read_change("transfer efficiency=-10 %"),)).practice
    basis = moved.basis["transfer_efficiency"]
    assert (moved.transfer_efficiency, basis.low, basis.high) == pytest.approx((0.65, 0.4, 0.85))
    assert basis.kind is BasisKind.UNTESTED
    fixed = change_job(job, (read_change("transfer efficiency=0.6"),)).practice
    assert fixed.transfer_efficiency == 0.6
    assert fixed.basis["transfer_efficiency"].kind is BasisKind.GIVEN
    assert fixed.basis["transfer_efficiency"].low is None
    most = change_job(job, (read_change("water efficiency=+20 %"),)).practice
    assert most.basis["water_efficiency"].high == 1.0


def test_intervals_below_one_move_along_too() -> None:
    """A spread of 0.4 m/s, 0.2 to 0.8: half as fast again it is 0.6, 0.3 to 1.2."""
    basis = {"spread_rate": Basis(BasisKind.UNTESTED, "invented", 0.2, 0.8)}
    job = make_job(assets=(with_fire(make_asset(), spread_rate_m_s=0.4, basis=basis),))
    for asset in change_job(job, (read_change("spread rate=+50 %"),)).assets:
        moved = asset.fire.basis["spread_rate"]
        found = (asset.fire.spread_rate_m_s, moved.low, moved.high)
        assert found == pytest.approx((0.6, 0.3, 1.2))


def test_impossible_numbers_are_refused_with_their_asset() -> None:
    """A setback below nothing names the asset it came to."""
    with pytest.raises(StillwetError, match=r"setback: wanted 0 to 500 m, got .*\(a1\)"):
        change_job(make_job(), (read_change("setback=-50 m"),))


def test_a_start_after_every_fire_is_refused() -> None:
    """Work that would begin when it is over: told, with by how much."""
    words = "start: wanted a start before the latest arrival of any fire, got a start 2.0 h after"
    with pytest.raises(StillwetError, match=words):
        change_job(make_job(), (read_change("arrival=-10 h"),))


@pytest.mark.parametrize(
    ("text", "words"),
    [("arrival=+40 h", "weather that ends"), ("start=-20 h", "weather that starts")],
)
def test_weather_must_cover_the_changed_job(text: str, words: str) -> None:
    """Hours beyond the file are never taken as hours without drying."""
    with pytest.raises(StillwetError, match=words):
        change_job(make_job(), (read_change(text),))


def test_flame_from_fuel_is_changed_from_what_the_weather_makes_of_it() -> None:
    """With a fire from fuel, half as much wind makes a shorter flame; 50 % more flame is half again
    as long as that, in whatever order the two are given, and is then a given number.
    """
    fuel = Fuel(model="GR4", moisture_herb=0.5, moisture_woody=0.9)
    fire = make_fire(fuel=fuel, basis={})
    job = make_job(assets=(make_asset(fire=fire),))
    wind, flame = read_change("wind=-50%"), read_change("flame length=+50%")

    def length(*changes: Change) -> float:
        changed = change_job(job, changes)
        return settle_fire(changed, changed.assets[0].fire).flame_length_m

    assert length(wind) < length()
    assert length(flame, wind) == length(wind, flame) == pytest.approx(1.5 * length(wind))
    settled = change_job(job, (flame,)).assets[0].fire
    assert settled.basis["flame_length"].kind is BasisKind.GIVEN


def test_residence_and_spread_are_changed_from_what_the_weather_makes_of_them() -> None:
    """In whatever order they are given: half again of what the drier fuel gives."""
    fuel = Fuel(model="GR4", moisture_herb=0.5, moisture_woody=0.9)
    job = make_job(assets=(make_asset(fire=make_fire(fuel=fuel, basis={})),))
    wind = read_change("wind=-50%")
    for text, name in (("residence=+50%", "residence_s"), ("spread rate=+50%", "spread_rate_m_s")):
        more = read_change(text)

        def number(*changes: Change, name: str = name) -> float:
            changed = change_job(job, changes)
            return float(getattr(settle_fire(changed, changed.assets[0].fire), name))

        assert number(more, wind) == number(wind, more) == pytest.approx(1.5 * number(wind))


def test_usual_doubts_can_be_read() -> None:
    """Each of the packaged doubts is a change, and no two are the same."""
    doubts = usual_doubts()
    assert len({change.words for change in doubts}) == len(doubts) >= 10
