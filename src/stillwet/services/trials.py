"""Use case: a crew's trials become a fit, the next trial, numbers for plans; or a form to print."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from stillwet.domain.job import Job
from stillwet.domain.products import Product, RatioBasis, WaterPoint
from stillwet.domain.trial_report import TrialReport
from stillwet.domain.trials import TrialRecord
from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.keeping import read_plain_job
from stillwet.services.mix_asked import USUAL_COAT, amount_asked
from stillwet.services.outputs import need_file_place, write_one
from stillwet.services.view import units_for

if TYPE_CHECKING:
    from stillwet.evidence.curve_fit import Water

_SEED = 1


@dataclass(frozen=True, slots=True)
class Fitted:
    """What the trials say, how it is to be seen, and what reading them had to assume."""

    report: TrialReport
    units: str
    remarks: tuple[str, ...]

    def text(self) -> str:
        """The fit and what to try next."""
        from stillwet.reports.trial_text import trial_text

        return trial_text(self.report, self.units).rstrip("\n")

    def json_text(self) -> str:
        """The same as JSON (schema stillwet.trial/1)."""
        from stillwet.reports.trial_json import trial_json_text

        return trial_json_text(self.report).rstrip("\n")


@dataclass(frozen=True, slots=True)
class About:
    """Whose trials: a ``job`` (its product, waters and safety), or a product ``kind``.

    ``product`` picks one product of a file with several; ``coat`` and ``hardness`` are what is
    asked, as a person writes them.
    """

    job: Path | None = None
    kind: str | None = None
    product: str | None = None
    coat: str | None = None
    hardness: str | None = None
    time_zone: str = "UTC"


def look_at_trials(
    path: Path | None,
    about: About,
    *,
    propose: bool,
    units: str | None = None,
    seed: int | None = None,
) -> Fitted:
    """Fit the trials in the file at ``path``; with ``propose`` say what to try next.

    Without a file the next trial is the first one. Raises StillwetError with every problem.
    """
    from stillwet.evidence.trial_report import Asked, report_on
    from stillwet.exchange.trials import read_trials, trials_of

    job = None if about.job is None else read_plain_job(about.job)
    product = _product(about) if job is None else job.product
    coat = amount_asked("coat", about.coat or USUAL_COAT, field="--coat")
    records: tuple[TrialRecord, ...] = ()
    remarks: tuple[str, ...] = ()
    source = "no trials"
    if path is not None:
        found, remarks, problems = read_trials(
            path, time_zone=about.time_zone, kind=product.product_type
        )
        if found is None or problems:
            raise StillwetError(problems)
        chosen_ones = _chosen(found, about, path.name)
        records = chosen_ones if job is None else trials_of(chosen_ones, product, path.name)
        source = path.name
    elif job is not None and job.trials:
        records, source = job.trials, job.trials_source
    asked = Asked(
        coat_kg_m2=coat,
        safety=_usual_safety() if job is None else job.practice.cling_safety,
        waters=_waters(job, about.hardness),
    )
    chosen = seed if seed is not None else (_SEED if job is None else job.seed)
    report = report_on(records, product, asked, source=source, seed=chosen, propose=propose)
    return Fitted(report, units_for(units, job), remarks)


def add_trial(path: Path, values: Mapping[str, str], *, time_zone: str, is_dry: bool) -> int:
    """Add one row to the trials at ``path`` and return how many there are then.

    The file is replaced whole or left as it was; with ``is_dry`` it is always left. Raises
    StillwetError with every problem of the file as it would be, the new row's first of all.
    """
    from stillwet.exchange.clock import read_zone
    from stillwet.exchange.files import read_bytes
    from stillwet.exchange.findings import Findings
    from stillwet.exchange.trial_rows import with_row
    from stillwet.exchange.trials import read_trial_bytes

    need_file_place(path, (".csv", ".tsv", ".txt", ".xlsx"), field="TRIALS.csv")
    old = read_bytes(path, name=path.name, key="trials file") if path.exists() else None
    new = with_row(old, path.name, values)
    findings = Findings()
    with findings.catching():
        clock = read_zone(time_zone, field="--time-zone", place="")
        records = read_trial_bytes(new, path.name, clock=clock, kind=None, findings=findings)
    # A coat weighed once is the first row of a series, not a fault, while it is being typed in.
    problems = [one for one in findings.problems() if "at least 2 weighings" not in one.wanted]
    if problems:
        raise StillwetError(problems)
    if not is_dry:
        write_one(path, new)
    return len(records)


def write_trial_form(path: Path, *, units: str | None, paper: str) -> None:
    """The trial form as PDF."""
    from stillwet.reports.trial_form import trial_form_bytes

    need_file_place(path, (".pdf",), field="FORM.pdf")
    write_one(path, trial_form_bytes(units=units_for(units), paper=paper))


def with_trials(job: Job) -> Job:
    """The job with every default of its product that its trials replace, and a word on each."""
    if not job.trials:
        return job
    from stillwet.evidence.trial_report import accept
    from stillwet.services.typed_trials import counted_words

    product, told = accept(
        job.product,
        job.trials,
        job_waters(job.water_points),
        source=job.trials_source,
        seed=job.seed,
    )
    return replace(job, product=product, remarks=(*job.remarks, counted_words(job), *told))


def job_waters(points: tuple[WaterPoint, ...]) -> tuple[Water, ...]:
    """The waters of a job's water points, hardest first."""
    from stillwet.evidence.curve_fit import Water

    seen = {(point.hardness_kg_m3, point.water_temperature_k) for point in points}
    return tuple(Water(hardness, warm) for hardness, warm in sorted(seen, reverse=True))


def _usual_safety() -> float:
    from stillwet.exchange.practice import practice_defaults

    return float(practice_defaults()["cling_safety"].value)


def _waters(job: Job | None, hardness: str | None) -> tuple[Water, ...]:
    """The water asked about, or the job's; empty for those of the trials."""
    from stillwet.evidence.curve_fit import Water

    if hardness is not None:
        return (Water(amount_asked("hardness", hardness, field="--hardness")),)
    return () if job is None else job_waters(job.water_points)


def _chosen(records: tuple[TrialRecord, ...], about: About, name: str) -> tuple[TrialRecord, ...]:
    """The records of the product asked for; a file with several must be asked for one."""
    ids = sorted({one.product_id for one in records})
    if about.product is None and (about.job is not None or len(ids) <= 1):
        return records
    if about.product in ids:
        return tuple(one for one in records if one.product_id == about.product)
    got = "no choice" if about.product is None else shown(about.product)
    raise StillwetError(Problem("--product", "one of " + ", ".join(ids), got, name))


def _product(about: About) -> Product:
    """A product of which nothing is known but its type: all numbers are the type's defaults."""
    from stillwet.exchange.products import type_defaults, type_names
    from stillwet.physics.product_types import product_type

    names = type_names()
    if about.kind not in names:
        wanted = "--job JOB.toml, or --type with one of " + ", ".join(sorted(set(names.values())))
        got = "neither" if about.kind is None else shown(about.kind)
        raise StillwetError(Problem("--type", wanted, got))
    kind = product_type(name=names[about.kind])
    defaults = type_defaults(kind.id)
    is_volume = kind.ratio_basis == "volume"
    return Product(
        id=about.product or kind.id,
        name=about.product or kind.name,
        product_type=kind.id,
        ratio_basis=RatioBasis.VOLUME if is_volume else RatioBasis.MASS,
        ratio_low=kind.ratio_low.median,
        ratio_high=kind.ratio_high.median,
        density_kg_m3=kind.density_kg_m3.median,
        yield_coefficient_pa=kind.yield_coefficient_pa.median,
        yield_threshold=kind.yield_threshold.median,
        yield_exponent=kind.yield_exponent.median,
        hardness_half_kg_m3=kind.hardness_half_kg_m3.median,
        drying_exponent=kind.drying_exponent.median,
        pack_m3=0.02,  # no pack is asked about
        cost_per_pack=0.0,
        basis={name: default.basis for name, default in defaults.items()},
    )
