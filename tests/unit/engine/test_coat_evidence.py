"""How likely a look is: by hand from the stated widths (data/left.toml), and against SciPy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import norm, t

from job_fixture import HOUR, START_S, make_asset, make_job
from stillwet.domain.log import WeatherSeen
from stillwet.engine.coat_evidence import (
    _feel_chances,
    _shared,
    _weight_likelihood,
    feel_chances,
    member_weights,
    width,
)
from stillwet.engine.log_coats import Sighting
from stillwet.engine.prepared import Prepared, prepare
from stillwet.engine.sky import air_at


@pytest.fixture(scope="module")
def prepared() -> Prepared:
    """Two houses 60 m apart, which is the reach of what near faces have in common."""
    assets = tuple(make_asset(id=name, x_m=x) for name, x in (("a1", 0.0), ("a2", 60.0)))
    return prepare(make_job(assets=assets, members=16))


def test_faces_share_what_is_near_and_looks_the_same_way(prepared: Prepared) -> None:
    """A fifth is every face's own. Of the rest opposite walls share nothing, walls at a corner
    half, the same wall of the house a reach away 1/e; the spread of each is 0.15.
    """
    assert (width("reach"), width("own_share"), width("face_drying")) == (60.0, 0.2, 0.15)
    ids = [face.id for face in prepared.surfaces]
    names = ("a1/north-wall", "a1/south-wall", "a1/east-wall", "a2/north-wall", "a2/east-wall")
    root = _shared(prepared, [ids.index(name) for name in names])
    found = root @ root.T / 0.15**2
    far = 0.8 / math.e
    wanted = [
        [1.0, 0.0, 0.4, far, 0.5 * far],
        [0.0, 1.0, 0.4, 0.0, 0.5 * far],
        [0.4, 0.4, 1.0, 0.5 * far, far],
        [far, 0.0, 0.5 * far, 1.0, 0.4],
        [0.5 * far, 0.5 * far, far, 0.4, 1.0],
    ]
    np.testing.assert_allclose(found, wanted, atol=1e-9)


def test_a_hand_at_the_edge_says_either_half_of_the_time() -> None:
    """40 % left is the edge between wet and tacky, 10 % between tacky and dry; the blur is 0.4 of
    the logarithm; one in twenty writes down any of the three.
    """
    shares = np.array([[0.4, 0.4 * math.exp(0.4), 0.1, 0.1 * math.exp(-0.8), 0.0]])
    wet, tacky, dry = feel_chances(shares)[:, 0]
    slip = 0.05 / 3.0
    assert wet[:2] == pytest.approx(0.95 * norm.cdf([0.0, 1.0]) + slip)
    assert dry[2:] == pytest.approx(0.95 * np.array([0.5, norm.cdf(2.0), 1.0]) + slip)
    assert wet + tacky + dry == pytest.approx(np.ones(5))


def test_what_nobody_touched_fits_anything() -> None:
    """Chance 1 where no hand was laid on; else that of the word that was said."""
    share = np.array([[0.4, 0.4, 0.1]])
    found = _feel_chances(share, np.array([0, -1, 2]))[0]
    assert found == pytest.approx([0.5, 1.0, 0.5])


def test_a_weighing_errs_as_students_t() -> None:
    """Four degrees of freedom; 3 % of the water and 0.05 kg/m2 together: beside SciPy's density,
    up to the constant that all cases share.
    """
    water = np.array([[0.0, 1.0, 2.5], [0.2, 1.3, 2.0]])
    weighed = np.array([0.1, 1.1, math.nan])
    found = _weight_likelihood(water, weighed)
    scale = np.sqrt((0.03 * water) ** 2 + 0.05**2)
    wanted = np.asarray(t.logpdf(weighed[:2], df=4, loc=water[:, :2], scale=scale[:, :2]))
    np.testing.assert_allclose(found[:, :2] - found[0, 0], wanted - wanted[0, 0], rtol=1e-9)
    assert found[:, 2].tolist() == [0.0, 0.0]


def test_members_that_fit_the_weather_met_weigh_more(prepared: Prepared) -> None:
    """Normal errors of 1.5 C and 6 % of humidity: the ratio of two members' weights is that of
    their densities; two who look at once tell as much as one.
    """
    when = START_S + 3 * HOUR
    air = air_at(prepared.job, prepared.members, when)
    seen = Sighting(when, WeatherSeen(air_temperature_k=300.0, relative_humidity=0.2))
    weights = member_weights(prepared, (seen,))
    told = norm.logpdf(300.0, air.air_temperature_k, 1.5)
    told += norm.logpdf(0.2, air.relative_humidity, 0.06)
    np.testing.assert_allclose(weights, np.exp(told) / np.exp(told).sum(), rtol=1e-9)
    np.testing.assert_allclose(member_weights(prepared, (seen, seen)), weights, rtol=1e-9)
    later = Sighting(when + 4 * HOUR, WeatherSeen(rain=True))
    np.testing.assert_allclose(member_weights(prepared, (seen, later)), weights, rtol=1e-9)


def test_wind_is_met_at_the_eye_and_forecast_at_ten_metres(prepared: Prepared) -> None:
    """Over grass 3 cm rough, wind at 2 m is ln(2/0.03) / ln(10/0.03) = 0.723 of that at 10 m
    (logarithmic profile); its ratio to what is met errs by 0.4 of the logarithm.
    """
    when = START_S + 3 * HOUR
    air = air_at(prepared.job, prepared.members, when)
    here = air.wind_speed_m_s * math.log(2.0 / 0.03) / math.log(10.0 / 0.03)
    told = norm.logpdf(np.log(4.0 / here), 0.0, 0.4)
    weights = member_weights(prepared, (Sighting(when, WeatherSeen(wind_speed_m_s=4.0)),))
    np.testing.assert_allclose(weights, np.exp(told) / np.exp(told).sum(), rtol=0.02)
