"""Fires in any words are read or refused; a fire more is never a gain; any fuel gives numbers."""

from __future__ import annotations

import json
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from job_fixture import make_asset, make_fire, make_job, make_weather
from job_folder import JOB, write_job
from stillwet.domain.fire import Fuel, StandingFire
from stillwet.engine.exposure import ask_of_asset
from stillwet.engine.faces import faces_of
from stillwet.engine.fire_behaviour import settle_fires
from stillwet.engine.members import draw_members
from stillwet.exchange.fire_fuel import fuel_codes
from stillwet.exchange.job_file import read_job

check = settings(max_examples=15, deadline=None, derandomize=True)

PARTS = ["burning fence", "burning shrub", "grass fire", "3 m", "2", "from N", "from", "9 ft wide"]
PARTS += [",", ";", "6 m", "wide", "-1 m", "1e9 m", "\u00b0", "from 400"]
PLAIN = st.text(st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=30)
WORDS = st.lists(st.sampled_from(PARTS), max_size=6).map(" ".join)


@check
@given(also=st.one_of(WORDS, PLAIN), model=st.one_of(PLAIN, st.sampled_from(["GR4", "9", "gr9 "])))
def test_any_words_of_a_fire(also: str, model: str) -> None:
    """Reading gives a job, or problems that each say field, wanted and got."""
    keys = f"also = {json.dumps(also)}\nfuel_model = {json.dumps(model)}\n"
    with tempfile.TemporaryDirectory() as folder:
        text = JOB.replace('from = "SW"\n', 'from = "SW"\n' + keys)
        job, problems = read_job(write_job(Path(folder), job=text))
    assert (job is None) == bool(problems)
    assert all(item.field and item.wanted and item.got for item in problems)


@check
@given(
    length=st.floats(0.5, 8.0),
    setback=st.floats(0.0, 30.0),
    bearing=st.one_of(st.none(), st.floats(0.0, 359.0)),
    residence=st.floats(10.0, 3000.0),
)
def test_one_more_fire_never_asks_less(
    length: float, setback: float, bearing: float | None, residence: float
) -> None:
    """Whatever stands where, no face needs less water, and none gets less heat at its peak.

    To 1 %: the two histories are summed over different steps.
    """
    more = StandingFire("burning fence", length, 4.0, 10.0, residence, setback, bearing)
    asks = []
    for also in ((), (more,)):
        asset = make_asset(fire=make_fire(also=also))
        job = make_job(members=16, assets=(asset,))
        asks.append(ask_of_asset(job, asset, faces_of(asset), draw_members(job)))
    without, with_it = asks
    assert (with_it.water_demand_kg_m2 >= 0.99 * without.water_demand_kg_m2 - 1e-9).all()
    assert (with_it.peak_flux_w_m2 >= without.peak_flux_w_m2 - 1e-6).all()


@check
@given(
    model=st.sampled_from(fuel_codes()),
    slope=st.floats(0.0, 45.0),
    warm=st.floats(250.0, 325.0),
    damp=st.floats(0.0, 1.0),
    wind=st.floats(0.0, 60.0),
    cover=st.floats(0.0, 1.0),
)
def test_any_fuel_in_any_air_gives_a_fire(
    model: str, slope: float, warm: float, damp: float, wind: float, cover: float
) -> None:
    """Every number is finite and inside the exposure's bounds; what is doubtful is flagged."""
    columns = {"air_temperature_k": warm, "relative_humidity": damp, "wind_speed_m_s": wind}
    weather = make_weather()
    steady = {name: np.full(weather.hours, value) for name, value in columns.items()}
    fuel = Fuel(
        model, 0.6, 0.9, slope_deg=slope, canopy_cover=cover, canopy_height_m=15.0, crown_ratio=0.5
    )
    job = make_job(weather=make_weather(**steady), assets=(make_asset(fire=make_fire(fuel=fuel)),))
    fire = settle_fires(job).assets[0].fire
    numbers = [fire.flame_length_m, fire.flame_tilt_deg, fire.spread_rate_m_s, fire.residence_s]
    assert np.isfinite(numbers).all()
    if fire.flame_length_m == 0.0:
        assert "too wet to spread" in fire.flags
    drier = replace(fuel, moisture_1h=0.02)
    dry = replace(job, assets=(make_asset(fire=make_fire(fuel=drier)),))
    wet = replace(job, assets=(make_asset(fire=make_fire(fuel=replace(fuel, moisture_1h=0.1))),))
    lengths = [settle_fires(item).assets[0].fire.flame_length_m for item in (dry, wet)]
    assert lengths[0] >= lengths[1]
