"""Time of a whole plan: 144 real footprints, a real TMY3 year, 64 members, all four files.

Run: ``python benchmarks/bench_plan.py``. Prints the whole command in a fresh process, and the
plan after start-up: another job (the demo) is planned first, so that libraries are loaded and the
kernel is compiled, but nothing of this job is remembered. Fails beyond the limit.
"""

from __future__ import annotations

import os
import runpy
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from stillwet.services.demo import run_demo
from stillwet.services.planning import plan_job

LIMIT_S = 10.0
EXAMPLE = Path(__file__).parent.parent / "examples" / "make_real_job.py"
NOW_S = 1_910_000_000.0  # July 2030, before the job


def main() -> int:
    """Print the times; 1 when the plan after start-up is over its limit."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        job = runpy.run_path(str(EXAMPLE))["make_real_job"](folder / "job")
        whole_s = _fresh_process_s(job, folder / "first")
        begun = time.perf_counter()
        run_demo(folder / "demo")
        demo_s = time.perf_counter() - begun
        begun = time.perf_counter()
        planned = plan_job(job, folder / "second", now_s=NOW_S)
        planned.text()
        after_s = time.perf_counter() - begun
    assets = planned.plan.assets
    faces = sum(len(asset.surfaces) for asset in assets)
    print(f"{len(assets)} assets, {faces} faces, {os.cpu_count()} cores")
    print(f"stillwet plan, whole command in a fresh process  {whole_s:6.2f} s")
    print(f"the demo in this process, libraries loading      {demo_s:6.2f} s")
    print(f"plan after start-up, files read and written      {after_s:6.2f} s")
    print(f"limit after start-up                             {LIMIT_S:6.2f} s")
    return int(after_s > LIMIT_S)


def _fresh_process_s(job: Path, out: Path) -> float:
    begun = time.perf_counter()
    command = [sys.executable, "-m", "stillwet.cli", "plan", str(job), "--out", str(out)]
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - begun


if __name__ == "__main__":
    sys.exit(main())
