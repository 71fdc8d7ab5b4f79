"""Use case: the mix window of a job or an asset, as text, JSON, figure and mixing card."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from stillwet.domain.mix_window import MixWindow
from stillwet.services.outputs import need_figure_place, need_file_place, write_one
from stillwet.services.planning import Progress, make_job_plan, read_whole_job, silent, with_knobs
from stillwet.services.view import units_for

# The plan, which says how thick the coats are, takes this share of the work.
_PLANNED_SHARE = 0.7


@dataclass(frozen=True, slots=True)
class Mixed:
    """A mix window and how it is to be seen."""

    window: MixWindow
    units: str

    def text(self) -> str:
        """What to set, the walls, and what they stand on."""
        from stillwet.reports.mix_text import mix_text

        return mix_text(self.window, self.units).rstrip("\n")

    def json_text(self) -> str:
        """The same as JSON (schema stillwet.mix/1)."""
        from stillwet.reports.mix_json import mix_json_text

        return mix_json_text(self.window).rstrip("\n")

    def figure(self, suffix: str) -> bytes:
        """The ratio axis with its walls, as SVG or PNG."""
        from stillwet.reports.mix_figure import mix_figure_svg
        from stillwet.reports.typesetting import svg_to_png

        svg = mix_figure_svg(self.window, units=self.units)
        return svg_to_png(svg) if suffix == ".png" else svg.encode()

    def card(self, paper: str) -> bytes:
        """The mixing card as PDF."""
        from stillwet.reports.mix_card import mix_card_bytes

        return mix_card_bytes(self.window, units=self.units, paper=paper)


def mix_of_job(
    path: Path,
    asset: str | None,
    *,
    figure: Path | None = None,
    card: Path | None = None,
    units: str | None = None,
    paper: str = "letter",
    seed: int | None = None,
    members: int | None = None,
    progress: Progress | None = None,
) -> Mixed:
    """The mix window of the job at ``path``, or of one asset of it (by id or name).

    With ``figure`` (SVG or PNG) and ``card`` (PDF), those are written too. Raises StillwetError
    for files that cannot be, or an asset that is not there, before the reckoning.
    """
    from stillwet.engine.chain import asset_named
    from stillwet.engine.mix_window import make_mix_window

    tell = progress or silent
    if figure is not None:
        need_figure_place(figure)
    if card is not None:
        need_file_place(card, (".pdf",), field="--card")
    tell("reading the job", 0.0)
    job = with_knobs(read_whole_job(path), seed=seed, members=members)
    chosen = None if asset is None else asset_named(job, asset).id
    plan = make_job_plan(job, job.start_s, lambda label, share: tell(label, _PLANNED_SHARE * share))
    tell("the mix window", _PLANNED_SHARE)
    mixed = Mixed(make_mix_window(job, plan, chosen), units_for(units, job))
    # Both are made before either is written, so that trouble with one leaves none.
    drawn = None if figure is None else mixed.figure(figure.suffix.lower())
    printed = None if card is None else mixed.card(paper)
    for path_of, content in ((figure, drawn), (card, printed)):
        if path_of is not None and content is not None:
            write_one(path_of, content)
    tell("done", 1.0)
    return mixed
