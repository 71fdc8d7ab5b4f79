"""Trials typed at the bench of a kept job: plans made after them count them and say so."""

from __future__ import annotations

from pathlib import Path

import pytest

from draft_fixture import WRITER, check, text, whole_draft
from job_folder import write_job
from stillwet.cli.group import OK, run
from stillwet.domain.plan import Plan
from stillwet.services.bench import keep_trials
from stillwet.services.draft_planning import DraftDesk, plan_draft, shown_plan
from stillwet.services.drafting import look_at_draft, type_edits
from stillwet.services.job_view import view_job
from stillwet.services.keeping import keep_job, read_kept_job
from stillwet.services.left import left_of
from stillwet.services.planning import plan_job, read_whole_job, silent
from stillwet.store.job_file import open_job_file
from stillwet.store.plan_tables import kept_plans, load_plan
from stillwet.store.trial_tables import files_hash_of, typed_trials_of
from store_fixture import NOW_S
from unit.services.test_trials import ENOUGH, FEW, HEAD, SMALL, folder

# The boards of ENOUGH, as somebody types them; stiffer by half, as another batch might be.
STIFF = (
    ("0.6", "1.5"), ("0.8", "3"), ("1", "4.8"), ("1.2", "6.5"), ("1.4", "8"), ("1.7", "10"),
)  # fmt: skip


def kept(tmp_path: Path, *, table: str = "") -> Path:
    """A job file with the small job, which names this table of trials."""
    job = folder(tmp_path, table) if table else write_job(tmp_path, job=SMALL)
    keep_job(job, tmp_path / "day.gpkg", now_s=NOW_S)
    return tmp_path / "day.gpkg"


def typed(
    path: Path, *boards: tuple[str, str], hardness: str = "90 ppm", is_named: bool = False
) -> None:
    """Type boards at the bench, as new ones or under the names that the first ones got."""
    typed_rows: list[object] = [
        {
            "id": f"bench {number}" if is_named else "",
            "ratio": f"{ratio} %",
            "hardness": hardness,
            "age": "2 h",
            "coat": f"{coat} mm",
        }
        for number, (ratio, coat) in enumerate(boards, start=1)
    ]
    keep_trials(path, typed_rows, units="metric", now_s=NOW_S)


def planned(path: Path) -> Plan:
    """The plan that the file makes now, which it keeps."""
    return plan_job(path, None, now_s=NOW_S).plan


def test_a_plan_after_the_typing_has_another_mix_and_names_the_trials(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Six boards; then the same corrected to half as stiff again: leaner; the command tells it."""
    path = kept(tmp_path)
    typed(path, *STIFF)
    before = planned(path)
    typed(path, *((ratio, str(1.5 * float(coat))) for ratio, coat in STIFF), is_named=True)
    after = planned(path)
    assert after.id != before.id
    assert 0.0 < after.mix_ratio < before.mix_ratio
    said = "clear: trials counted, typed at the bench: bench 1, bench 2, bench 3, bench 4, bench 5"
    assert any(said in one for one in after.warnings)
    assert run(["plan", str(path)]) == OK
    assert said in " ".join(capsys.readouterr().out.split())


def test_too_few_are_counted_and_do_not_change_the_plan(tmp_path: Path) -> None:
    """One board: the rule of decision 9 keeps the default, and the plan says why."""
    path = kept(tmp_path)
    before = planned(path)
    typed(path, ("1", "3.2"))
    after = planned(path)
    assert after.mix_ratio == before.mix_ratio
    assert any("stays as it was in spite of trials (1 reading" in one for one in after.warnings)


def test_a_plan_from_before_is_still_there_with_its_own_inputs(tmp_path: Path) -> None:
    """Both plans are read from the file; the first has no typed trial, the second has six."""
    path = kept(tmp_path)
    before = planned(path)
    typed(path, *STIFF)
    after = planned(path)
    with open_job_file(path, now_s=NOW_S) as job_file:
        first, second = kept_plans(job_file)
        assert [load_plan(job_file, one.row) for one in (first, second)] == [before, after]
        assert typed_trials_of(job_file, first.made.input_hash) == ()
        assert len(typed_trials_of(job_file, second.made.input_hash)) == len(STIFF)
        assert files_hash_of(job_file, second.made.input_hash) == first.made.input_hash


def test_what_is_left_and_the_desk_say_when_trials_came_after_the_plan(tmp_path: Path) -> None:
    """Named with the plan that lacks them, until a plan is made again."""
    path = kept(tmp_path)
    plan = planned(path)
    assert left_of(path, NOW_S).notes == ()
    typed(path, ("1", "3.2"), ("1.2", "4.3"))
    (note, *_rest) = left_of(path, NOW_S).notes
    said = f"2 trials were typed at the bench after plan {plan.id} was made"
    assert note.startswith(said)
    assert "bench 1, bench 2" in note
    assert shown_plan(path, "us", NOW_S)["trials_since"].startswith(said)
    planned(path)
    assert left_of(path, NOW_S).notes == ()
    assert shown_plan(path, "us", NOW_S)["trials_since"] == ""


def test_trials_of_the_files_and_of_the_bench_make_one_fit(tmp_path: Path) -> None:
    """Two boards in the table and four typed are taken as the six in one table are."""
    lines = ENOUGH.splitlines()
    path = kept(tmp_path, table="\n".join(lines[:3]) + "\n")
    for line in lines[3:]:
        ratio, hardness, _age, coat = line.split(",")
        typed(path, (ratio, coat), hardness=f"{hardness} ppm")
    whole = tmp_path / "whole"
    whole.mkdir()
    together = read_whole_job(folder(whole, ENOUGH)).product
    found = read_whole_job(path)
    assert found.product.yield_coefficient_pa == pytest.approx(together.yield_coefficient_pa)
    assert "t.csv and the bench" in found.product.basis["yield_coefficient"].source
    assert any("of t.csv: trial 1, trial 2; typed at the bench" in one for one in found.remarks)


def test_the_same_trial_in_both_counts_once(tmp_path: Path) -> None:
    """A board of the table typed again at the bench: no trial more, and the same inputs."""
    path = kept(tmp_path, table=FEW)
    before = read_kept_job(path)
    typed(path, ("1", "3.2"), hardness="50 ppm")
    after = read_kept_job(path)
    assert after.trials == before.trials
    assert after.input_hash == before.input_hash
    assert any("counted once: bench 1" in one for one in after.remarks)


def test_keeping_the_files_again_leaves_the_bench(tmp_path: Path) -> None:
    """A row taken out of the table is gone; what was typed stays and counts."""
    path = kept(tmp_path, table=FEW)
    typed(path, ("1.4", "6"))
    (tmp_path / "t.csv").write_text(HEAD + "1.2,50,2,4.3\n", encoding="utf-8")
    keep_job(tmp_path / "job.toml", path, now_s=NOW_S + 60.0)
    assert [one.id for one in read_kept_job(path).trials] == ["trial 1", "bench 1"]


def test_a_desk_draft_with_a_table_of_trials_counts_the_bench_beside_it(tmp_path: Path) -> None:
    """Planned, typed, a table brought in, planned again: one product of all; the draft stays."""
    path = whole_draft(tmp_path)
    plan_draft(path, NOW_S, WRITER, silent)
    typed(path, *STIFF[:4])
    assert not look_at_draft(path, WRITER).history.is_ahead
    table = (HEAD + "1.4,90,2,8\n1.7,90,2,10\n1,90,2,4.8\n").encode()  # the last was typed as well
    DraftDesk(path).bring("trials", "t.csv", table, "edit-trials-file", True, WRITER)
    assert check(path).problems == ()
    plan_draft(path, NOW_S, WRITER, silent)
    job = view_job(path, now_s=NOW_S).job
    assert [one.id for one in job.trials] == [
        "trial 1", "trial 2", "trial 3", "bench 1", "bench 2", "bench 4",
    ]  # fmt: skip
    plan = view_job(path, now_s=NOW_S).plan
    assert plan is not None
    assert any("6 readings at 6 ratios" in one for one in plan.warnings)


def test_trials_of_a_product_that_was_changed_wait(tmp_path: Path) -> None:
    """Another product is typed at the desk: the old one's boards do not count, and that is said."""
    path = whole_draft(tmp_path)
    plan_draft(path, NOW_S, WRITER, silent)
    typed(path, *STIFF)
    type_edits(path, [text("product.id", "cloudy", "edit-product-id")], WRITER)
    plan_draft(path, NOW_S, WRITER, silent)
    view = view_job(path, now_s=NOW_S)
    assert view.job.trials == ()
    assert view.plan is not None
    assert any("of cloudy" in one and "do not count" in one for one in view.plan.warnings)
