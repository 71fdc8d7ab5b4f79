"""The door to the figures: each returns SVG, and ``svg_to_png`` turns any of them into PNG."""

from __future__ import annotations

from stillwet.reports.chain_figure import chain_figure_svg, job_shares_figure_svg
from stillwet.reports.drying_figure import drying_figure_svg
from stillwet.reports.map_figure import map_svg
from stillwet.reports.timeline_figure import timeline_svg
from stillwet.reports.typesetting import svg_to_png

__all__ = [
    "chain_figure_svg",
    "drying_figure_svg",
    "job_shares_figure_svg",
    "map_svg",
    "svg_to_png",
    "timeline_svg",
]
