"""The demo: complete, invented, and honest about what does not hold."""

from __future__ import annotations

import runpy
from importlib import resources
from pathlib import Path

import pytest

from stillwet.domain.mix_window import Fit
from stillwet.domain.plan import AssetPlan, Verdict
from stillwet.errors import StillwetError
from stillwet.services.demo import copy_data, run_demo
from stillwet.services.mixing import mix_of_job
from stillwet.services.planning import Planned
from stillwet.services.trials import About, look_at_trials

ROOT = Path(__file__).parents[3]


def _asset(planned: Planned, name: str) -> AssetPlan:
    (found,) = [asset for asset in planned.plan.assets if asset.name == name]
    return found


def test_hamlet_is_complete(demo_plan: Planned) -> None:
    """Twenty assets of nine kinds, a stream, three crews, two water points and one line."""
    plan = demo_plan.plan
    assert len(plan.assets) == 20
    kinds = {asset.kind for asset in plan.assets}
    assert kinds == {
        "house", "barn", "shed", "pole", "tower", "fence", "tree", "tank", "bridge",
    }  # fmt: skip
    counts = (plan.streams_m, plan.load.crews, plan.water_points_m, plan.lines_m)
    assert [len(things) for things in counts] == [1, 3, 2, 1]


def test_every_verdict_appears(demo_plan: Planned) -> None:
    """The scenario shows all four verdicts, the worst first."""
    verdicts = [asset.verdict for asset in demo_plan.plan.assets]
    assert set(verdicts) == set(Verdict)
    assert verdicts[0] is Verdict.WILL_NOT_HOLD


def test_burning_neighbour_is_beyond_any_coat(demo_plan: Planned) -> None:
    """Half an hour of a burning neighbour at 6 m: no coat holds, and the fire is why.

    The face that decides is the one that looks at the neighbour, where the fire asks most.
    """
    house = _asset(demo_plan, "Gate house")
    assert house.governing.surface.label == "east wall"
    assert house.governing.peak_flux_w_m2 == max(face.peak_flux_w_m2 for face in house.surfaces)
    assert house.verdict is Verdict.WILL_NOT_HOLD
    assert house.governing.governs == "fire"
    assert house.mix_m3 == 0.0


def test_tower_without_release_gets_nothing(demo_plan: Planned) -> None:
    """What its owner has not released is not coated, whatever the physics says."""
    tower = _asset(demo_plan, "Radio tower")
    assert tower.verdict is Verdict.DO_NOT_COAT
    assert tower.mix_m3 == 0.0


def _pull(asset: AssetPlan, wall: str) -> float:
    """Mean drying demand [kg/m2s] on a wall from the laying of its coat to the last arrival."""
    (face,) = [face for face in asset.surfaces if face.surface.label == wall]
    return face.drying_to_arrival_kg_m2 / (asset.arrival_to_s - face.lay_time_s)


@pytest.mark.parametrize("wall", ["south wall", "west wall"])
def test_shade_helps(demo_plan: Planned, wall: str) -> None:
    """On walls that look the same way the sky takes less from the shaded cabin than in the open."""
    cabin, house = _asset(demo_plan, "Creek cabin"), _asset(demo_plan, "Long house")
    assert _pull(cabin, wall) < _pull(house, wall)


def test_crews_are_gone_before_the_front(demo_plan: Planned) -> None:
    """No coat may be laid later than 45 minutes before the earliest arrival."""
    for asset in demo_plan.plan.assets:
        for face in asset.surfaces:
            if face.apply_until_s is not None:
                assert face.apply_until_s <= asset.fire_window_from_s - 45 * 60


def test_plan_and_mix_window_agree_on_the_ratio(demo_plan: Planned) -> None:
    """Every crew can pump and set the ratio that the plan reckons its mix and packs with."""
    job = demo_plan.files[0].parent / "job" / "job.toml"
    window = mix_of_job(job, None).window
    assert window.is_open
    assert len(window.crews) == 3
    for crew in window.crews:
        assert crew.fit is not Fit.CLOSED
        assert crew.ratio == pytest.approx(demo_plan.plan.mix_ratio)


def test_job_is_left_beside_its_plan(demo_plan: Planned) -> None:
    """The demo's own files lie in ``job``, so that they can be changed and planned again."""
    out = demo_plan.files[0].parent
    assert (out / "job" / "job.toml").is_file()
    assert not list(out.glob(".stillwet-*"))


def test_shipped_files_are_what_the_script_makes(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Running examples/make_demo.py gives the packaged files to the byte."""
    script = runpy.run_path(str(ROOT / "examples" / "make_demo.py"))
    monkeypatch.setitem(script["main"].__globals__, "FOLDER", tmp_path)
    script["main"]()
    made = sorted(path.name for path in tmp_path.iterdir())
    assert made == ["assets.geojson", "lines.geojson", "streams.geojson", "weather.csv"]
    shipped = resources.files("stillwet").joinpath("data", "demo")
    for name in made:
        assert (tmp_path / name).read_bytes() == shipped.joinpath(name).read_bytes(), name


def test_trials_are_those_that_the_product_says_it_rests_on() -> None:
    """Eight boards in the waters of both water points; each given number lies in its 90 % band."""
    with resources.as_file(resources.files("stillwet") / "data" / "demo") as folder:
        found = look_at_trials(
            folder / "trials.csv", About(job=folder / "job.toml"), propose=False
        ).report
    curve = found.curve
    assert curve is not None
    assert (curve.trials, curve.waters, curve.odd) == (8, 2, ())
    for number in curve.numbers:
        assert number.band.low < number.default < number.band.high, number.name


def test_what_was_tried_out_in_the_demo_is_not_written_over(tmp_path: Path) -> None:
    """A file of the demo that somebody changed stays, and the demo says to go elsewhere."""
    copy_data("demo", tmp_path / "job")
    mine = tmp_path / "job" / "crews.toml"
    mine.write_text("# mine\n", encoding="utf-8")
    with pytest.raises(StillwetError, match="--out: wanted a folder whose demo files are as they"):
        run_demo(tmp_path)
    assert mine.read_text(encoding="utf-8") == "# mine\n"
    assert [path.name for path in tmp_path.iterdir()] == ["job"]
