"""Mix windows, mixes tried out, and what a pump brings."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

from gear_fixture import make_gear
from job_fixture import START_S
from kept.engine.jobs import PLACES
from kept.keeping import Answers
from stillwet.domain.mix_try import Tried
from stillwet.engine.make_plan import make_plan
from stillwet.engine.mix_draws import draw_mix
from stillwet.engine.mix_pumping import pump_note
from stillwet.engine.mix_try import MixBench
from stillwet.engine.mix_window import make_mix_window, setting_for

OF_PRODUCTS = ("powder", "starch", "clay", "tried product")
TRIED = (
    Tried(0.0004, 0.1, 293.15, 3.1, 90.0),
    Tried(0.0093, 0.1, 293.15, 2.2, 90.0),
    Tried(0.0271, 0.21, 281.15, 4.3, 20.0),
    Tried(0.0612, 0.21, 281.15, 1.7, 0.0),
    Tried(0.19, 0.21, 281.15, 2.4, 90.0),
)
SETTINGS = (
    (0.010, 0.020, 0.030, (0.9, 1.2)),
    (0.010, 0.0115, 0.030, (0.8, 1.3)),
    (0.0101, 0.0102, 0.030, (0.9, 1.1)),
    (0.010, 0.020, 0.0104, (0.9, 1.2)),
    (0.030, 0.020, 0.010, (1.0, 1.0)),
)


def window(job_name: str, asset_id: str | None = None) -> object:
    """The mix window of a job, or of one of its assets."""
    job = PLACES[job_name]()
    found = make_mix_window(job, make_plan(job, now_s=START_S), asset_id)
    return replace(found, plan_id="", cautions=())


def closed() -> object:
    """A window that nothing opens: thick coats of a thin product, and a pump too weak."""
    job = PLACES["clay"]()
    product = replace(job.product, yield_coefficient_pa=310.0)
    weak = make_gear(pump_pressure_pa=(2.0e5,), lift_m=21.0)
    crews = (replace(job.crews[0], gear=weak),)
    job = replace(job, product=product, crews=crews)
    return replace(make_mix_window(job, make_plan(job, now_s=START_S)), plan_id="", cautions=())


def draws(job_name: str) -> object:
    """What is drawn of a product."""
    found = draw_mix(PLACES[job_name]())
    return {"middle": found.middle, "members": found.members, "adhesion": found.adhesion_pa}


def tries(job_name: str) -> object:
    """Mixes tried out on one bench, one of them twice."""
    job = PLACES[job_name]()
    bench = MixBench(job, draw_mix(job))
    return [bench.try_mix(tried) for tried in (*TRIED, TRIED[0])]


def notes() -> object:
    """What crews are told of mixes that their pump may not bring."""
    job = PLACES["powder"]()
    found = draw_mix(job)
    return {
        crew.name: [pump_note(found, crew, ratio) for ratio in (0.0, 0.0031, 0.0173, 0.11)]
        for crew in job.crews
    }


MIXES: Answers = {
    **{f"window of {job}": partial(window, job) for job in (*OF_PRODUCTS, "local rules")},
    "window of the tank": partial(window, "clay", "a2"),
    "window of many fires": partial(window, "many fires"),
    "closed window": closed,
    **{f"draws of {job}": partial(draws, job) for job in OF_PRODUCTS},
    **{f"tries of {job}": partial(tries, job) for job in ("clay", "tried product")},
    "pump notes": notes,
    "settings": lambda: [
        setting_for(low, high, best, delivered=both) for low, high, best, both in SETTINGS
    ],
}
