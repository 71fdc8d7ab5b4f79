"""Use case: proportioner checks from a file become a report, a run chart; or a form to print."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from stillwet.domain.mix_window import MixWindow
from stillwet.domain.proportioner import ProportionerReport
from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.outputs import need_figure_place, need_file_place, write_one
from stillwet.services.planning import Progress, silent
from stillwet.services.view import units_for
from stillwet.units import read_quantity


@dataclass(frozen=True, slots=True)
class Checked:
    """A report, how it is to be seen, and what reading it had to leave out."""

    report: ProportionerReport
    units: str
    remarks: tuple[str, ...]

    def text(self) -> str:
        """What to set, and what the checks say."""
        from stillwet.reports.proportioner_text import proportioner_text

        return proportioner_text(self.report, self.units).rstrip("\n")

    def json_text(self) -> str:
        """The same as JSON (schema stillwet.proportioner/1)."""
        from stillwet.reports.proportioner_json import proportioner_json_text

        return proportioner_json_text(self.report).rstrip("\n")

    def figure(self, suffix: str) -> bytes:
        """The run chart, as SVG or PNG."""
        from stillwet.reports.run_chart_figure import run_chart_svg
        from stillwet.reports.typesetting import svg_to_png

        svg = run_chart_svg(self.report)
        return svg_to_png(svg) if suffix == ".png" else svg.encode()


def check_proportioner(
    path: Path,
    *,
    job: Path | None = None,
    window: str | None = None,
    wanted: str | None = None,
    figure: Path | None = None,
    time_zone: str = "UTC",
    units: str | None = None,
    progress: Progress | None = None,
) -> Checked:
    """What the checks in the file at ``path`` say of the proportioners in it.

    The mix window comes from ``window`` ("0.9 % to 1.3 %") or from a ``job``, whose ratio to set is
    then what is wanted unless ``wanted`` says otherwise. Raises StillwetError with every problem.
    """
    from stillwet.evidence.proportioner import report_on
    from stillwet.exchange.proportioner import read_checks
    from stillwet.services.mixing import mix_of_job

    tell = progress or silent
    if figure is not None:
        need_figure_place(figure)
    limits = None if window is None else window_of("--window", window)
    ratio = None if wanted is None else ratio_of("--wanted", wanted)
    tell("reading the checks", 0.0)
    found, remarks, problems = read_checks(path, time_zone)
    if found is None or problems:
        raise StillwetError(problems)
    if job is not None:
        found_mix = mix_of_job(job, None, units=units, progress=tell)
        mixed, units = found_mix.window, found_mix.units
        limits = limits or _limits(mixed)
        ratio = ratio if ratio is not None else _job_ratio(mixed)
    report = report_on(*found, source=path.name, time_zone=time_zone, window=limits, wanted=ratio)
    checked = Checked(report, units_for(units), remarks)
    if figure is not None:
        write_one(figure, checked.figure(figure.suffix.lower()))
    tell("done", 1.0)
    return checked


def need_form_place(path: Path) -> None:
    """Raise unless the form can be written there."""
    need_file_place(path, (".pdf",), field="--form")


def write_form(path: Path, *, units: str | None, paper: str) -> None:
    """The proportioner form as PDF."""
    from stillwet.reports.proportioner_form import proportioner_form_bytes

    need_form_place(path)
    write_one(path, proportioner_form_bytes(units=units_for(units), paper=paper))


def _limits(mixed: MixWindow) -> tuple[float, float]:
    """The job's mix window; a closed one judges nothing."""
    if not mixed.is_open:
        raise StillwetError(
            Problem(
                "--job",
                "a job whose mix window is open",
                "a closed one",
                "",
                "stillwet mix says why; or give --window",
            )
        )
    return mixed.lower.ratio, mixed.upper.ratio


def _job_ratio(mixed: MixWindow) -> float | None:
    return next((crew.ratio for crew in mixed.crews if crew.tank is not None), None)


def window_of(field: str, text: str) -> tuple[float, float]:
    """Two ratios from "0.9 % to 1.3 %"."""
    parts = text.split(" to ")
    if len(parts) != 2:
        raise StillwetError(Problem(field, 'such as "0.9 % to 1.3 %"', shown(text)))
    low, high = (ratio_of(field, part) for part in parts)
    if low >= high:
        raise StillwetError(Problem(field, "the lower ratio first", shown(text)))
    return low, high


def ratio_of(field: str, text: str) -> float:
    """A ratio that a proportioner may be set to."""
    ratio = read_quantity(text, dimension="fraction", field=field)
    if not 0.0 < ratio < 0.5:
        raise StillwetError(Problem(field, "above 0 and below 50 %", shown(text)))
    return ratio
