"""Two crews along one line: wetting ahead, lighting behind, and the rules that stop the torch.

The line is walked in steps of some metres. The same walk makes the plan (no delays) and plays it
with delays; in both a step is lit only while its strip, since it was wetted, is wet enough.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Ints = NDArray[np.int64]

STEP_M = 10.0
# The wetting crew may use up this share of the lag before the torch comes; the rest is for delays.
KEEP_AHEAD = 0.5
_EPSILON_S = 1e-6


class Stop(StrEnum):
    """Why lighting ended before the end of the line."""

    LAG = "lag exceeded"
    WIND = "wind"
    TIME = "out of time"
    WATER = "no water"
    DRY = "too dry to hold"


@dataclass(frozen=True, eq=False)
class Steps:
    """The line cut into steps (N,): the work of each, and what the weather allows.

    ``mix_m3`` of each step; ``turn_s`` a refill takes if it is made before the step (inf: cannot).
    ``lag_s`` (segments, moments) is the longest lag for a spot wetted at each of ``moment_s``,
    which are evenly spaced; ``may_light`` (moments,) whether the forecast wind lets the torch burn
    from then to the next.
    """

    segment: Ints
    length_m: Array
    wet_work_s: Array
    light_work_s: Array
    mix_m3: Array
    turn_s: Array
    tank_m3: float
    gap_s: float
    start_s: float
    finish_s: float
    moment_s: Array
    lag_s: Array
    may_light: NDArray[np.bool_]
    is_lit: bool
    must_last_s: float = -np.inf  # a line that is not lit has to stay wet until then
    keep_ahead: float = KEEP_AHEAD

    @property
    def count(self) -> int:
        """Number of steps."""
        return int(self.length_m.size)

    @property
    def distance_m(self) -> Array:
        """Distance of each step's end from the beginning (N,)."""
        return np.cumsum(self.length_m)

    def lag_at(self, segment: int, wet_s: float) -> float:
        """The longest lag [s] for a spot wetted now: the shorter of the two moments about it."""
        place = (wet_s - self.moment_s[0]) / (self.moment_s[1] - self.moment_s[0])
        last = self.moment_s.size - 1
        lower = min(max(int(place), 0), last)
        upper = min(lower + 1, last) if place > lower else lower
        return float(min(self.lag_s[segment, lower], self.lag_s[segment, upper]))

    def is_wind_right(self, time_s: float) -> bool:
        """True when the forecast lets the torch burn at this moment."""
        place = int((time_s - self.moment_s[0]) // (self.moment_s[1] - self.moment_s[0]))
        return bool(self.may_light[min(max(place, 0), self.moment_s.size - 1)])


@dataclass(frozen=True, eq=False)
class Walk:
    """What was done (N,), NaN where it was not: begin and end of wetting and lighting, the latest
    moment at which the step could still be lit, refills (time left, time back) before steps.

    ``hold_after`` (N,): the wetting crew waits at this step until lighting has passed that one
    (-1: does not wait).
    """

    wet_from_s: Array
    wet_to_s: Array
    lit_from_s: Array
    lit_to_s: Array
    latest_s: Array
    refill_from_s: Array
    refill_to_s: Array
    hold_after: Ints
    stop: Stop | None
    stopped_at: int  # number of steps lit (wetted, for a line that is not lit behind)

    @property
    def lag_s(self) -> Array:
        """Time from wetting to the end of lighting at each step (N,); NaN where not lit."""
        return self.lit_to_s - self.wet_from_s


@dataclass(frozen=True, slots=True)
class Delays:
    """Time lost (N,): within each step by the wetting crew, before each step by the torch.

    A spot's lag counts from when its step was begun, so both use it up.
    """

    wet_s: Array
    light_s: Array


def no_delays(steps: Steps) -> Delays:
    """Everything goes as planned."""
    return Delays(np.zeros(steps.count), np.zeros(steps.count))


def random_delays(steps: Steps, *, share: float, rng: np.random.Generator) -> Delays:
    """Exponential delays whose mean is this share of each step's planned work."""
    return Delays(
        wet_s=rng.exponential(1.0, steps.count) * share * steps.wet_work_s,
        light_s=rng.exponential(1.0, steps.count) * share * steps.light_work_s,
    )


def plan_walk(steps: Steps) -> Walk:
    """The walk without delays; the wetting crew never gets farther ahead than it may."""
    return _walk(steps, no_delays(steps), None)


def play_walk(steps: Steps, plan: Walk, delays: Delays) -> Walk:
    """The plan played with delays: both crews keep its holding points and its stop rules."""
    return _walk(steps, delays, plan.hold_after)


class _Clock:
    """Both crews' clocks and the tank while the line is walked."""

    def __init__(self, steps: Steps) -> None:
        self.wet = steps.start_s
        self.light = steps.start_s
        self.tank = steps.tank_m3


def _walk(steps: Steps, delays: Delays, hold_after: Ints | None) -> Walk:
    count = steps.count
    rows = np.full((7, count), np.nan)
    holds = np.full(count, -1, dtype=np.int64) if hold_after is None else hold_after.copy()
    clock = _Clock(steps)
    stop: Stop | None = None
    done = 0
    for i in range(count):
        stop = _wet(steps, delays, rows, holds, clock, i, is_plan=hold_after is None)
        if stop is None and steps.is_lit:
            stop = _light(steps, delays, rows, clock, i)
        if stop is not None:
            break
        done += 1
    return Walk(
        wet_from_s=rows[_WET_FROM],
        wet_to_s=rows[_WET_TO],
        lit_from_s=rows[_LIT_FROM],
        lit_to_s=rows[_LIT_TO],
        latest_s=rows[_LATEST],
        refill_from_s=rows[_LEFT],
        refill_to_s=rows[_BACK],
        hold_after=holds,
        stop=stop,
        stopped_at=done,
    )


_WET_FROM, _WET_TO, _LIT_FROM, _LIT_TO, _LATEST, _LEFT, _BACK = range(7)


def _wet(
    steps: Steps,
    delays: Delays,
    rows: Array,
    holds: Ints,
    clock: _Clock,
    i: int,
    *,
    is_plan: bool,
) -> Stop | None:
    """Wet one step, with a refill before it if the tank asks for one."""
    need, segment = float(steps.mix_m3[i]), int(steps.segment[i])
    if need > clock.tank + 1e-9:
        if need > steps.tank_m3 or not np.isfinite(steps.turn_s[i]):
            return Stop.WATER
        rows[_LEFT, i], rows[_BACK, i] = clock.wet, clock.wet + steps.turn_s[i]
        clock.wet, clock.tank = float(rows[_BACK, i]), steps.tank_m3
    begin = clock.wet
    if steps.is_lit and is_plan:
        # not so far ahead of the torch that more of the lag is used up before it comes
        spare = steps.keep_ahead * max(steps.lag_at(segment, begin), 0.0)
        ahead = clock.light - spare
        if ahead > begin:
            begin = ahead
            holds[i] = int(np.searchsorted(rows[_LIT_TO, :i], begin, side="right")) - 1
    elif steps.is_lit and holds[i] >= 0:
        begin = max(begin, float(rows[_LIT_TO, holds[i]]))
    if begin > steps.finish_s:
        return Stop.TIME
    if steps.is_lit:  # nothing is wetted while the wind forbids lighting
        right = _when_wind_is_right(steps, begin, 0.0)
        if right is None:
            return Stop.WIND
        begin = right
    rows[_WET_FROM, i] = begin
    rows[_WET_TO, i] = clock.wet = begin + float(steps.wet_work_s[i]) + float(delays.wet_s[i])
    rows[_LATEST, i] = begin + steps.lag_at(segment, begin)
    clock.tank -= need
    return Stop.DRY if rows[_LATEST, i] < steps.must_last_s else None


def _light(steps: Steps, delays: Delays, rows: Array, clock: _Clock, i: int) -> Stop | None:
    """Light one step if its strip is still wet enough when the torch has passed it."""
    if rows[_LATEST, i] <= rows[_WET_FROM, i]:
        return Stop.DRY
    begin = max(clock.light + float(delays.light_s[i]), float(rows[_WET_TO, i]) + steps.gap_s)
    if begin > steps.finish_s:
        return Stop.TIME
    work = float(steps.light_work_s[i])
    right = _when_wind_is_right(steps, begin, work)
    if right is None:
        return Stop.WIND
    if right + work > rows[_LATEST, i] + _EPSILON_S:
        return Stop.WIND if right > begin else Stop.LAG
    if right + work > steps.finish_s:
        return Stop.TIME
    rows[_LIT_FROM, i], rows[_LIT_TO, i] = right, right + work
    clock.light = right + work
    return None


def _when_wind_is_right(steps: Steps, begin_s: float, work_s: float) -> float | None:
    """The first moment from ``begin_s`` on at which the whole step can be lit, None if never."""
    gap = float(steps.moment_s[1] - steps.moment_s[0])
    when = begin_s
    while when <= steps.finish_s:
        if steps.is_wind_right(when) and steps.is_wind_right(when + work_s):
            return when
        when = float(steps.moment_s[0]) + gap * (np.floor((when - steps.moment_s[0]) / gap) + 1)
    return None


def finish_share(
    steps: Steps, plan: Walk, *, delay_share: float, runs: int, seed: int
) -> tuple[float, Stop | None]:
    """Share of runs with random delays that do the whole line, and what stops most of the rest."""
    rng = np.random.default_rng([seed, runs])
    walks = [
        play_walk(steps, plan, random_delays(steps, share=delay_share, rng=rng))
        for _ in range(runs)
    ]
    stops = [walk.stop for walk in walks if walk.stop is not None]
    commonest = max(sorted(set(stops)), key=stops.count, default=None)
    return 1.0 - len(stops) / runs, commonest
