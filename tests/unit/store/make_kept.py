"""Makes ``kept/schema_N.gpkg``: a job file as this version writes it, for later ones to open.

Run once for every new migration: ``python tests/unit/store/make_kept.py``.
"""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parents[1]))

from stillwet.domain.trials import YieldEstimate  # noqa: E402
from stillwet.services.logbook import add_entries  # noqa: E402
from stillwet.store.job_file import open_job_file  # noqa: E402
from stillwet.store.migrations import MIGRATIONS  # noqa: E402
from stillwet.store.trial_tables import add_typed_trials  # noqa: E402
from store_fixture import NOW_S, kept_job, some_entries  # noqa: E402 (the tests' folder is first)
from trial_fixture import plain_trial  # noqa: E402


def main() -> None:
    """Write the file beside the others, over nothing."""
    target = HERE / "kept" / f"schema_{MIGRATIONS[-1].number}.gpkg"
    if target.exists():
        sys.exit(f"{target} is there: a file once kept is never made again")
    target.parent.mkdir(exist_ok=True)
    kept_job(target.parent).rename(target)
    add_entries(target, some_entries(20))
    with open_job_file(target, now_s=NOW_S) as job_file:
        add_typed_trials(job_file, [plain_trial("t1", 0.01, YieldEstimate(40.0))])
    print(target)


if __name__ == "__main__":
    main()
