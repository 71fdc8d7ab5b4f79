"""Use case: the bench of an open job: trials kept in it, their fit, mixes tried, checks judged."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from stillwet.domain.job import Job
from stillwet.domain.trial_report import TrialReport
from stillwet.domain.trials import Trial, TrialRecord, mixes
from stillwet.domain.typed_trials import BENCH
from stillwet.errors import StillwetError
from stillwet.services.mix_asked import (
    USUAL_COAT,
    amount_asked,
    amounts_asked,
    sliders_json,
    usual_amounts,
)
from stillwet.services.planning import Progress
from stillwet.services.trials import job_waters, with_trials
from stillwet.services.typed_trials import load_counted_job
from stillwet.store.job_file import open_job_file
from stillwet.store.stamp import Stamp, stamp_of
from stillwet.store.trial_tables import add_typed_trials, load_typed_trials

if TYPE_CHECKING:
    from stillwet.engine.mix_try import MixBench
    from stillwet.evidence.trial_report import Fitted

Found = TypeVar("Found")

_MOST_KEPT = 32  # answers kept for what is asked again


def bench_job(path: Path, *, now_s: float) -> tuple[Job, tuple[TrialRecord, ...], Stamp]:
    """The job with the trials that count, those trials, and the file's stamp."""
    with open_job_file(path, now_s=now_s) as job_file:
        stamp, job = stamp_of(job_file), load_counted_job(job_file)
    return job, job.trials, stamp


def keep_trials(path: Path, rows: Sequence[object], *, units: str, now_s: float) -> dict[str, Any]:
    """Keep typed trials in the job file; one under a known name takes its place.

    Raises StillwetError with every problem, its place "row N"; then nothing is kept.
    """
    from stillwet.exchange.trials import trials_of
    from stillwet.exchange.typed_rows import read_typed_trials

    with open_job_file(path, now_s=now_s) as job_file:
        job, typed = load_counted_job(job_file), load_typed_trials(job_file)
    product = job.product
    named = _named(rows, {one.id for one in (*job.trials, *typed)})
    found = read_typed_trials(
        named, units, time_zone=job.time_zone, kind=product.product_type, own=product.id
    )
    return _keep(path, trials_of(found, product, "the form"), now_s)


def _named(rows: Sequence[object], taken: set[str]) -> list[object]:
    """Rows without a name get the first free "bench N": rows of a table are "trial N"."""
    named: list[object] = []
    for row in rows:
        if isinstance(row, Mapping) and not str(row.get("id") or "").strip():
            number = 1
            while f"bench {number}" in taken:
                number += 1
            taken.add(f"bench {number}")
            named.append({**row, "id": f"bench {number}"})
        else:
            named.append(row)
    return named


def _keep(path: Path, trials: Sequence[TrialRecord], now_s: float) -> dict[str, Any]:
    with open_job_file(path, now_s=now_s) as job_file:
        new = add_typed_trials(job_file, trials)
        counted = {one.id for one in load_counted_job(job_file).trials}
    return {
        "kept": new,
        "already_here": len(trials) - new,
        "ids": [one.id for one in trials],
        "remarks": [
            f"{one.id}: a file of the job has the same trial already, so it counts once"
            for one in trials
            if one.id not in counted
        ],
    }


def import_trials(
    path: Path, name: str, content: bytes, now_s: float, progress: Progress
) -> dict[str, Any]:
    """Keep the trials of a table (CSV, TSV, XLSX); all of them or, with a fault, none."""
    from stillwet.exchange.clock import read_zone
    from stillwet.exchange.findings import Findings
    from stillwet.exchange.trials import read_trial_bytes, trials_of

    progress("reading the table", 0.0)
    job, _known, _stamp = bench_job(path, now_s=now_s)
    findings = Findings()
    found: tuple[TrialRecord, ...] = ()
    with findings.catching():
        clock = read_zone(job.time_zone, field="time_zone", place="")
        kind = job.product.product_type
        every = read_trial_bytes(content, name, clock=clock, kind=kind, findings=findings)
        own = trials_of(every, job.product, name)
        found = tuple(replace(one, product_id=job.product.id) for one in own)
    if findings.count:
        raise StillwetError(findings.problems())
    kept = _keep(path, found, now_s)
    return {**kept, "remarks": [*findings.remarks, *kept["remarks"]]}


@dataclass(frozen=True, slots=True)
class Question:
    """What the trials are asked, as typed: the coat to keep on a wall, the water's hardness."""

    coat: str = ""
    hardness: str = ""


class BenchDesk:
    """Keeps what is costly of one job file: the fit of its trials, its mix drawn."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._stamp: Stamp | None = None
        self._job: Job | None = None
        self._trials: tuple[TrialRecord, ...] = ()
        self._kept: dict[Hashable, Any] = {}

    def trials_json(self, now_s: float, units: str) -> dict[str, Any]:
        """The trials in the file as rows, and the form to add one."""
        from stillwet.exchange.typed_rows import TRIAL_FORM, TRIAL_WAYS, typed_trial
        from stillwet.reports.bench_words import trial_rows

        self._look(now_s)
        typed = {one.id: typed_trial(one, units) for one in mixes(self._trials)}
        curve = self._fitted().curve
        odd = (
            []
            if curve is None
            else [
                point.trial_id
                for point, is_odd in zip(curve.read.points, curve.odd, strict=True)
                if is_odd
            ]
        )
        return {
            "trials": trial_rows(self._trials, typed, odd),
            "form": _form(TRIAL_FORM, TRIAL_WAYS, units),
            "usual_coat": USUAL_COAT,
        }

    def fit_json(self, now_s: float, units: str, asked: Question) -> dict[str, Any]:
        """What the trials say, with the figure."""
        from stillwet.evidence.trial_figure import trial_figure
        from stillwet.evidence.trial_report import MOST_OVER_LABEL
        from stillwet.reports.bench_words import fit_json
        from stillwet.reports.words import Units

        self._look(now_s)
        job, question = self._the_job, self._question(asked)
        fitted = self._fitted()
        report = self._report(asked, propose=False)
        figure = None
        if fitted.curve is not None:
            figure = trial_figure(
                fitted.curve,
                mixes(self._trials),
                self._waters(asked),
                label=(job.product.ratio_low, job.product.ratio_high),
                most=MOST_OVER_LABEL * job.product.ratio_high,
                stress_pa=question.stress_pa,
            )
        return fit_json(report, figure, Units(units))

    def next_json(self, now_s: float, units: str, asked: Question) -> dict[str, Any]:
        """The trials most worth doing next, with the reason in what a crew reads."""
        from stillwet.reports.bench_words import next_json
        from stillwet.reports.words import Units

        self._look(now_s)
        return {"next": next_json(self._report(asked, propose=True), Units(units))}

    def mix_json(self, now_s: float, units: str, asked: Mapping[str, str]) -> dict[str, Any]:
        """One mix tried, by words such as {"ratio": "1.2 %"}; what is not given is as usual."""
        from stillwet.domain.mix_try import Tried
        from stillwet.reports.bench_words import mix_json
        from stillwet.reports.words import Units

        self._look(now_s)
        values = {**usual_amounts(self._the_job), **amounts_asked(asked)}
        tried = Tried(
            ratio=values["ratio"],
            hardness_kg_m3=values["hardness"],
            temperature_k=values["temperature"],
            coat_kg_m2=values["coat"],
            tilt_deg=values["tilt"],
        )
        found = self._mix().try_mix(tried)
        return {
            **mix_json(found, Units(units)),
            "sliders": sliders_json(values, self._the_job, units),
        }

    @property
    def _the_job(self) -> Job:
        assert self._job is not None
        return self._job

    def _look(self, now_s: float) -> None:
        """Take up what has changed in the file since it was last looked at."""
        with open_job_file(self._path, now_s=now_s) as job_file:
            stamp = stamp_of(job_file)
        known = self._stamp
        if known is None or _of_bench(known) != _of_bench(stamp):
            self._job, self._trials, self._stamp = bench_job(self._path, now_s=now_s)
            self._kept.clear()

    def _once(self, key: Hashable, make: Callable[[], Found]) -> Found:
        if key not in self._kept:
            if len(self._kept) >= _MOST_KEPT:
                self._kept.clear()
            self._kept[key] = make()
        found: Found = self._kept[key]
        return found

    def _fitted(self) -> Fitted:
        from stillwet.evidence.trial_report import fit_all
        from stillwet.physics.product_types import product_type

        job = self._the_job
        kind = product_type(name=job.product.product_type)
        return self._once("fitted", lambda: fit_all(self._trials, kind, seed=job.seed))

    def _report(self, asked: Question, *, propose: bool) -> TrialReport:
        from stillwet.evidence.trial_report import report_of

        job, question = self._the_job, self._question(asked)
        return self._once(
            ("report", propose, asked),
            lambda: report_of(
                self._fitted(),
                self._trials,
                job.product,
                question,
                source=job.trials_source or BENCH,
                seed=job.seed,
                propose=propose,
            ),
        )

    def _question(self, asked: Question) -> Any:
        from stillwet.evidence.trial_report import Asked

        coat = amount_asked("coat", asked.coat.strip() or USUAL_COAT)
        return Asked(coat, self._the_job.practice.cling_safety, self._waters(asked))

    def _waters(self, asked: Question) -> Any:
        """The water asked about, else those of the trials, else the job's."""
        from stillwet.evidence.curve_fit import Water
        from stillwet.evidence.trial_report import waters_of

        if asked.hardness.strip():
            return (Water(amount_asked("hardness", asked.hardness)),)
        own = job_waters(self._the_job.water_points)
        tried = waters_of(self._trials) if any(isinstance(t, Trial) for t in self._trials) else ()
        return tuple(dict.fromkeys((*tried, *own))) or waters_of(())

    def _mix(self) -> MixBench:
        from stillwet.engine.mix_draws import draw_mix
        from stillwet.engine.mix_try import MixBench

        def make() -> MixBench:
            taken = with_trials(self._the_job)
            return MixBench(taken, draw_mix(taken))

        return self._once("mix", make)


def check_rows(
    rows: Sequence[object], units: str, *, time_zone: str, window: str = "", wanted: str = ""
) -> dict[str, Any]:
    """What typed proportioner checks say; raises StillwetError with every problem."""
    from stillwet.evidence.proportioner import report_on
    from stillwet.exchange.typed_rows import read_typed_checks
    from stillwet.reports.bench_words import checks_json
    from stillwet.reports.words import Units
    from stillwet.services.proportioner import ratio_of, window_of

    limits = window_of("window", window) if window.strip() else None
    ratio = ratio_of("wanted", wanted) if wanted.strip() else None
    found = read_typed_checks(rows, units, time_zone=time_zone)
    report = report_on(*found, source="bench", time_zone=time_zone, window=limits, wanted=ratio)
    return checks_json(report, Units(units))


def check_form(units: str) -> dict[str, Any]:
    """The form of a proportioner check."""
    from stillwet.exchange.typed_rows import CHECK_FORM, CHECK_WAYS

    return _form(CHECK_FORM, CHECK_WAYS, units)


def _form(fields: Sequence[Any], ways: Sequence[str], units: str) -> dict[str, Any]:
    which = units == "metric"
    return {
        "ways": list(ways),
        "fields": [
            {
                "name": one.name,
                "says": one.says,
                "unit": one.units[which],
                "example": one.examples[which],
                "choices": list(one.choices),
                "ways": list(one.ways),
            }
            for one in fields
        ],
    }


def _of_bench(stamp: Stamp) -> tuple[object, ...]:
    return stamp.input_hash, stamp.trials_row
