"""How fast a job file takes entries, one acknowledged write each, and how much it grows.

Run: ``python benchmarks/bench_store.py [FOLDER]``; seconds. FOLDER should lie on the disk that jobs
are kept on. Fails when fewer than 10 entries a second go in: a day of them in under a minute.
"""

from __future__ import annotations

import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "tests"))

from stillwet.store.job_file import open_job_file  # noqa: E402 (the path comes first)
from stillwet.store.log_table import add_entries  # noqa: E402
from store_fixture import NOW_S, kept_job, some_entries  # noqa: E402

COUNT = 500
LEAST_PER_S = 10.0


def main() -> None:
    """Measure with the journal as it is kept, and with write-ahead logging beside it."""
    slow = False
    for mode, level in (("DELETE", "EXTRA"), ("WAL", "FULL")):
        folder = sys.argv[1] if len(sys.argv) > 1 else None
        with tempfile.TemporaryDirectory(dir=folder) as place:
            path = kept_job(Path(place))
            before = path.stat().st_size
            with open_job_file(path, now_s=NOW_S) as job_file:
                job_file.connection.execute(f"PRAGMA journal_mode = {mode}")
                job_file.connection.execute(f"PRAGMA synchronous = {level}")
                spans = []
                for entry in some_entries(COUNT):
                    begun = time.perf_counter()
                    add_entries(job_file, [entry])
                    spans.append(time.perf_counter() - begun)
            grown = path.stat().st_size - before
        rate = COUNT / sum(spans)
        print(
            f"{mode}/{level}: {rate:.0f} entries/s, slowest {1000.0 * max(spans):.1f} ms, "
            f"{COUNT} entries take {grown / 1e6:.2f} MB"
        )
        slow = slow or rate < LEAST_PER_S
    sys.exit(1 if slow else 0)


if __name__ == "__main__":
    main()
