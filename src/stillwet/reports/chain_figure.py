"""What an answer hangs on, as ranked bars that read in black and white."""

from __future__ import annotations

from collections.abc import Sequence

from stillwet.domain.chain import Chain, JobShares, Share
from stillwet.reports.causes import cause_of, counted, percent, small_words
from stillwet.reports.svg import box, document, hatch, line, text_width, words
from stillwet.reports.text_table import wrap_cells
from stillwet.reports.words import VERDICT_WORDS, clean, short_name, shorten

_WIDTH = 760.0
_LEFT, _RIGHT = 330.0, 58.0  # room for the causes' words and for the percent after a bar
_TOP, _ROW, _BAR = 66.0, 30.0, 17.0
_TICKS = (0.0, 0.25, 0.5, 0.75, 1.0)
_NOTE_LETTERS = 128


def chain_figure_svg(chain: Chain) -> str:
    """The shares of one asset's answer, largest first."""
    asset = chain.asset
    title = f"What the answer hangs on: {short_name(asset.name, 56)}"
    under = f"{VERDICT_WORDS[asset.verdict]}; {asset.governing.surface.label}; plan {chain.plan.id}"
    return _bars(title, under, chain.shares)


def job_shares_figure_svg(found: JobShares) -> str:
    """The shares of a whole plan: the mean over its assets by value, largest first."""
    title = f"What the plan hangs on: {shorten(clean(found.plan.job_name), 56)}"
    under = f"mean of {len(found.assets)} assets' shares by value; plan {found.plan.id}"
    return _bars(title, under, found.shares)


def _bars(title: str, under: str, shares: Sequence[Share]) -> str:
    shown = counted(shares)
    notes = _notes(shares)
    base = _TOP + _ROW * max(1, len(shown))
    height = base + 44.0 + 14.0 * len(notes)
    parts = [words(16, 24, title, 15, font_weight="bold"), words(16, 43, clean(under), 11)]
    parts += _axis(base)
    for index, share in enumerate(shown):
        parts += _bar(share, _TOP + _ROW * index)
    if not shown:
        parts.append(words(16, _TOP + 20, "Nothing that is drawn moves this answer.", 12))
    parts += [
        words(16, base + 46 + 14 * index, note, 10, fill="#333333")
        for index, note in enumerate(notes)
    ]
    defs = hatch("together", gap=4, width=0.6)
    return document(_WIDTH, height, parts, title=title, defs=defs)


def _x(share: float) -> float:
    return _LEFT + min(1.0, max(0.0, share)) * (_WIDTH - _LEFT - _RIGHT)


def _axis(base: float) -> list[str]:
    parts = []
    for tick in _TICKS:
        x = _x(tick)
        stroke = "black" if tick == 0 else "#BBBBBB"
        parts.append(line((x, _TOP - 4), (x, base), stroke=stroke))
        parts.append(words(x, base + 15, f"{100 * tick:.0f} %", 10, text_anchor="middle"))
    told = "share of the scatter of the water to spare"
    parts.append(words((_x(0) + _x(1)) / 2, base + 29, told, 10, text_anchor="middle"))
    return parts


def _bar(share: Share, top: float) -> list[str]:
    """Solid for the share alone, hatched up to the share with others."""
    alone = _x(min(share.first_order, share.total))
    whole = _x(share.total)
    label = cause_of(share.cause).words
    size = min(12.0, 12.0 * (_LEFT - 26) / text_width(label, 12.0))
    middle = top + _BAR / 2 + 4
    return [
        words(_LEFT - 8, middle, label, size, text_anchor="end"),
        box(_LEFT, top, whole - _LEFT, _BAR, fill="url(#together)", stroke="black"),
        box(_LEFT, top, alone - _LEFT, _BAR, fill="#333333", stroke="black"),
        words(whole + 6, middle, percent(share.total), 12, font_weight="bold"),
    ]


def _notes(shares: Sequence[Share]) -> list[str]:
    told = [
        "Solid: the share that would go if only this became known. To the end of the hatching: the "
        "share that would stay if all else became known.",
        small_words(shares),
    ]
    return [part for text in told if text for part in wrap_cells(text, _NOTE_LETTERS)]
