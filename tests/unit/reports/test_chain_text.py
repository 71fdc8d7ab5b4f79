"""The explanation as text: fits 100 columns, every number with its origin, ranked bars."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from rich.cells import cell_len

from stillwet.domain.chain import Share
from stillwet.reports.causes import cause_of
from stillwet.reports.chain_text import chain_text, job_shares_text
from stillwet.tables import load_table

from .chain_fixture import make_chain, make_job_shares
from .plan_fixture import make_plan, rename

ODD = {6: "\x1b[31mred\x07 \u202eevil " * 9, 7: "农场的大谷仓和一个很长很长的名字 🔥🔥🔥" * 2}


@pytest.mark.parametrize("units", ["us", "metric"])
def test_every_line_fits_100_columns(units: str) -> None:
    """Also with long, wide and wicked names."""
    plan = rename(make_plan(), ODD)
    job = replace(make_job_shares(), plan=plan)
    parts = tuple(
        replace(part, asset=asset)
        for part, asset in zip(job.assets, (*plan.assets[:2], *plan.assets[3:]), strict=True)
    )
    texts = [
        *(chain_text(make_chain(plan, number=number), units) for number in ODD),
        job_shares_text(replace(job, assets=parts)),
    ]
    for text in texts:
        assert max(cell_len(line) for line in text.splitlines()) <= 100
        assert not {"\x1b", "\x07", "\u202e"} & set(text)


def test_the_verdict_and_reason_come_first() -> None:
    """Name, verdict, chance; the reason in the next line; then what it hangs on."""
    chain = make_chain()
    lines = chain_text(chain, "us").splitlines()
    assert lines[0] == "WHY: Ranch house: HOLDS, 95 %"
    assert lines[1] == chain.asset.reason
    text = chain_text(chain, "us")
    assert text.index("WHAT THIS ANSWER HANGS ON") < text.index("1. WHAT WILL THE FIRE ASK?")


def test_bars_are_ranked_and_as_long_as_their_share() -> None:
    """28 characters are all of the scatter: 0.44 is 12, of which 0.41 alone are 11."""
    lines = chain_text(make_chain(), "us").splitlines()
    bars = [line.split() for line in lines if re.match(r" +\d+ % +[#+]+ ", line)]
    assert [bar[:3] for bar in bars] == [
        ["44", "%", "###########+"],
        ["40", "%", "##########+"],
        ["8", "%", "##"],
    ]
    assert "Under 1 % each: flux, yield stress." in chain_text(make_chain(), "us")


def test_numbers_in_the_readers_units_with_words_for_none() -> None:
    """4.4 mm or 0.17 in; local time; percent; what it means when there is no number."""
    us, metric = chain_text(make_chain(), "us"), chain_text(make_chain(), "metric")
    for words in ("0.17 in", "Wed 18:36", "1.20 % by volume", "95 %", "5 min", "325 gal"):
        assert re.search(rf"^  {re.escape(words)} ", us, re.MULTILINE), words
    assert re.search(r"^  4\.4 mm +coat to lay", metric, re.MULTILINE)
    assert re.search(r"^  never at this flux +bare face ignites", us, re.MULTILINE)
    assert "thick solid. From: Janssens 1991." in us


def test_untested_defaults_are_marked_with_interval_and_source() -> None:
    """Marked with ! under the step they enter; given numbers are joined by their file."""
    text = chain_text(make_chain(), "us")
    assert "  ! sheltering 0.6 (0.3 to 1): untested default, wind at the asset\n" in text
    assert "    eave height 9.8 ft, material painted wood siding: assets.csv\n" in text
    assert "OTHER NUMBERS OF THIS PLAN\n  ! coat variation 0.35 (0.2 to 0.6)" in text


def test_untested_defaults_that_no_share_counts_are_named() -> None:
    """The sheltering is untested and not drawn; the evenness of the coat is drawn."""
    flat = " ".join(chain_text(make_chain(), "us").split())
    (named,) = re.findall(r"so that no share counts them: (.*?)\. Change", flat)
    assert named == "sheltering"


def test_a_coat_that_cling_holds_back_says_so() -> None:
    """The old schoolhouse's coat is governed by cling, with a command on a line of its own; the
    barn's by the fire, the ranch house's by drying.
    """
    text = chain_text(make_chain(number=3), "us")
    assert "held back by what clings" in text
    command = 'To see what it does: stillwet compare JOB.toml --set "yield stress=-30%"'
    assert command in text.splitlines()
    for number in (0, 6):
        assert "held back by what clings" not in chain_text(make_chain(number=number), "us")


def test_advice_names_a_change_that_can_be_typed() -> None:
    """What would narrow the first cause, and a command that tries it."""
    text = " ".join(chain_text(make_chain(), "us").split())
    assert "What would narrow transfer efficiency: a board of known size" in text
    assert 'stillwet compare JOB.toml --set "transfer efficiency=0.6"' in text


def test_nothing_that_varies_is_said_plainly() -> None:
    """No bars, no advice, one sentence."""
    text = chain_text(replace(make_chain(), shares=()), "us")
    assert "Nothing that is drawn moves this answer." in text
    assert "What would narrow" not in text


def test_job_table_names_what_each_asset_hangs_on() -> None:
    """One row an asset in the plan's order with its number; the one left out is told."""
    text = job_shares_text(make_job_shares())
    assert "WHAT THE PLAN HANGS ON" in text
    row = next(line for line in text.splitlines() if " Ranch house " in line)
    assert row.split()[:2] == ["7", "Ranch"]
    assert row.endswith("95 %  transfer efficiency 44 %, coat variation 40 %")
    assert "1 left out: not to be coated" in text
    assert " Lattice tower" not in text


def test_every_cause_has_words_that_fit() -> None:
    """Plain words, advice, and room beside the bar."""
    for name in load_table("chain")["cause"]:
        cause = cause_of(name)
        assert len(cause.words) <= 62
        assert cause.narrow


def test_a_share_over_all_and_one_below_nothing_still_draw() -> None:
    """Estimates may step outside 0 to 1 by their sampling error."""
    odd = (Share("wind", 1.04, 1.06), Share("sun", -0.05, 0.02))
    text = chain_text(replace(make_chain(), shares=odd), "us")
    assert f"  106 %  {'#' * 28}  wind of the forecast" in text
    assert "    2 %  +   " in text
