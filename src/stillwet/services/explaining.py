"""Use case: why a plan says what it says, for one asset or for the whole job."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from stillwet.domain.chain import Chain, JobShares
from stillwet.services.outputs import need_figure_place, write_one
from stillwet.services.planning import Progress, make_job_plan, read_whole_job, silent, with_knobs
from stillwet.services.view import units_for

# The plan takes this share of the work; what the answer hangs on takes the rest.
_PLANNED_SHARE = 0.4


@dataclass(frozen=True, slots=True)
class Explained:
    """One explanation, ready to be shown."""

    found: Chain | JobShares
    units: str

    def text(self) -> str:
        """The explanation in at most 100 columns."""
        from stillwet.reports.chain_text import chain_text, job_shares_text

        if isinstance(self.found, Chain):
            return chain_text(self.found, self.units).rstrip("\n")
        return job_shares_text(self.found).rstrip("\n")

    def json_text(self) -> str:
        """The explanation as JSON (schema stillwet.explain/1)."""
        from stillwet.reports.chain_json import chain_to_json, job_shares_to_json
        from stillwet.reports.plan_json import json_text

        if isinstance(self.found, Chain):
            return json_text(chain_to_json(self.found)).rstrip("\n")
        return json_text(job_shares_to_json(self.found)).rstrip("\n")

    def figure(self, suffix: str) -> bytes:
        """What the answer hangs on, as SVG or PNG."""
        from stillwet.reports.figures import chain_figure_svg, job_shares_figure_svg, svg_to_png

        if isinstance(self.found, Chain):
            svg = chain_figure_svg(self.found)
        else:
            svg = job_shares_figure_svg(self.found)
        return svg_to_png(svg) if suffix == ".png" else svg.encode()


def explain_job(
    path: Path,
    asset: str | None,
    figure: Path | None,
    *,
    units: str | None = None,
    seed: int | None = None,
    members: int | None = None,
    progress: Progress | None = None,
) -> Explained:
    """Explain one asset (by id or name) of the job at ``path``, or all of it.

    With ``figure``, draw what the answer hangs on to that file. Raises StillwetError for an asset
    that is not there, before the reckoning.
    """
    from stillwet.engine.chain import asset_named, chain_of, job_shares_of

    tell = progress or silent
    if figure is not None:
        need_figure_place(figure)
    tell("reading the job", 0.0)
    job = with_knobs(read_whole_job(path), seed=seed, members=members)
    chosen = None if asset is None else asset_named(job, asset)
    plan = make_job_plan(job, job.start_s, lambda label, share: tell(label, _PLANNED_SHARE * share))
    rest = 1.0 - _PLANNED_SHARE
    tell("what it hangs on", _PLANNED_SHARE)
    if chosen is not None:
        explained = Explained(chain_of(job, plan, chosen), units_for(units, job))
    else:
        shares = job_shares_of(
            job,
            plan,
            progress=lambda name, share: tell(
                f"what it hangs on: {name}", _PLANNED_SHARE + rest * share
            ),
        )
        explained = Explained(shares, units_for(units, job))
    if figure is not None:
        write_one(figure, explained.figure(figure.suffix.lower()))
    tell("done", 1.0)
    return explained
