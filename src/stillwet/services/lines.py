"""Use case: a job's wetted lines, as text, JSON, figures and sheets."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from stillwet.domain.line_plan import LinesPlan
from stillwet.services.keeping import keep_plan_in
from stillwet.services.outputs import Writer, bytes_writer, need_folder_place, write_whole
from stillwet.services.planning import Progress, read_whole_job, silent, with_knobs
from stillwet.services.view import View


@dataclass(frozen=True, slots=True)
class LinesAnswer:
    """The lines' answer, how it is to be seen, and the files it was written to."""

    plan: LinesPlan
    view: View
    files: tuple[Path, ...] = ()
    kept: str = ""  # what to say of its being kept in the job file

    def text(self) -> str:
        """The lines as text of at most 100 columns."""
        from stillwet.reports.line_text import lines_text

        return lines_text(self.plan, self.view.units).rstrip("\n")

    def json_text(self) -> str:
        """The lines as JSON (schema stillwet.lines/1)."""
        from stillwet.reports.line_json import lines_json_text

        return lines_json_text(self.plan).rstrip("\n")


def lines_of_job(
    path: Path,
    out: Path | None,
    *,
    now_s: float,
    seed: int | None = None,
    members: int | None = None,
    view: View | None = None,
    progress: Progress | None = None,
) -> LinesAnswer:
    """Reckon the lines of the job at ``path``; with ``out``, write their files, whole or none.

    Raises StillwetError with every problem found, before anything is written.
    """
    tell = progress or silent
    if out is not None:
        need_folder_place(out)
    tell("reading the job", 0.0)
    job = with_knobs(read_whole_job(path), seed=seed, members=members)
    view = (view or View()).of(job)
    from stillwet.engine.lines import make_lines

    plan = make_lines(
        job, now_s=now_s, progress=lambda label, share: tell(label, 0.05 + 0.8 * share)
    )
    kept = keep_plan_in(path, plan, job)
    if out is None:
        return LinesAnswer(plan, view, kept=kept)
    tell("writing the sheets", 0.9)
    files = write_whole(out, lines_writers(plan, view))
    tell("done", 1.0)
    return LinesAnswer(plan, view, files, kept)


def lines_writers(plan: LinesPlan, view: View) -> dict[str, Writer]:
    """Every file of the lines, by name, with what writes it."""
    from stillwet.reports.line_figure import line_figure_svg
    from stillwet.reports.line_json import lines_json_text
    from stillwet.reports.line_pdf import lines_pdf_bytes
    from stillwet.reports.line_words import clock_of_lines
    from stillwet.reports.words import Units

    clock, units = clock_of_lines(plan), Units(view.units)
    writers = {
        "lines.json": bytes_writer(lines_json_text(plan).encode()),
        "lines.pdf": bytes_writer(lines_pdf_bytes(plan, units=view.units, paper=view.paper)),
    }
    for number, line in enumerate(plan.lines, start=1):
        figure = line_figure_svg(line, clock, units=units)
        writers[f"line-{number}.svg"] = bytes_writer(figure.encode())
    return writers
