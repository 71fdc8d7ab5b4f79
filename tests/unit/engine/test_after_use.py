"""What was used against what was planned: by hand, and by asset as by crew."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from after_fixture import LAID_S, Scene, said, scene, whole_log
from job_fixture import START_S, make_crew, make_product
from stillwet.domain.after import Amounts
from stillwet.domain.log import Body, CoatLaid, Entry, Stock
from stillwet.domain.products import RatioBasis
from stillwet.engine.after_use import asset_use, cost_of, crew_use, laid_work, stock_notes
from stillwet.engine.log_coats import logged_coats

FLOW_M3_S = 0.00189  # of both engines (tests/job_fixture.py)


@pytest.fixture(scope="module")
def here() -> Scene:
    """The invented job."""
    return scene()


def _used(here: Scene, *bodies: Body) -> Amounts:
    entries = [said(LAID_S + number, body) for number, body in enumerate(bodies)]
    works = laid_work(here.job, here.plan, entries)
    return sum((work.amounts for work in works), Amounts())


def test_an_amount_of_mix_counts_as_it_is(here: Scene) -> None:
    """2 m3 at 2 %: 0.04 m3 concentrate, 1.96 water, and 2 / 0.00189 s after 600 s of setting up."""
    used = _used(here, CoatLaid(here.faces("a1"), "c1", ratio=0.02, mix_m3=2.0))
    assert used.mix_m3 == pytest.approx(2.0)
    assert used.water_m3 == pytest.approx(1.96)
    assert used.concentrate_m3 == pytest.approx(0.04)
    assert used.work_s == pytest.approx(600.0 + 2.0 / FLOW_M3_S)


def test_a_gauged_coat_counts_as_the_mix_it_needs(here: Scene) -> None:
    """A wall of 12 x 2.7 m, 4 mm at 2 %: 32.4 * 4 / 1000 / 0.98 / 0.75 = 0.1763 m3."""
    (wall,) = [
        face.id for face in here.prepared.faces["a1"] if face.area_m2 == pytest.approx(32.4)
    ][:1]
    used = _used(here, CoatLaid((wall,), "c1", ratio=0.02, coat_kg_m2=4.0))
    assert used.mix_m3 == pytest.approx(0.17633, rel=1e-4)


def test_as_planned_is_what_the_plan_says(here: Scene) -> None:
    """Without an amount, and by the crew that the plan reckons with: exactly the plan's numbers."""
    entries = [said(LAID_S, CoatLaid(here.faces("a1"), "c1"))]
    row = asset_use(here.plan, laid_work(here.job, here.plan, entries))[0]
    for name in ("mix_m3", "water_m3", "concentrate_m3", "work_s"):
        assert getattr(row.used, name) == pytest.approx(getattr(row.planned, name))
    assert (row.coats, row.said) == (1, 0)


def test_setting_up_counts_once_a_visit(here: Scene) -> None:
    """Six faces logged one by one are one visit; away and back again is a second one."""
    faces = here.faces("a1")
    one_by_one = _used(here, *(CoatLaid((face,), "c1", mix_m3=0.1) for face in faces))
    assert one_by_one.work_s == pytest.approx(600.0 + 0.1 * len(faces) / FLOW_M3_S)
    back = _used(
        here,
        CoatLaid(faces[:1], "c1", mix_m3=0.1),
        CoatLaid(here.faces("a2"), "c1", mix_m3=0.1),
        CoatLaid(faces[1:2], "c1", mix_m3=0.1),
    )
    assert back.work_s == pytest.approx(3 * 600.0 + 0.3 / FLOW_M3_S)


def _random_log(here: Scene, seed: int) -> list[Entry]:
    source = random.Random(seed)
    faces = [face for asset in ("a1", "a2", "a3") for face in here.faces(asset)]
    entries = []
    for number in range(source.randint(1, 12)):
        some = tuple(source.sample(faces, source.randint(1, 5)))
        crew = source.choice(("c1", "c2", "", "borrowed"))
        mix, coat = source.choice(
            ((source.uniform(0.1, 3.0), None), (None, source.uniform(1.0, 8.0)), (None, None))
        )
        body = CoatLaid(some, crew, coat_kg_m2=coat, mix_m3=mix)
        entries.append(said(LAID_S + number, body))
    return entries


@pytest.mark.parametrize("seed", range(25))
def test_by_asset_and_by_crew_is_the_same_sum(here: Scene, seed: int) -> None:
    """Whatever the log: nothing is counted twice or lost between the two tables."""
    entries = _random_log(here, seed)
    works = laid_work(here.job, here.plan, entries)
    assets = sum((row.used for row in asset_use(here.plan, works)), Amounts())
    crews = sum((row.used for row in crew_use(here.job, None, works, entries)), Amounts())
    for name in ("mix_m3", "water_m3", "concentrate_m3", "work_s"):
        assert getattr(assets, name) == pytest.approx(getattr(crews, name))
    assert assets.water_m3 + assets.concentrate_m3 == pytest.approx(assets.mix_m3)


def _stocks(here: Scene, *stocks: Stock, crew_id: str = "c1") -> tuple[float | None, float | None]:
    entries = [said(START_S + number, stock) for number, stock in enumerate(stocks)]
    rows = {row.crew_id: row for row in crew_use(here.job, None, (), entries)}
    stock = rows[crew_id].stock
    assert stock is not None
    return stock.water_m3, stock.concentrate_m3


def test_stock_is_what_was_there_less_what_is_left(here: Scene) -> None:
    """1.136 m3 in a full tank and 2 taken, less 0.4 left; what is taken later is still there."""
    first = Stock("c1", water_taken_m3=2.0, concentrate_taken_m3=0.05)
    last = Stock("c1", water_left_m3=0.4, concentrate_left_m3=0.09)
    water, concentrate = _stocks(here, first, last, Stock("c1", water_taken_m3=0.7))
    assert water == pytest.approx(2.736)
    assert concentrate == pytest.approx(0.06)  # 0.1 aboard at first


def test_stock_without_a_look_says_nothing(here: Scene) -> None:
    """Taken but never looked at what is left, or nothing known at first: no number is made up."""
    assert _stocks(here, Stock("c1", water_taken_m3=2.0)) == (None, None)
    water, concentrate = _stocks(
        here, Stock("c2", concentrate_taken_m3=0.05, concentrate_left_m3=0.01), crew_id="c2"
    )
    assert (water, concentrate) == (None, None)


def test_impossible_and_off_label_stock_is_told(here: Scene) -> None:
    """More left than there was; and 0.14 m3 in 1.236 + 0.14: 10.2 %, over the label's 3 %."""
    entries = [said(START_S, Stock("c1", water_left_m3=9.0))]
    (told,) = stock_notes(here.job, crew_use(here.job, None, (), entries))
    assert "more water left than it had and took" in told
    rich = Stock("c1", 0.5, 0.4, 0.05, 0.01)
    (told,) = stock_notes(here.job, crew_use(here.job, None, (), [said(START_S, rich)]))
    assert "10.17 % by its own count, the label says 0.50 to 3.00 %" in told


def test_a_powders_ratio_is_by_mass(here: Scene) -> None:
    """2 m3 of water with 0.02 m3 of a powder of 500 kg/m3: 10 kg in 2000 kg, 0.5 %."""
    product = make_product(ratio_basis=RatioBasis.MASS, density_kg_m3=500.0)
    job = replace(here.job, product=product, crews=(make_crew(water_m3=1.0, concentrate_m3=0.1),))
    entries = [said(START_S, Stock("c1", 1.1, 0.1, None, 0.08))]
    stock = crew_use(job, None, (), entries)[0].stock
    assert stock is not None
    assert stock.ratio == pytest.approx(0.005)


def test_cost_takes_a_crews_own_count_before_its_coats(here: Scene) -> None:
    """0.06 m3 counted by one crew, the coats of the other; packs of 0.02 m3 at 120 dollars."""
    entries = sorted(whole_log(), key=lambda entry: entry.when_s)
    works = laid_work(here.job, here.plan, entries)
    crews = crew_use(here.job, None, works, entries)
    cost = cost_of(here.job, here.plan, crews)
    by_coats = sum(crew.used.concentrate_m3 for crew in crews if crew.crew_id != "c1")
    assert cost.concentrate_m3 == pytest.approx(0.06 + by_coats)
    assert cost.by_stock == ("Invented engine",)
    assert cost.used_cost == 120.0 * cost.used_packs
    assert (cost.used_packs - 1) * 0.02 < cost.concentrate_m3 <= cost.used_packs * 0.02


def test_crews_that_the_job_does_not_know_keep_their_names(here: Scene) -> None:
    """By the id they were logged with; work of nobody in particular says so."""
    faces = here.faces("a1")
    entries = [
        said(LAID_S, CoatLaid(faces, "borrowed", mix_m3=1.0)),
        said(LAID_S + 60.0, CoatLaid(faces, "", coat_kg_m2=3.0)),
        said(LAID_S + 120.0, CoatLaid(faces, "c1")),
    ]
    works = laid_work(here.job, here.plan, entries)
    rows = {row.crew_id: row for row in crew_use(here.job, None, works, entries)}
    assert rows["borrowed"].name == "borrowed"
    assert rows[""].name == "crew not named"
    assert [rows[crew].said for crew in ("borrowed", "", "c1")] == [1, 1, 0]
    assert [rows[crew].coats for crew in ("borrowed", "", "c1")] == [1, 1, 1]


def test_a_logged_amount_is_so_much_water_on_the_face(here: Scene) -> None:
    """A cubic metre at 2 % is 980 kg of water; what stays of it is spread out."""
    face = here.faces("a2")[0]
    area = next(one.area_m2 for one in here.prepared.surfaces if one.id == face)
    entry = said(LAID_S, CoatLaid((face,), "c1", mix_m3=1.0, ratio=0.02))
    (coat,) = logged_coats(here.prepared, here.plan, [entry]).coats
    stays = here.job.practice.transfer_efficiency
    assert coat.coat_kg_m2 == pytest.approx(980.0 * stays / area)
