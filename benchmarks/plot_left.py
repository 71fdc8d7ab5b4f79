"""Draws the figure of docs/benchmarks.md on what is left and prints its numbers.

Run: ``python benchmarks/plot_left.py``; about two minutes. Simulated days (tests/left_trials.py):
error of the hold time after no, one and two checks of one face, on that face, one 25 m away and one
2 km away, and how often the 90 % band held the truth.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from stillwet.reports.svg import box, document, line, words

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "tests"))

from left_trials import Outcome, checked_day, errors_h  # noqa: E402 (the path comes first)

IMAGE = ROOT / "docs" / "img" / "left.svg"
DAYS = range(1000, 1120)
WAYS = (
    ("no check", True, 0),
    ("one check, weighed", True, 1),
    ("two checks, weighed", True, 2),
    ("two checks, by hand", False, 2),
)
PLACES = ("the checked face", "25 m away", "2 km away")
# Told apart by shade in print and by colour (Okabe and Ito 2008) on a screen.
FILLS = ("#0072B2", "#E69F00", "#CCCCCC")
WIDTH, HEIGHT = 720.0, 300.0
LEFT, TOP, BOTTOM = 56.0, 40.0, 60.0
MOST_H = 2.0


def measured() -> dict[str, list[list[Outcome]]]:
    """The outcomes of each way, by place."""
    found: dict[str, list[list[Outcome]]] = {}
    for name, is_weighed, checks in WAYS:
        days = [checked_day(seed, is_weighed=is_weighed, checks=checks) for seed in DAYS]
        found[name] = [[day[place] for day in days] for place in range(len(PLACES))]
    return found


def figure(found: dict[str, list[list[Outcome]]]) -> str:
    """Bars of the mean error, the plan's own as a line across each group."""
    parts = [words(LEFT, TOP - 14, "Mean error of the hold time, hours", 11, font_weight="bold")]
    for tick in np.arange(0.0, MOST_H + 0.1, 0.5):
        up = _y(tick)
        parts.append(line((LEFT, up), (WIDTH - 10.0, up), stroke="#cccccc", stroke_width=0.6))
        parts.append(words(LEFT - 6, up + 3, f"{tick:.1f}", 9, text_anchor="end"))
    span = (WIDTH - LEFT - 10.0) / len(found)
    for group, (name, places) in enumerate(found.items()):
        left = LEFT + group * span
        for place, outcomes in enumerate(places):
            parts += _bar(left + 12.0 + place * 44.0, outcomes, FILLS[place])
        parts.append(words(left + 74.0, HEIGHT - BOTTOM + 18, name, 10, text_anchor="middle"))
    for place, name in enumerate(PLACES):
        across = LEFT + place * 150.0
        parts.append(box(across, HEIGHT - 24, 12.0, 12.0, fill=FILLS[place], stroke="black"))
        parts.append(words(across + 18, HEIGHT - 14, name, 10))
    across = LEFT + 3 * 150.0
    parts.append(line((across, HEIGHT - 18), (across + 24, HEIGHT - 18), stroke_width=2.0))
    parts.append(words(across + 30, HEIGHT - 14, "the plan's own reckoning", 10))
    return document(WIDTH, HEIGHT, parts, title="Error of the hold time after checks")


def _bar(left: float, outcomes: list[Outcome], fill: str) -> list[str]:
    own, said = errors_h(outcomes)
    top = _y(said)
    return [
        box(left, top, 38.0, HEIGHT - BOTTOM - top, fill=fill, stroke="black"),
        line((left - 2, _y(own)), (left + 40, _y(own)), stroke_width=2.0),
        words(left + 19, HEIGHT - BOTTOM - 8, f"{said:.2f}", 9, halo=True, text_anchor="middle"),
    ]


def _y(hours: float) -> float:
    return HEIGHT - BOTTOM - hours / MOST_H * (HEIGHT - TOP - BOTTOM)


def main() -> None:
    """Measure, print, draw."""
    found = measured()
    print(
        f"{len(DAYS)} days; errors in hours: plan's own -> said; share of truths in the 90 % band"
    )
    for name, places in found.items():
        for place, outcomes in zip(PLACES, places, strict=True):
            own, said = errors_h(outcomes)
            hold = np.mean([one.is_in_band for one in outcomes])
            left = np.mean([one.left_is_in_band for one in outcomes])
            print(
                f"{name:20} {place:17} {own:.2f} -> {said:.2f} ({said / own:.0%}); "
                f"hold {hold:.0%}, water left {left:.0%}"
            )
    IMAGE.write_text(figure(found), encoding="utf-8")
    print(f"wrote {IMAGE.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
