"""The yard's job with a small crew plan written by hand: nothing is reckoned, nothing searched."""

from __future__ import annotations

import shutil
import tempfile
from functools import cache
from pathlib import Path
from typing import Any

from job_fixture import HOUR, START_S
from stillwet.domain.crew_plan import CrewPlan, CrewRun, CrewStep, FaceWork, StepKind
from stillwet.domain.plan import Verdict
from stillwet.services.keeping import keep_plan_in
from web_fixture import kept_yard, yard_job

CREW = "c1"
CAUTION = "Overhead line to the shed: only once the utility has released it."
_DAY_S = START_S + 2 * HOUR


def crew_step(kind: StepKind, place: str, name: str, start_s: float, **changes: Any) -> CrewStep:
    """A stop of 20 minutes with nothing special about it."""
    values: dict[str, Any] = {
        "kind": kind,
        "place_id": place,
        "visit_id": place,
        "name": name,
        "x_m": 0.0,
        "y_m": 0.0,
        "arrive_s": start_s - 300.0,
        "start_s": start_s,
        "finish_s": start_s + 1200.0,
        "amount_m3": 0.5,
        "concentrate_m3": 0.01,
        "tank_after_m3": 0.6,
        "drive_s": 240.0,
    }
    return CrewStep(**(values | changes))


def face_work(surface_id: str, label: str, **changes: Any) -> FaceWork:
    """A face that gets 4 mm."""
    values: dict[str, Any] = {
        "surface_id": surface_id,
        "label": label,
        "coat_kg_m2": 4.0,
        "share": 1.0,
        "mix_m3": 0.2,
        "starts_s": _DAY_S,
    }
    return FaceWork(**(values | changes))


def phone_steps() -> tuple[CrewStep, ...]:
    """The house with two faces, a fill, the shed with half a face."""
    return (
        crew_step(
            StepKind.COAT,
            "a1",
            "Invented house",
            _DAY_S,
            mix_ratio=0.02,
            leave_by_s=START_S + 6.25 * HOUR,
            faces=(
                face_work("a1/north-wall", "north wall"),
                face_work("a1/west-wall", "west wall"),
            ),
            chance=0.93,
            verdict=Verdict.HOLDS,
            must=True,
            needs=("ladder",),
            cautions=(CAUTION,),
        ),
        crew_step(StepKind.FILL, "w1", "Invented pond", _DAY_S + 1800.0, concentrate_m3=0.0),
        crew_step(
            StepKind.COAT,
            "a2",
            "Invented shed",
            _DAY_S + HOUR,
            mix_ratio=0.0215,
            leave_by_s=START_S + 6.25 * HOUR,
            faces=(face_work("a2/north-wall", "north wall", share=0.5),),
            chance=0.9,
            verdict=Verdict.HOLDS,
            waits_for=("Invented house",),
        ),
    )


def hand_crew_plan() -> CrewPlan:
    """A crew plan of one engine and three stops."""
    job = yard_job()
    run = CrewRun(
        crew_id=CREW,
        name=job.crews[0].name,
        people=3,
        tank_m3=1.1,
        reserve_m3=0.4,
        start_at_m=(0.0, 0.0),
        start_s=START_S,
        end_s=_DAY_S + 2 * HOUR,
        drive_s=720.0,
        water_at_start_m3=1.1,
        steps=phone_steps(),
    )
    return CrewPlan(
        id="c0ffee0001",
        job_name=job.name,
        time_zone=job.time_zone,
        crs=job.crs,
        made_s=START_S,
        plan_id="1111111111",
        product_name="Invented gel",
        density_kg_m3=1030.0,
        pack_m3=0.02,
        ratio_basis="volume",
        crews=(run,),
        left_out=(),
        not_recoated=(),
        not_sprayed=(),
        bands=(),
        done=(),
        changes=(),
        is_replan=False,
        worth=100.0,
        worth_possible=100.0,
        covered=2,
        musts_missed=0,
        settled=True,
        settling="settled after 1 round",
        rounds=1,
        solver="by hand",
        seed=1,
        budget="1 iteration",
        stopped="all of it",
        travel=(),
        assumed=(),
        cautions=(CAUTION,),
        warnings=(),
        water_points_m=(("Invented pond", 0.0, -20.0),),
        depots_m=(),
        streams_m=(),
        assets_m=(),
    )


@cache
def _crewed_yard() -> Path:
    path = kept_yard(Path(tempfile.mkdtemp(prefix="crewed-")))
    said = keep_plan_in(path, hand_crew_plan(), yard_job())
    assert "kept" in said or not said, said
    return path


def kept_crewed_yard(folder: Path) -> Path:
    """A job file with the yard, its plan and the crew plan; made once, copied for each."""
    return Path(shutil.copy(_crewed_yard(), folder / "day.gpkg"))
