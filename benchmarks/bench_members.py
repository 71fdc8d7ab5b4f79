"""Time of a reckoning: 200 assets of 6 faces, 100 members, 72 h from the first hour to the last.

Run: ``python benchmarks/bench_members.py``. Houses of different facing and setback under an
invented hot, windy sky; then the same with every fire reckoned from fuel, whose flame each member
moves. Fails when the first is beyond the limit.
"""

from __future__ import annotations

import os
import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from stillwet.domain.fire import FireExposure, Fuel
from stillwet.domain.job import Job
from stillwet.domain.weather import COLUMNS, HOUR_S
from stillwet.engine.make_plan import make_plan

ASSETS, MEMBERS, HOURS = 200, 100, 72
LIMIT_S = 5.0
FOLLOWED_H = 14  # the ember period, and as long after it as a coat is followed


def make_big_job(fuel: Fuel | None = None) -> Job:
    """The test's invented house, two hundred times, to be met by fire two and a half days on."""
    sys.path.append(str(Path(__file__).parent.parent / "tests"))
    from job_fixture import START_S, make_asset, make_fire, make_job, make_weather  # noqa: PLC0415

    day = make_weather()
    time_s = START_S + HOUR_S * np.arange(HOURS + 2, dtype=np.float64)
    columns: dict[str, Any] = {
        name: np.resize(getattr(day, name)[6:30], time_s.size) for name in COLUMNS
    }
    arrival_s = START_S + (HOURS - FOLLOWED_H) * HOUR_S

    def fire(number: int) -> FireExposure:
        return make_fire(
            setback_m=4.0 + number % 17,
            arrival_from_s=arrival_s - HOUR_S,
            arrival_to_s=arrival_s,
            fuel=fuel,
        )

    assets = tuple(
        make_asset(id=f"a{number}", facing_deg=float(7 * number % 360), fire=fire(number))
        for number in range(ASSETS)
    )
    weather = replace(day, time_s=time_s, **columns)
    return make_job(assets=assets, weather=weather, members=MEMBERS)


def plan_s(job: Job) -> float:
    """Wall time of one plan [s], the best of three, libraries loaded and kernel compiled."""
    make_plan(replace(job, assets=job.assets[:2]), now_s=0.0)
    taken = []
    for _ in range(3):
        begun = time.perf_counter()
        make_plan(job, now_s=0.0)
        taken.append(time.perf_counter() - begun)
    return min(taken)


def main() -> int:
    """Print the times; 1 when the plan with typed-in flames is over its limit."""
    typed_s = plan_s(make_big_job())
    fuel_s = plan_s(make_big_job(Fuel("SH5", moisture_herb=0.6, moisture_woody=0.9)))
    print(f"{ASSETS} assets of 6 faces, {MEMBERS} members, {HOURS} h, {os.cpu_count()} cores")
    print(f"plan, flames typed in                  {typed_s:6.2f} s")
    print(f"plan, every flame reckoned from fuel   {fuel_s:6.2f} s")
    print(f"limit of the first                     {LIMIT_S:6.2f} s")
    return int(typed_s > LIMIT_S)


if __name__ == "__main__":
    sys.exit(main())
