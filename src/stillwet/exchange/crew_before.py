"""The crew plan made before, out of its ``crews.json``: its orders, its loads and how it began."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar

from stillwet.domain.crew_plan import StepKind
from stillwet.domain.crew_status import Began, CrewStart, DoneWork, OldFace, OldLoad, OldVisit
from stillwet.domain.job import Job
from stillwet.errors import Problem, StillwetError
from stillwet.exchange.files import read_bytes
from stillwet.exchange.vector import load_json

_SCHEMA = "stillwet.crews/1"
Found = TypeVar("Found")
Plain = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class PlanBefore:
    """The visits and the loads of concentrate of each crew, in order, and how the plan began."""

    orders: Mapping[str, tuple[OldVisit, ...]]
    loads: Mapping[str, tuple[OldLoad, ...]]
    began: Began = field(default_factory=Began)


def read_plan_before(path: Path, name: str, job: Job) -> PlanBefore:
    """The plan before of a job; raises StillwetError for a file that is no crew plan."""
    data = load_json(read_bytes(path, name=name, key="plan"), name=name, key="plan")
    wanted = f"the crews.json of an earlier crew plan (schema {_SCHEMA})"
    fault = StillwetError(Problem("plan", wanted, "something else", name))
    if not isinstance(data, dict) or data.get("schema") != _SCHEMA:
        raise fault
    try:
        steps = {crew["crew_id"]: crew["steps"] for crew in data["crews"]}
        return PlanBefore(
            {crew: _of_kind(own, StepKind.COAT, _visit) for crew, own in steps.items()},
            {crew: _of_kind(own, StepKind.LOAD, _load) for crew, own in steps.items()},
            _began(data, job),
        )
    except (KeyError, TypeError, ValueError, OverflowError):
        raise fault from None


def _of_kind(
    steps: Iterable[Plain], kind: StepKind, read: Callable[[Plain], Found]
) -> tuple[Found, ...]:
    return tuple(read(step) for step in steps if step["kind"] == kind.value)


def _load(step: Plain) -> OldLoad:
    return OldLoad(str(step["place_id"]), _moment(step["finish"]), _number(step["amount_m3"]))


def _visit(step: Plain) -> OldVisit:
    return OldVisit(
        visit_id=str(step["visit_id"]),
        asset_id=str(step["place_id"]),
        part=int(step["part"]),
        parts=int(step["parts"]),
        x_m=_number(step["x_m"]),
        y_m=_number(step["y_m"]),
        finish_s=_moment(step["finish"]),
        tank_after_m3=_number(step["tank_after_m3"]),
        concentrate_m3=_number(step["concentrate_m3"]),
        faces=tuple(
            OldFace(str(f["surface_id"]), _number(f["share_fraction"]), _moment(f["starts"]))
            for f in step["faces"]
        ),
        coat=int(step.get("coat", 1)),
        coats=int(step.get("coats", 1)),
        is_recoat=bool(step.get("is_recoat", False)),
    )


def _began(data: Plain, job: Job) -> Began:
    """How the plan began. Of files that do not tell, as much as they do; of the job's assets."""
    known = {asset.id: asset for asset in job.assets}
    begun = [one for one in data.get("begun", ()) if one["asset_id"] in known]
    seen = [_begun(one, known[one["asset_id"]].x_m, known[one["asset_id"]].y_m) for one in begun]
    return Began(
        starts={one["crew_id"]: _start(one) for one in data["crews"] if "start_at_m" in one},
        stocks_m3={
            str(one["depot_id"]): _number(one["stock_at_start_m3"])
            for one in data.get("stocks", ())
        },
        done=tuple(
            _done(one) for one in data.get("done", ()) if "part" in one and one["asset_id"] in known
        ),
        made=tuple(v for one, v in zip(begun, seen, strict=True) if one["finish"] is not None),
        unordered=tuple(v for one, v in zip(begun, seen, strict=True) if one["finish"] is None),
        forgets=bool(data.get("is_replan", False)) and "begun" not in data,
    )


def _start(crew: Plain) -> CrewStart:
    x_m, y_m = crew["start_at_m"]
    aboard = crew.get("concentrate_at_start_m3")
    return CrewStart(
        at_m=(_number(x_m), _number(y_m)),
        free_s=_moment(crew["start"]),
        water_m3=_number(crew["water_at_start_m3"]),
        concentrate_m3=None if aboard is None else _number(aboard),
    )


def _done(work: Plain) -> DoneWork:
    part, coat = work["part"], work["coat"]
    return DoneWork(
        asset_id=str(work["asset_id"]),
        part=None if part is None else int(part),
        crew_id=str(work["crew_id"]),
        time_s=_moment(work["time"]),
        coat=None if coat is None else str(coat),
    )


def _begun(visit: Plain, x_m: float, y_m: float) -> OldVisit:
    """A visit that no order has; one still to be made is told of in no time of its own."""
    finish = visit["finish"]
    return OldVisit(
        visit_id=str(visit["visit_id"]),
        asset_id=str(visit["asset_id"]),
        part=int(visit["part"]),
        parts=int(visit["parts"]),
        x_m=x_m,
        y_m=y_m,
        finish_s=0.0 if finish is None else _moment(finish),
        tank_after_m3=0.0,  # nobody's water or concentrate is counted by it
        concentrate_m3=0.0,
        faces=tuple(
            OldFace(
                str(f["surface_id"]),
                _number(f["share_fraction"]),
                0.0 if finish is None else _moment(f["starts"]),
            )
            for f in visit["faces"]
        ),
        coat=int(visit["coat"]),
        coats=int(visit["coats"]),
        is_recoat=bool(visit["is_recoat"]),
    )


def _number(value: object) -> float:
    found = float(value)  # type: ignore[arg-type]
    if not math.isfinite(found):
        raise ValueError  # no amount and no place
    return found


def _moment(text: str) -> float:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError  # it would be read in the zone of this machine
    return moment.timestamp()
