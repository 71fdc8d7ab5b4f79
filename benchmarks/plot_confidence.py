"""Draws the two figures of docs/explanation/confidence.md and prints their numbers.

Run: ``python benchmarks/plot_confidence.py``; about five minutes. Coverage: how often 90 %
statements came true over a year of real weather, by lead and by facing. Convergence: hold-until and
probability of one face against the number of members, eight seeds each.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from stillwet.domain.job import Job
from stillwet.domain.weather import HOUR_S
from stillwet.engine import coating
from stillwet.engine.drying import job_drying
from stillwet.engine.exposure import ask_of_asset
from stillwet.engine.faces import faces_of
from stillwet.engine.members import draw_members
from stillwet.reports.svg import box, document, element, line, path, words

Array = NDArray[np.float64]

ROOT = Path(__file__).parent.parent
IMAGES = ROOT / "docs" / "img"
COUNTS = (8, 16, 32, 64, 128, 256, 512, 1024)
SEEDS = range(1, 9)
REFERENCE = 4096
COAT_KG_M2, LAY_H = 6.0, 4.0
WIDTH, HEIGHT = 720.0, 300.0
LEFT, TOP, BOTTOM, GAP = 56.0, 40.0, 78.0, 64.0
# Told apart by colour (safe for colour-blind readers: Okabe and Ito 2008) and by shape.
STYLES = {
    "hold-until, all uncertain": ("#0072B2", "circle"),
    "verdict, all uncertain": ("#D55E00", "circle"),
    "hold-until, weather only": ("#0072B2", "box"),
    "verdict, weather only": ("#D55E00", "box"),
}


class Panel:
    """One frame of a figure: its place across and the scale up."""

    def __init__(self, left: float, width: float, low: float, high: float) -> None:
        self.left, self.width, self.low, self.high = left, width, low, high

    def x(self, share: float) -> float:
        """Across the panel, 0 to 1."""
        return self.left + share * self.width

    def y(self, value: float) -> float:
        """Up the panel, in its own unit."""
        share = (value - self.low) / (self.high - self.low)
        return HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM)

    def frame(self, title: str, ticks: Sequence[float], shown: str) -> list[str]:
        """Axes, ticks and title."""
        parts = [words(self.left, TOP - 12, title, 11, font_weight="bold")]
        for tick in ticks:
            y = self.y(tick)
            parts.append(line((self.left, y), (self.x(1), y), stroke="#cccccc", stroke_width=0.6))
            parts.append(words(self.left - 6, y + 3, format(tick, shown), 9, text_anchor="end"))
        parts.append(line((self.left, self.y(self.low)), (self.x(1), self.y(self.low))))
        return parts

    def label(self, share: float, text: str) -> str:
        """A name under the axis, slanted so that long ones keep apart."""
        x, y = self.x(share), HEIGHT - BOTTOM + 12
        return words(x, y, text, 9, text_anchor="end", transform=f"rotate(-35 {x:.1f} {y:.1f})")


def mark(x: float, y: float, colour: str, shape: str) -> str:
    """A dot or a hollow square."""
    if shape == "circle":
        return element("circle", cx=x, cy=y, r=3.2, fill=colour)
    return box(x - 3, y - 3, 6, 6, fill="white", stroke=colour, stroke_width=1.4)


def coverage_figure() -> str:
    """Shares of statements that came true, by lead and by facing, over the wanted band."""
    from calibration import coverage  # noqa: PLC0415  the tests' own simulation

    found = {
        "all uncertain": coverage(),
        "weather only": coverage(is_weather_only=True),
    }
    some = found["all uncertain"]
    groups = {
        "by hours from forecast to coat": ((0, 2), [f"{lead} h" for lead in some.leads_h]),
        "by facing": ((0, 1), list(some.labels)),
    }
    panels = [Panel(LEFT, 230.0, 0.8, 1.0), Panel(LEFT + 230.0 + GAP, 340.0, 0.8, 1.0)]
    parts: list[str] = []
    for panel, (title, (axes, names)) in zip(panels, groups.items(), strict=True):
        band = panel.y(0.95)
        parts.append(box(panel.left, band, panel.width, panel.y(0.85) - band, fill="#eef5ea"))
        parts += panel.frame(title, (0.80, 0.85, 0.90, 0.95, 1.0), ".0%")
        for index, name in enumerate(names):
            parts.append(panel.label((index + 0.5) / len(names), name))
        for row, (label, (colour, shape)) in enumerate(STYLES.items()):
            kind, _, case = label.partition(", ")
            outcomes = found[case].hold if kind == "hold-until" else found[case].verdict
            means = np.nanmean(outcomes, axis=axes)
            print(f"{title}: {label}: all {np.nanmean(outcomes):.3f}", means.round(3))
            for index, mean in enumerate(means):
                across = (index + 0.5 + 0.12 * (row - 1.5)) / len(names)
                parts.append(mark(panel.x(across), panel.y(float(mean)), colour, shape))
    for row, (label, (colour, shape)) in enumerate(STYLES.items()):
        x = LEFT + 165.0 * row
        parts += [mark(x, HEIGHT - 8, colour, shape), words(x + 8, HEIGHT - 5, label, 9)]
    return document(WIDTH, HEIGHT, parts, title="How often 90 % statements came true")


def print_long_wait() -> None:
    """A day from coat to fire: as the plan takes errors to last, and as if they lasted for ever."""
    from calibration import LONG, coverage  # noqa: PLC0415  the tests' own simulation

    for label, persistence_s in (("as planned", None), ("errors for ever", 30 * 86400.0)):
        found = coverage(
            every_days=2, is_weather_only=True, wait=LONG, believed_persistence_s=persistence_s
        )
        told = (np.nanmean(found.hold), np.nanmean(found.verdict))
        print(f"a day's wait, weather only, {label}: hold {told[0]:.3f}, verdict {told[1]:.3f}")


def _answers(job: Job) -> tuple[float, float]:
    """Hours a fixed coat on the south wall is sure to hold, and its chance of enough."""
    asset = job.assets[0]
    face = (faces_of(asset)[2],)
    members = draw_members(job)
    ask = ask_of_asset(job, asset, face, members)
    drying = job_drying(job, face, members)
    spread = coating.make_spread(members, np.array([50.0]))
    arrival = np.array([asset.fire.arrival_to_s])
    demand = coating.Ask(
        water_demand=ask.water_demand_kg_m2,
        arrival_s=arrival,
        end_s=arrival + job.practice.ember_period_s,
        reserve=job.practice.ember_reserve_kg_m2,
    )
    coat, lay = np.array([COAT_KG_M2]), np.array([job.start_s + LAY_H * HOUR_S])
    hold = coating.hold_until(drying, spread, demand, coat=coat, lay_s=lay)
    sure = float(np.quantile(hold, 0.1, axis=1, method="lower")[0])
    chance = coating.probability(drying, spread, demand, coat=coat, lay_s=lay)
    return (sure - float(lay[0])) / HOUR_S, float(chance[0])


def convergence_figure() -> str:
    """Error of hold-until and probability against members, seed by seed."""
    from job_fixture import make_job  # noqa: PLC0415  the tests' invented job

    job = make_job()
    wanted = np.mean([_answers(replace(job, members=REFERENCE, seed=seed)) for seed in SEEDS], 0)
    found = np.array(
        [[_answers(replace(job, members=count, seed=seed)) for seed in SEEDS] for count in COUNTS]
    )
    error = found - wanted
    print(f"reference ({REFERENCE} members): {wanted[0]:.3f} h, {wanted[1]:.4f}")
    parts: list[str] = []
    titles = ("hold-until at 90 %: error, minutes", "probability: error, points")
    for index, (title, scale) in enumerate(zip(titles, (60.0, 100.0), strict=True)):
        own = error[:, :, index] * scale
        most = float(np.ceil(np.abs(own).max() / 10) * 10)
        panel = Panel(LEFT + index * (290.0 + GAP), 290.0, -most, most)
        parts += panel.frame(title, np.linspace(-most, most, 5).tolist(), ".0f")
        for place, count in enumerate(COUNTS):
            across = (place + 0.5) / len(COUNTS)
            parts.append(panel.label(across, str(count)))
            parts += [
                mark(panel.x(across), panel.y(value), "#0072B2", "circle") for value in own[place]
            ]
        root = np.sqrt((own**2).mean(axis=1))
        print(title, dict(zip(COUNTS, root.round(2).tolist(), strict=True)))
        parts += _envelope(panel, root)
    parts.append(words(LEFT, HEIGHT - 5, "members; one dot a seed, lines: root mean square", 9))
    return document(WIDTH, HEIGHT, parts, title="Error against the number of members")


def _envelope(panel: Panel, root: Array) -> Iterable[str]:
    for sign in (1.0, -1.0):
        points = [
            (panel.x((place + 0.5) / len(root)), panel.y(sign * float(value)))
            for place, value in enumerate(root)
        ]
        yield path(points, stroke="#D55E00", stroke_width=1.4)


def main() -> None:
    """Write both figures."""
    sys.path.append(str(ROOT / "tests"))
    IMAGES.mkdir(exist_ok=True)
    print_long_wait()
    for name, figure in (("convergence", convergence_figure), ("confidence", coverage_figure)):
        (IMAGES / f"{name}.svg").write_text(figure() + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
