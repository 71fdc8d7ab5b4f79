"""What is shaky in a job is said, and only then."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any

import numpy as np

from after_fixture import scene
from job_fixture import HOUR, make_asset, with_fire
from stillwet.domain.basis import Basis, BasisKind
from stillwet.domain.plan import Verdict
from stillwet.domain.weather import Weather
from stillwet.engine.cautions import asset_cautions, job_warnings
from stillwet.engine.faces import faces_of


def said(weather: Weather) -> str:
    """The warnings of the invented job under this forecast."""
    here = scene()
    return " ".join(job_warnings(replace(here.job, weather=weather), here.plan.assets))


def test_an_old_forecast_is_told_with_its_age() -> None:
    """Hours from its issue to the start of work; a fresh one is not named."""
    here = scene()
    start_s = here.job.start_s
    old = replace(here.job.weather, issued_s=start_s - 30 * HOUR)
    assert "The forecast is 30 h older than the start of work." in said(old)
    assert "older" not in said(replace(old, issued_s=start_s - HOUR))
    assert "older" not in said(replace(old, issued_s=None))


def test_rain_before_the_last_fire_washes() -> None:
    """The wettest hour is told in both units (1 in = 25.4 mm); rain after the fire is not."""
    here = scene()
    weather = here.job.weather
    rain = np.zeros(weather.time_s.size)
    wet, late = rain.copy(), rain.copy()
    wet[np.searchsorted(weather.time_s, here.job.start_s) + 2] = 5.08
    late[weather.time_s > max(plan.fire_window_to_s for plan in here.plan.assets)] = 5.08
    assert "5.1 mm (0.20 in)" in said(replace(weather, precipitation_kg_m2=wet))
    assert "Rain of" not in said(replace(weather, precipitation_kg_m2=late))
    assert "Rain of" not in said(replace(weather, precipitation_kg_m2=rain))


def test_assets_that_no_coat_saves_are_counted() -> None:
    """One of three is one of three; none is not spoken of."""
    here = scene()
    first, *others = here.plan.assets
    lost = replace(first, verdict=Verdict.WILL_NOT_HOLD)
    saved = [replace(plan, verdict=Verdict.HOLDS) for plan in others]
    told = " ".join(job_warnings(here.job, (lost, *saved)))
    assert f"1 of {1 + len(saved)} assets: no coat will hold." in told
    held = replace(first, verdict=Verdict.HOLDS)
    assert "no coat will hold" not in " ".join(job_warnings(here.job, (held, *saved)))


def test_a_forecast_that_ends_before_the_coats_is_told() -> None:
    """Coats are followed for 12 h past the last fire window: an hour less is too short."""
    here = scene()
    weather = here.job.weather
    last = max(plan.fire_window_to_s for plan in here.plan.assets)
    hours = int((last + 12 * HOUR - weather.time_s[0]) / HOUR)

    def cut(count: int) -> Weather:
        told = {item.name: getattr(weather, item.name) for item in fields(weather)}
        short: dict[str, Any] = {
            name: values[:count] for name, values in told.items() if isinstance(values, np.ndarray)
        }
        return replace(weather, **short)

    assert "The weather ends before" not in said(cut(hours + 1))
    assert "The weather ends before" in said(cut(hours))


def test_a_product_is_as_well_known_as_its_trials() -> None:
    """None behind it, or some of its numbers; what is untested is named; what is all given is not
    spoken of.
    """
    here = scene()
    untested, tried = (
        Basis(kind, "test", 0.5, 1.0) for kind in (BasisKind.UNTESTED, BasisKind.TRIAL)
    )

    def about(**basis: Basis) -> str:
        product = replace(here.job.product, basis=basis)
        return " ".join(job_warnings(replace(here.job, product=product), here.plan.assets))

    bare = about(drying_exponent=untested, yield_coefficient=untested)
    assert "has no trial behind it. Untested defaults: drying exponent, yield coefficient." in bare
    assert "is known by trials only in part" in about(
        drying_exponent=untested, yield_coefficient=tried
    )
    assert "Untested defaults" not in about(yield_coefficient=tried)


def test_a_flame_outside_its_relations_is_told_on_the_card() -> None:
    """With what is outside; a fire that does not spread says that instead."""
    asset = make_asset()
    surfaces = faces_of(asset)
    hot = np.full(len(surfaces), 50e3)

    def told(**changes: Any) -> str:
        return " ".join(asset_cautions(with_fire(asset, **changes), surfaces, hot))

    assert "watch the fire" not in told()
    assert "tested for (too steep; too windy): watch the fire" in told(
        flags=("too steep", "too windy")
    )
    assert "does not spread" in told(flags=("too wet",), flame_length_m=0.0)
