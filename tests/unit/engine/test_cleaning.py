"""The clean-up list: what was coated, what it may run into, and which gear held gel."""

from __future__ import annotations

from dataclasses import replace

import pytest

from gear_fixture import GPM, make_gear
from job_fixture import START_S, make_asset, make_crew, make_job, with_fire
from stillwet.domain.suitability import Site, Well
from stillwet.engine.cleaning import make_clean_up
from stillwet.engine.make_plan import make_plan


def test_only_what_is_coated_is_washed_and_water_is_measured() -> None:
    """A house 12 m by 9 m that looks south, a stream 20 m north of its middle and a well 30 m east:
    15.5 m and 24 m from its walls. The hopeless one beside it is not on the list.
    """
    house = make_asset(
        id="a1", facing_deg=180.0, x_m=0.0, y_m=0.0, site=Site(collects_rain=True, heritage=True)
    )
    lost = with_fire(
        make_asset(id="a2", x_m=200.0, y_m=0.0), flux_peak_w_m2=80e3, flux_duration_s=1800.0
    )
    job = make_job(
        assets=(house, lost),
        streams_m=(((-50.0, 20.0), (50.0, 20.0)),),
        wells=(Well("w1", "Yard well", "well", 30.0, 0.0),),
    )
    found = make_clean_up(job, make_plan(job, now_s=START_S))
    assert [asset.asset_id for asset in found.assets] == ["a1"]
    asset = found.assets[0]
    assert (asset.collects_rain, asset.is_heritage, asset.has_windows) == (True, True, None)
    assert asset.to_stream_m == pytest.approx(15.5)
    assert asset.to_well_m == pytest.approx(24.0)
    assert found.wells == (("well", "Yard well"),)
    assert found.has_streams


def test_roofs_are_slippery_and_every_coated_face_is_there_once() -> None:
    """Four walls and two slopes: the slopes are where somebody may have to stand."""
    job = make_job()
    plan = make_plan(job, now_s=START_S)
    faces = [face for asset in make_clean_up(job, plan).assets for face in asset.faces]
    coated = [face for asset in plan.assets for face in asset.surfaces if face.coat_kg_m2 > 0]
    assert [face.surface_id for face in faces] == [face.surface.id for face in coated]
    assert all(face.is_slippery == face.label.endswith("roof") for face in faces)
    assert any(face.is_slippery for face in faces)


def test_a_thin_coat_is_washed_off_too() -> None:
    """Half a millimetre on one wall and nothing on the others: that wall alone is on the list."""
    job = make_job()
    plan = make_plan(job, now_s=START_S)
    asset = plan.assets[0]
    thin = tuple(
        replace(face, coat_kg_m2=0.5 if place == 0 else 0.0)
        for place, face in enumerate(asset.surfaces)
    )
    found = make_clean_up(job, replace(plan, assets=(replace(asset, surfaces=thin),)))
    assert [face.label for face in found.assets[0].faces] == [thin[0].surface.label]


def test_every_crew_is_flushed_and_foam_is_told_as_the_job_tells_it() -> None:
    """Nothing said about foam stays nothing said."""
    job = make_job()
    found = make_clean_up(job, make_plan(job, now_s=START_S))
    assert [crew.crew_id for crew in found.crews] == [crew.id for crew in job.crews]
    assert all(crew.may_hold_foam is None for crew in found.crews)
    told = replace(job, local=replace(job.local, foam_in_equipment=True))
    again = make_clean_up(told, make_plan(told, now_s=START_S))
    assert all(crew.may_hold_foam for crew in again.crews)


def test_an_eductor_is_flushed_where_there_is_one() -> None:
    """Known from the gear's own flow; gear without one, and gear nobody described, has none."""
    gears = (make_gear(eductor_flow_m3_s=60 * GPM), make_gear(), None)
    crews = tuple(make_crew(id=f"c{n}", name=f"Crew {n}", gear=g) for n, g in enumerate(gears))
    job = make_job(crews=crews)
    found = make_clean_up(job, make_plan(job, now_s=START_S))
    assert [crew.has_eductor for crew in found.crews] == [True, False, False]
    assert [bool(crew.hoses_m) for crew in found.crews] == [True, True, False]


def test_a_bare_face_of_a_coated_house_is_not_washed() -> None:
    """Only where gel lies is there any to wash off."""
    job = make_job()
    plan = make_plan(job, now_s=START_S)
    asset = plan.assets[0]
    first, *others = asset.surfaces
    faces = (replace(first, coat_kg_m2=0.0), *others)
    partly = replace(plan, assets=(replace(asset, surfaces=faces),))
    listed = {face.surface_id for face in make_clean_up(job, partly).assets[0].faces}
    assert first.surface.id not in listed
    assert listed == {face.surface.id for face in others if face.coat_kg_m2 > 0.0}


def test_a_pole_is_washed_as_well() -> None:
    """Litres of mix leave gel as cubic metres do."""
    job = make_job(assets=(make_asset(kind="pole", width_m=0.3, length_m=0.3, eave_height_m=3.0),))
    plan = make_plan(job, now_s=START_S)
    assert 0.0 < plan.assets[0].mix_m3 < 1.0
    assert [asset.asset_id for asset in make_clean_up(job, plan).assets] == ["a1"]
