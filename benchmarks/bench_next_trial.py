"""How fast proposed trials narrow the mix window, against equally spaced ones at equal count.

Run: ``python benchmarks/bench_next_trial.py [TRUTHS] [FIGURE.svg]``. Made-up products and crews of
each type. Equally spaced over the label twice: with the same ways of reading and the same two
waters taken in turn, and with the board alone in the water asked about. Width: the 90 % band of the
lowest ratio that keeps 1/8 in on a wall with a safety of 1.5 in the harder water.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

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
from stillwet.physics.product_types import ProductType, product_type, product_type_names

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from made_up_trials import (
    Truth,
    attempts_over_label,
    draw_truth,
    take_reading,
)

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


def spaced_widths(
    truth: Truth,
    question: Question,
    seed: int,
    counts: range,
    *,
    methods: Sequence[Method] = METHODS,
    waters: Sequence[float] = WATERS,
) -> list[float]:
    """Widths after so many trials equally spaced over the label, methods and waters in turn."""
    return [
        width_after(
            truth,
            attempts_over_label(
                truth.model.kind,
                count=count,
                methods=methods,
                hardness_kg_m3=waters,
                seconds_old=AGE_S,
                temperature_k=TEMPERATURE_K,
            ),
            question,
            seed,
        )
        for count in counts
    ]


Widths = dict[str, NDArray[np.float64]]  # by plan of trials: (truths, counts), in ratio points


def widths_of(kind: ProductType, seeds: range, counts: range) -> Widths:
    """Widths of made-up products of a type under each plan of trials."""
    question = question_of(kind)
    found: dict[str, list[list[float]]] = {name: [] for name in COLOURS}
    for seed in seeds:
        truth = draw_truth(kind, seed=seed)
        proposed, spaced, boards = found.values()
        proposed.append(proposed_widths(truth, question, seed, counts[-1])[counts[0] - 1 :])
        spaced.append(spaced_widths(truth, question, seed, counts))
        boards.append(
            spaced_widths(
                truth, question, seed, counts, methods=(Method.COUPON,), waters=WATERS[1:]
            )
        )
    return {name: 100.0 * np.array(widths) for name, widths in found.items()}


def main(truths: int, figure: Path | None) -> None:
    """Print the mean width in ratio points at each count, and draw it."""
    counts, found = range(2, MOST + 1), {}
    for number, name in enumerate(product_type_names()):
        kind = product_type(name=name)
        found[kind.name] = widths_of(kind, range(100 * number, 100 * number + truths), counts)
        print(kind.name, f"({truths} made-up products; mean width in points)")
        ours, *others = found[kind.name].values()
        for place, count in enumerate(counts):
            told = ", ".join(
                f"{label} {widths[:, place].mean():.2f}"
                for label, widths in found[kind.name].items()
            )
            better = " and ".join(
                str(int((ours[:, place] < other[:, place]).sum())) for other in others
            )
            print(f"  {count} trials: {told} (proposed narrower in {better})", flush=True)
    if figure is not None:
        figure.write_text(draw(found), encoding="utf-8")


COLOURS = {"proposed": "#1f5fa8", "in turn": "#888", "boards": "#c9822b"}


def draw(found: dict[str, Widths]) -> str:
    """Small panels, one a type: width against the number of trials."""
    wide, high, left, top = 190, 150, 44, 40
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {4 * wide + 20} {high + 80}" '
        'font-family="sans-serif" font-size="11" fill="#222">',
        '<rect width="100%" height="100%" fill="white"/>',
        '<text x="8" y="14">Mean width of the 90 % band of the lowest working ratio, in points. '
        "Blue: proposed trials. Equally spaced ones: grey, ways</text>"
        '<text x="8" y="27">of reading and waters in turn; brown, boards alone in the water '
        "asked about.</text>",
    ]
    for panel, (name, widths) in enumerate(found.items()):
        parts += panel_of(name, widths, panel * wide + left, wide, high, top)
    parts.append(f'<text x="{left}" y="{top + high + 38}">number of trials</text></svg>')
    return "\n".join(parts) + "\n"


def panel_of(name: str, widths: Widths, x0: int, wide: int, high: int, top: int) -> list[str]:
    """One type's axes and lines."""
    means = {label: each.mean(axis=0).tolist() for label, each in widths.items()}
    tallest = 1.1 * max(max(each) for each in means.values())
    step = (wide - 66) / (len(means["proposed"]) - 1)
    parts = [f'<text x="{x0}" y="{top + 4}" font-size="9">{name}</text>']
    for share in (0.0, 0.5, 1.0):
        y = top + 10 + high * (1 - share)
        parts.append(
            f'<line x1="{x0}" x2="{x0 + wide - 56}" y1="{y}" y2="{y}" stroke="#ddd"/>'
            f'<text x="{x0 - 4}" y="{y + 4}" text-anchor="end">{share * tallest:.2g}</text>'
        )
    for label, each in means.items():
        path = " ".join(
            f"{x0 + 4 + place * step:.1f},{top + 10 + high * (1 - width / tallest):.1f}"
            for place, width in enumerate(each)
        )
        parts.append(
            f'<polyline points="{path}" fill="none" stroke="{COLOURS[label]}" stroke-width="2"/>'
        )
    for place in range(len(means["proposed"])):
        x = x0 + 4 + place * step
        parts.append(f'<text x="{x}" y="{top + high + 24}" text-anchor="middle">{place + 2}</text>')
    return parts


if __name__ == "__main__":
    main(
        int(sys.argv[1]) if len(sys.argv) > 1 else 8,
        Path(sys.argv[2]) if len(sys.argv) > 2 else None,
    )
