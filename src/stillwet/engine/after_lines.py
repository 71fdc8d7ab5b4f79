"""What was used along wetted lines, stretch by stretch, against the plan of the lines."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from stillwet.domain.after import Amounts, LineUse
from stillwet.domain.job import Job
from stillwet.domain.line_plan import LinePlan, LineSegmentPlan, LinesPlan
from stillwet.domain.lines import Line, LineSegment
from stillwet.domain.log import Entry, SegmentWetted
from stillwet.domain.products import Crew
from stillwet.engine.after_residue import near_water
from stillwet.engine.after_work import LaidWork, WorkSum
from stillwet.engine.line_work import crew_of, effort_of
from stillwet.engine.mixing import concentrate_share, water_share
from stillwet.engine.quantities import reference_crew
from stillwet.engine.surroundings import strip_shape, surroundings_of

_SAME_M = 0.5  # as near as anybody can say how far a line is wet


@dataclass(frozen=True, slots=True)
class Stretch:
    """A segment of the job with its line, and what the plan of the lines says of both."""

    line: Line
    segment: LineSegment
    line_plan: LinePlan | None
    plan: LineSegmentPlan | None

    @property
    def id(self) -> str:
        """As the log names it: "line/segment"."""
        return f"{self.line.id}/{self.segment.id}"

    @property
    def ratio(self) -> float | None:
        """The mix ratio the line was planned with; None where nobody set one."""
        return self.line.work.mix_ratio if self.line_plan is None else self.line_plan.mix_ratio

    @property
    def coverage_kg_m2(self) -> float | None:
        """Water per wetted ground as planned; None where nothing says."""
        said = self.line.work.coverage_kg_m2 if self.plan is None else self.plan.coverage_kg_m2
        return said if said is not None and math.isfinite(said) else None


def stretches_of(job: Job, lines: LinesPlan | None) -> dict[str, Stretch]:
    """Every segment of the job's lines by its name in the log, in the order they are drawn."""
    plans = {} if lines is None else {one.line_id: one for one in lines.lines}
    found = {}
    for line in job.lines:
        plan = plans.get(line.id)
        parts = {} if plan is None else {part.segment_id: part for part in plan.segments}
        for segment in line.segments:
            one = Stretch(line, segment, plan, parts.get(segment.id))
            found[one.id] = one
    return found


def wetted_work(
    job: Job, stretches: Mapping[str, Stretch], entries: Iterable[Entry]
) -> dict[str, LaidWork]:
    """What each entry of a wetted line took, by the entry's id.

    Mix that was told counts as it is; a coverage, told or planned, as the mix it takes over the
    metres wetted since the entry before. An entry that only says where wetting begins took none.
    """
    found: dict[str, LaidWork] = {}
    reached: dict[str, tuple[str, float]] = {}  # by line: the segment it is wet in, and how far
    for entry in entries:
        body = entry.body
        if not isinstance(body, SegmentWetted):
            continue
        stretch = stretches.get(body.segment_id)
        length_m = 0.0
        if stretch is not None:
            length_m = _wetted_m(stretch, body, reached)
        if body.mix_m3 is None and stretch is not None and length_m < _SAME_M:
            continue
        found[entry.id] = _work(job, stretch, entry, body, length_m)
    return found


def _wetted_m(
    stretch: Stretch, body: SegmentWetted, reached: dict[str, tuple[str, float]]
) -> float:
    """Metres wetted since the entry before: from there, or from where the segment begins."""
    whole = stretch.segment.length_m
    end = whole if body.up_to_m is None else min(body.up_to_m, whole)
    last_id, last_m = reached.get(stretch.line.id, ("", 0.0))
    first = last_m if last_id == stretch.id and last_m <= end else 0.0
    reached[stretch.line.id] = (stretch.id, end)
    return end - first


def _work(
    job: Job, stretch: Stretch | None, entry: Entry, body: SegmentWetted, length_m: float
) -> LaidWork:
    mix_m3, is_said = _mix(job, stretch, body, length_m)
    ratio = ratio_of(job, stretch)
    crew = _crew(job, stretch, body)
    walk_s = 0.0 if stretch is None else length_m / stretch.line.work.spray_walk_m_s
    amounts = Amounts(
        mix_m3,
        mix_m3 * water_share(job.product, ratio),
        mix_m3 * concentrate_share(job.product, ratio),
        max(mix_m3 / crew.spray_flow_m3_s, walk_s),  # the slower of pump and legs
    )
    return LaidWork(body.segment_id, body.crew_id, entry.when_s, amounts, is_said, is_line=True)


def _mix(
    job: Job, stretch: Stretch | None, body: SegmentWetted, length_m: float
) -> tuple[float, bool]:
    """Mix, and whether the entry says how much. None is made up where nothing says: 0."""
    if body.mix_m3 is not None:
        return body.mix_m3, True
    is_said = body.coverage_kg_m2 is not None
    coverage = body.coverage_kg_m2
    if coverage is None and stretch is not None:
        coverage = stretch.coverage_kg_m2
    if stretch is None or coverage is None:
        return 0.0, False
    ratio = ratio_of(job, stretch)
    took = effort_of(job, stretch.line, stretch.segment, coverage_kg_m2=coverage, ratio=ratio)
    return took.mix_m3_m * length_m, is_said


def ratio_of(job: Job, stretch: Stretch | None) -> float:
    """The ratio as planned; where nobody set one the label's highest, so that none is forgotten."""
    planned = None if stretch is None else stretch.ratio
    return job.product.ratio_high if planned is None else planned


def _crew(job: Job, stretch: Stretch | None, body: SegmentWetted) -> Crew:
    named = next((one for one in job.crews if one.id == body.crew_id), None)
    if named is not None:
        return named
    return reference_crew(job) if stretch is None else crew_of(job, stretch.line)


def line_use(
    job: Job, stretches: Mapping[str, Stretch], works: Iterable[LaidWork]
) -> tuple[LineUse, ...]:
    """Every stretch that was planned to be wetted or was; then what the job does not know."""
    sums: dict[str, WorkSum] = {}
    for work in works:
        if work.is_line:
            sums.setdefault(work.place_id, WorkSum()).add(work)
    around = surroundings_of(job)
    rows = []
    for segment_id in dict.fromkeys((*stretches, *sums)):
        stretch, own = stretches.get(segment_id), sums.get(segment_id, WorkSum())
        asked = None if stretch is None else planned_amounts(stretch)
        wary: tuple[str, ...] = ()
        if stretch is not None and own.coats:
            shape = strip_shape(stretch.segment, stretch.line.work.wet_sides)
            wary = near_water(shape, around)
        if own.coats or (asked is not None and asked.mix_m3 > 0.0):
            name = _called(stretches, segment_id)
            rows.append(
                LineUse(segment_id, name, asked, own.amounts, own.coats, own.said, wary=wary)
            )
    return tuple(rows)


def _name(stretch: Stretch) -> str:
    """The segment first: a long name of a line is cut at its end."""
    return f"{stretch.segment.name or stretch.segment.id} ({stretch.line.name})"


def planned_amounts(stretch: Stretch) -> Amounts | None:
    """What the plan of the lines asks of a segment; None where it is in no plan."""
    part = stretch.plan
    if part is None or not math.isfinite(part.mix_m3):
        return None
    walk_s = (part.to_m - part.from_m) / part.walk_m_s if part.walk_m_s > 0.0 else 0.0
    return Amounts(part.mix_m3, part.water_m3, part.concentrate_m3, walk_s)


def line_notes(
    job: Job, stretches: Mapping[str, Stretch], works: Sequence[LaidWork]
) -> tuple[str, ...]:
    """What is not known of the lines: amounts, the plan, ratios, segments."""
    own = {work.place_id: stretches.get(work.place_id) for work in works if work.is_line}
    sprayed = {one.place_id for one in works if one.is_line and one.amounts.mix_m3 > 0.0}
    blank = {one.place_id for one in works if one.is_line and one.amounts.mix_m3 <= 0.0}
    low, high = 100.0 * job.product.ratio_low, 100.0 * job.product.ratio_high
    told = (
        ("how much mix was sprayed is not known, and none is counted", blank),
        (
            "no plan of these lines is kept, so what was wetted is held against none",
            {name for name, at in own.items() if at is not None and at.plan is None},
        ),
        (
            f"no mix ratio is known, so the label's highest, {high:.2f} %, is counted "
            f"(untested default, {low:.2f} to {high:.2f} %)",
            {name for name in sprayed if (at := own[name]) is None or at.ratio is None},
        ),
        (
            "wetted by the log, but no segment of the job's lines",
            {name for name, at in own.items() if at is None},
        ),
    )
    return tuple(
        f"{words}: {'; '.join(_called(stretches, one) for one in own if one in which)}"
        for words, which in told
        if which
    )


def _called(stretches: Mapping[str, Stretch], segment_id: str) -> str:
    return _name(stretches[segment_id]) if segment_id in stretches else segment_id
