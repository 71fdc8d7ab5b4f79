"""The uncertain quantities in plain words: what each is, how sure, what would narrow it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stillwet.domain.basis import Input
from stillwet.domain.chain import Share
from stillwet.domain.plan import AssetPlan
from stillwet.reports.words import clean, is_untested
from stillwet.tables import load_table
from stillwet.units import from_si

LEAST_SHARE = 0.01  # shares below this are only named
SHARES_MEAN = (
    "Alone: the share of the scatter that would go if only this became known. With others: the "
    "share that would stay if all else became known. Good to about 5 points."
)


@dataclass(frozen=True, slots=True)
class Cause:
    """One uncertain quantity: plain words, what narrows it, a change that tries it, its input."""

    words: str
    narrow: str
    trial: str
    input: str


def cause_of(name: str) -> Cause:
    """What is said about one uncertain quantity of the members."""
    row: dict[str, str] = load_table("chain")["cause"][name]
    return Cause(row["words"], row["narrow"], row["try"], row["input"])


def percent(share: float) -> str:
    """A share of the scatter in whole percent: "79 %", "under 1 %"."""
    return "under 1 %" if share < LEAST_SHARE else f"{from_si(share, 'percent'):.0f} %"


def counted(shares: Iterable[Share]) -> list[Share]:
    """The shares that are worth a bar: 1 % or more in all."""
    return [share for share in shares if share.total >= LEAST_SHARE]


def small_words(shares: Iterable[Share]) -> str:
    """The causes under 1 %, in one sentence; empty when there are none."""
    small = [share.cause for share in shares if share.total < LEAST_SHARE]
    return f"Under 1 % each: {', '.join(small)}." if small else ""


def advice(shares: Sequence[Share]) -> list[str]:
    """What would narrow the scatter most, and how to see what it does; none without shares."""
    if not counted(shares):
        return []
    first = cause_of(shares[0].cause)
    told = [f"What would narrow {shares[0].cause}: {first.narrow}."]
    if first.trial:
        told.append(_see(shares[0].cause))
    return told


def not_drawn_words(inputs: Iterable[Input]) -> str:
    """The untested defaults that stay at their value in every case; empty when there are none."""
    table: dict[str, dict[str, str]] = load_table("chain")["cause"]
    drawn = {row["input"] for row in table.values()}
    names = dict.fromkeys(
        clean(item.name)
        for item in inputs
        if is_untested(item) and item.name not in drawn and item.basis.low != item.basis.high
    )
    if not names:
        return ""
    return (
        "Untested defaults that are not drawn, so that no share counts them: "
        f"{', '.join(names)}. Change them in the job to see what they do."
    )


def cling_words(asset: AssetPlan) -> list[str]:
    """A warning where cling holds the coat back, which no share counts; else nothing."""
    if asset.governing.governs != "cling":
        return []
    return [
        "The coat is held back by what clings, which these shares take as it is. A stiffer mix, "
        "softer water or another product moves this answer outright.",
        _see("yield stress"),
    ]


def _see(cause: str) -> str:
    return f'To see what it does: stillwet compare JOB.toml --set "{cause_of(cause).trial}"'
