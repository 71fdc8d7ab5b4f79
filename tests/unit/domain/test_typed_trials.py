"""Which trials count where some stand in the job's files and some were typed at the bench."""

from __future__ import annotations

from dataclasses import replace

import pytest

from job_fixture import make_job
from stillwet.domain.job import Job
from stillwet.domain.products import RatioBasis
from stillwet.domain.trials import Trial, TrialRecord, YieldEstimate
from stillwet.domain.typed_trials import with_typed_trials
from trial_fixture import made_series, plain_trial


def board(name: str, ratio: float, yield_pa: float = 40.0, **changes: str) -> Trial:
    """A trial of the invented job's own product."""
    product = make_job().product.id
    made = plain_trial(name, ratio, YieldEstimate(yield_pa))
    return replace(made, **{"product_id": product, **changes})  # type: ignore[arg-type]


def with_files(*filed: TrialRecord) -> Job:
    """A job whose files have these trials."""
    return make_job(trials=filed, trials_source="t.csv" if filed else "", input_hash="ab" * 32)


def told(job: Job) -> list[tuple[str, float]]:
    """Names and ratios of the mixes that count."""
    return [(one.id, one.ratio) for one in job.trials if isinstance(one, Trial)]


def test_both_count_and_the_inputs_are_of_both() -> None:
    """Two of the files and one typed: three, another input hash, and that of the files beside."""
    job = with_files(board("t1", 0.01), board("t2", 0.012))
    found = with_typed_trials(job, [board("bench 1", 0.014)])
    assert told(found) == [("t1", 0.01), ("t2", 0.012), ("bench 1", 0.014)]
    assert [one.id for one in found.typed_trials] == ["bench 1"]
    assert found.trials_source == "t.csv and the bench"
    assert found.files_hash == job.input_hash != found.input_hash


def test_none_typed_leaves_the_job_as_it_is() -> None:
    """No typing and no difference: the same inputs, the same job."""
    job = with_files(board("t1", 0.01))
    assert with_typed_trials(job, []) == job
    assert with_typed_trials(job, [board("t1", 0.01)]) == job


def test_of_one_name_the_one_typed_last_counts() -> None:
    """Corrected twice at the bench, then back: the last typing is the one, also over the file's."""
    job = with_files(board("t1", 0.01), board("t2", 0.012))
    typed = [board("t1", 0.011), board("b", 0.02), board("b", 0.021), board("b", 0.02)]
    found = with_typed_trials(job, typed)
    assert told(found) == [("t1", 0.011), ("t2", 0.012), ("b", 0.02)]
    assert any("replace those so named in a file: t1" in one for one in found.remarks)
    back = with_typed_trials(job, [*typed, board("t1", 0.01)])
    assert told(back)[0] == ("t1", 0.01)
    assert [one.id for one in back.typed_trials] == ["b"]


def test_the_same_trial_under_another_name_counts_once() -> None:
    """Typed like one of the files in all but its name: once. Of two such the second counts."""
    job = with_files(board("t1", 0.01), board("t2", 0.012))
    once = with_typed_trials(job, [board("bench 1", 0.01)])
    assert told(once) == told(job)
    assert once.input_hash == job.input_hash
    assert any("counted once: bench 1" in one for one in once.remarks)
    twice = with_typed_trials(job, [board("bench 1", 0.01), board("bench 2", 0.01)])
    assert told(twice) == [*told(job), ("bench 2", 0.01)]


def test_a_corrected_one_no_longer_stands_for_its_copy() -> None:
    """t1 of the file is corrected away; what it said, typed under another name, counts again."""
    job = with_files(board("t1", 0.01))
    found = with_typed_trials(job, [board("t1", 0.02), board("bench 1", 0.01)])
    assert told(found) == [("t1", 0.02), ("bench 1", 0.01)]


@pytest.mark.parametrize(
    "other",
    [
        board("x", 0.01, product_id="another gel"),
        replace(board("x", 0.01), ratio_basis=RatioBasis.MASS),
    ],
)
def test_other_products_and_bases_do_not_count_and_are_told(other: Trial) -> None:
    """Typed while the job had another product: left out, and the plan's remarks say so."""
    job = with_files(board("t1", 0.01))
    found = with_typed_trials(job, [other])
    assert told(found) == told(job)
    assert found.input_hash == job.input_hash
    assert any("do not count: x" in one for one in found.remarks)


def test_a_coat_weighed_and_a_mix_may_have_one_name() -> None:
    """They are of two kinds: both count."""
    series = replace(made_series(0.7, seed=1), id="t1", product_id=make_job().product.id)
    found = with_typed_trials(with_files(board("t1", 0.01)), [series])
    assert len(found.trials) == 2


def test_the_order_and_content_of_trials_are_in_the_hash() -> None:
    """Another reading makes other inputs; the same typing makes the same."""
    job = with_files()
    first, again, other = (
        with_typed_trials(job, [board("b", 0.01, pa)]).input_hash for pa in (40.0, 40.0, 41.0)
    )
    assert first == again != other
