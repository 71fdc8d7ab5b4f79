"""Time of an explanation and of a comparison after start-up, on the demo's twenty assets.

Run: ``python benchmarks/bench_explain.py``. Libraries are loaded and the kernel is compiled by the
demo's own plan first. Fails when one asset's shares take longer than the limit.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from stillwet.services.comparing import compare_job
from stillwet.services.demo import run_demo
from stillwet.services.explaining import explain_job

LIMIT_S = 2.0


def main() -> int:
    """Print the times; 1 when an asset's shares are over their limit."""
    with tempfile.TemporaryDirectory() as scratch:
        planned = run_demo(Path(scratch))
        job = Path(scratch) / "job" / "job.toml"
        assets = planned.plan.assets
        one_s = _seconds(lambda: explain_job(job, assets[0].asset_id, None))
        all_s = _seconds(lambda: explain_job(job, None, None))
        doubts_s = _seconds(lambda: compare_job(job, [], None))
    an_asset_s = (all_s - one_s) / (len(assets) - 2)  # one is explained in both, one not released
    print(f"{len(assets)} assets, {planned.plan.members} members, {os.cpu_count()} cores")
    print(f"explain one asset, job read and planned     {one_s:6.2f} s")
    print(f"explain the whole job                       {all_s:6.2f} s")
    print(f"shares of one asset                         {an_asset_s:6.2f} s")
    print(f"compare, the usual doubts one at a time     {doubts_s:6.2f} s")
    print(f"limit for the shares of one asset           {LIMIT_S:6.2f} s")
    return int(an_asset_s > LIMIT_S)


def _seconds(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


if __name__ == "__main__":
    sys.exit(main())
