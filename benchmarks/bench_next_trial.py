"""How fast proposed trials narrow the mix window, against equally spaced ones at equal count.

Run: ``python benchmarks/bench_next_trial.py [TRUTHS] [FIGURE.svg]``. Made-up products and crews of
each type; both crews have the same ways of reading and the same two waters. Width: the 90 % band of
the lowest ratio that keeps 1/8 in on a wall with a safety of 1.5 in the harder water.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from stillwet.evidence.curve_fit import Water, fit_curve, lowest_working_ratio
from stillwet.evidence.next_trial import (
    Question,
    attempts_of,
    belief_before,
    belief_of,
    rank_trials,
    width_of,
)
from stillwet.evidence.readings import Attempt, Method
from stillwet.evidence.simulation import (
    Truth,
    attempts_over_label,
    draw_truth,
    take_reading,
)
from stillwet.physics.product_types import ProductType, product_type, product_type_names

METHODS = (Method.COUPON, Method.SLUMP, Method.FUNNEL)
WATERS = (0.05, 0.2)
TEMPERATURE_K = 294.15
AGE_S = 4 * 3600.0
MOST = 6
STRESS_PA = 1.5 * 31.0
POINTS = 256


def question_of(kind: ProductType) -> Question:
    """What both crews want to know."""
    return Question(Water(WATERS[1], TEMPERATURE_K), STRESS_PA, 3.0 * kind.ratio_high.median)


def width_after(truth: Truth, attempts: Sequence[Attempt], question: Question, seed: int) -> float:
    """Width of the band after these trials."""
    trials = [
        take_reading(truth, attempt, name=f"t{place}", seed=1000 * seed + place)
        for place, attempt in enumerate(attempts)
    ]
    fit = fit_curve(trials, truth.model.kind, seed=seed, points=POINTS)
    return width_of(
        lowest_working_ratio(
            fit.members, question.water, stress_pa=question.stress_pa, most=question.most
        )
    )


def proposed_widths(truth: Truth, question: Question, seed: int, most: int) -> list[float]:
    """Widths after 1, 2, ... trials, each the one proposed after those before."""
    kind = truth.model.kind
    candidates = attempts_of(
        ratios=(kind.ratio_low.median, kind.ratio_high.median),
        waters=[(hardness, TEMPERATURE_K) for hardness in WATERS],
        methods=METHODS,
        age_s=AGE_S,
    )
    belief, trials, widths = belief_before(kind, seed=seed), [], []
    for count in range(most):
        best = rank_trials(belief, candidates, question, seed=seed)[0].attempt
        trials.append(take_reading(truth, best, name=f"t{count}", seed=1000 * seed + count))
        fit = fit_curve(trials, kind, seed=seed, points=POINTS)
        belief = belief_of(fit, seed=seed)
        target = lowest_working_ratio(
            fit.members, question.water, stress_pa=question.stress_pa, most=question.most
        )
        widths.append(width_of(target))
    return widths


def spaced_widths(truth: Truth, question: Question, seed: int, counts: range) -> list[float]:
    """Widths after so many trials equally spaced over the label, methods and waters in turn."""
    return [
        width_after(
            truth,
            attempts_over_label(
                truth.model.kind,
                count=count,
                methods=METHODS,
                hardness_kg_m3=WATERS,
                seconds_old=AGE_S,
                temperature_k=TEMPERATURE_K,
            ),
            question,
            seed,
        )
        for count in counts
    ]


def main(truths: int, figure: Path | None) -> None:
    """Print the mean width in ratio points at each count, and draw it."""
    found: dict[str, tuple[list[float], list[float]]] = {}
    for number, name in enumerate(product_type_names()):
        kind = product_type(name=name)
        question = question_of(kind)
        seeds = range(100 * number, 100 * number + truths)
        made = [(draw_truth(kind, seed=seed), seed) for seed in seeds]
        ours = np.array([proposed_widths(truth, question, seed, MOST) for truth, seed in made])
        theirs = np.array(
            [spaced_widths(truth, question, seed, range(2, MOST + 1)) for truth, seed in made]
        )
        found[kind.name] = ((100 * ours[:, 1:].mean(0)).tolist(), (100 * theirs.mean(0)).tolist())
        print(kind.name, f"({truths} made-up products)")
        for place, count in enumerate(range(2, MOST + 1)):
            mine, other = (pair[place] for pair in found[kind.name])
            better = int((ours[:, count - 1] < theirs[:, place]).sum())
            print(
                f"  {count} trials: proposed {mine:.2f}, equally spaced {other:.2f} points "
                f"({100 * (1 - mine / other):.0f} % narrower; {better} of {truths} better)",
                flush=True,
            )
    if figure is not None:
        figure.write_text(draw(found), encoding="utf-8")


def draw(found: dict[str, tuple[list[float], list[float]]]) -> str:
    """Small panels, one a type: width against the number of trials."""
    wide, high, left, top = 190, 150, 44, 34
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {4 * wide + 20} {high + 74}" '
        'font-family="sans-serif" font-size="11" fill="#222">',
        '<text x="8" y="14">Mean width of the 90 % band of the lowest working ratio, in points'
        " (blue: proposed trials; grey: equally spaced)</text>",
    ]
    for panel, (name, pair) in enumerate(found.items()):
        x0 = panel * wide + left
        tallest = 1.1 * max(*pair[0], *pair[1])
        parts.append(f'<text x="{x0}" y="{top + 2}" font-size="9">{name}</text>')
        for share in (0.0, 0.5, 1.0):
            y = top + 10 + high * (1 - share)
            parts.append(
                f'<line x1="{x0}" x2="{x0 + wide - 56}" y1="{y}" y2="{y}" stroke="#ddd"/>'
                f'<text x="{x0 - 4}" y="{y + 4}" text-anchor="end">{share * tallest:.2g}</text>'
            )
        for widths, colour in zip(pair, ("#1f5fa8", "#888"), strict=True):
            step = (wide - 66) / (len(widths) - 1)
            dots = [
                (x0 + 4 + place * step, top + 10 + high * (1 - width / tallest))
                for place, width in enumerate(widths)
            ]
            path = " ".join(f"{x:.1f},{y:.1f}" for x, y in dots)
            parts.append(
                f'<polyline points="{path}" fill="none" stroke="{colour}" stroke-width="2"/>'
            )
        for place in range(len(pair[0])):
            x = x0 + 4 + place * (wide - 66) / (len(pair[0]) - 1)
            parts.append(
                f'<text x="{x}" y="{top + high + 26}" text-anchor="middle">{place + 2}</text>'
            )
    parts.append(f'<text x="{left}" y="{top + high + 40}">number of trials</text></svg>')
    return "\n".join(parts)


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 8,
        Path(sys.argv[2]) if len(sys.argv) > 2 else None,
    )
