"""What if, from a job's files: together, one at a time, and the usual doubts."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import jsonschema
import pytest

from stillwet.domain.plan import Verdict
from stillwet.errors import StillwetError
from stillwet.reports.plan_json import packaged_schema
from stillwet.services.comparing import compare_job
from stillwet.services.planning import Planned

WORSE = ("wind=+80%", "humidity=-10 %")


def test_changes_are_made_together(starter_job: Path, starter_plan: Planned) -> None:
    """One comparison; before is the plan as it stands; what is worse takes no less water and lets
    coats down that are on.
    """
    found = compare_job(starter_job, WORSE, None)
    (one,) = found.comparisons
    assert one.before.assets == starter_plan.plan.assets
    assert [change.text for change in one.changes] == list(WORSE)
    assert one.after.id != one.before.id
    for pair in one.pairs:
        assert (
            pair.after.governing.probability <= max(0.9, pair.before.governing.probability) + 0.05
        )
    assert one.let_down
    jsonschema.validate(json.loads(found.json_text()), packaged_schema("compare"))


def test_first_line_says_what_flips(starter_job: Path) -> None:
    """Crews ordered away a day before the fire: there is no time for any coat."""
    found = compare_job(starter_job, ["egress lead=20 h"], None)
    (one,) = found.comparisons
    assert {pair.after.verdict for pair in one.flipped} == {Verdict.WILL_NOT_HOLD}
    lines = found.text().splitlines()
    assert lines[0].startswith(f"{len(one.flipped)} of {len(one.pairs)} assets flip. HOLDS -> WILL")
    assert max(len(line) for line in lines) <= 100


def test_each_change_is_tried_alone(starter_job: Path) -> None:
    """Two comparisons with the same plan before; the second knows nothing of the first."""
    both = compare_job(starter_job, WORSE, None, each=True)
    first, second = both.comparisons
    assert first.before == second.before
    alone = compare_job(starter_job, WORSE[1:], None).comparisons[0]
    assert second.after == alone.after
    assert both.text().startswith("Tried one at a time.")
    jsonschema.validate(json.loads(both.json_text()), packaged_schema("compare"))


def test_usual_doubts_are_tried_when_nothing_is_asked(starter_job: Path) -> None:
    """Each either has its comparison or is told with its reason."""
    found = compare_job(starter_job, [], None, members=16)
    assert found.each
    assert len(found.comparisons) + len(found.not_tried) == 15
    assert len(found.comparisons) >= 12
    for item in found.not_tried:
        assert "wanted" in item.reason
        assert item.change.words in found.text()
    jsonschema.validate(json.loads(found.json_text()), packaged_schema("compare"))


def test_csv_is_written_whole(starter_job: Path, tmp_path: Path) -> None:
    """One row an asset and change, in a file of the name asked for."""
    found = compare_job(starter_job, WORSE, tmp_path / "sub" / "if.csv", each=True)
    with (tmp_path / "sub" / "if.csv").open(encoding="utf-8", newline="") as handle:
        rows = list(csv.DictReader(handle))
    assert len(rows) == 2 * len(found.comparisons[0].pairs)
    assert {row["change"] for row in rows} == set(WORSE)


@pytest.mark.parametrize(
    ("texts", "out", "words"),
    [
        (["wnd=+3%", "arrival=20"], None, "--set: wanted one of arrival"),
        (["arrival=+60 h"], None, "--set: wanted weather from the changed job's start"),
        (["arrival=-30 h"], None, "start: wanted a start before the latest arrival of any fire"),
        (["sun=+10%", "cloud=+10 %"], None, "wanted weather with"),
        (["wind=+3%"], "if.xlsx", "--out: wanted a file ending in .csv"),
    ],
)
def test_faults_are_told_before_the_reckoning(
    texts: list[str], out: str | None, words: str, starter_job: Path, tmp_path: Path
) -> None:
    """A wrong key, a fire beyond the weather or before the start, a sun that is not there, a file
    of another kind.
    """
    told: list[str] = []
    with pytest.raises(StillwetError, match=words):
        compare_job(
            starter_job,
            texts,
            tmp_path / out if out else None,
            progress=lambda label, _: told.append(label),
        )
    assert set(told) <= {"reading the job"}
    assert list(tmp_path.iterdir()) == []


def test_units_are_the_readers(starter_job: Path) -> None:
    """The same comparison in litres and millimetres."""
    us, metric = (
        compare_job(starter_job, ["wind=+80%"], None, units=units).text()
        for units in ("us", "metric")
    )
    assert " gal" in us
    assert " gal" not in metric
    assert " mm" in metric


def test_progress_goes_from_nothing_to_done(starter_job: Path) -> None:
    """Shares never go back, begin at 0, end at 1, and each change is named."""
    told: list[tuple[str, float]] = []
    compare_job(
        starter_job,
        WORSE,
        None,
        each=True,
        progress=lambda label, share: told.append((label, share)),
    )
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    assert "wind times 1.8" in [label for label, _ in told]
