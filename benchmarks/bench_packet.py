"""Time of a packet of 60 real footprints once its plans are made: what is left, and the pages.

Run: ``python benchmarks/bench_packet.py``. The job is the first 60 buildings of the real job, three
crews, and the demo's line; plan, crews and lines are made first. The demo's packet is made before,
so that libraries are loaded. Fails when the work of this process, in processor seconds, is beyond
the limit: on a machine with nothing else to do the clock shows no more than that.
"""

from __future__ import annotations

import os
import runpy
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

from stillwet.engine.lines import make_lines
from stillwet.engine.make_plan import plan_of
from stillwet.engine.prepared import prepare
from stillwet.reports.packet_pdf import packet_pdf_bytes
from stillwet.routing.pyvrp_solver import PyvrpSolver
from stillwet.services.crewing import Knobs, plan_crews
from stillwet.services.demo import copy_data
from stillwet.services.packing import assemble, packet_of_job
from stillwet.services.planning import read_whole_job

LIMIT_S = 5.0
ASSETS = 60
KNOBS = Knobs(iterations=5)
EXAMPLE = Path(__file__).parent.parent / "examples" / "make_real_job.py"
NOW_S = 1_910_000_000.0  # July 2030, before the job


def main() -> int:
    """Print the times; 1 when the packet after its plans is over the limit."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        copy_data("demo", folder / "demo")
        demo = folder / "demo" / "job.toml"
        packet_of_job(demo, folder / "demo.pdf", now_s=NOW_S, with_crews=False)
        lines = make_lines(read_whole_job(demo), now_s=NOW_S)
        path = runpy.run_path(str(EXAMPLE))["make_real_job"](folder / "job")
        job = read_whole_job(path)
    crew = job.crews[0]
    crews = tuple(replace(crew, id=name, name=f"Engine {name}") for name in ("A", "B", "C"))
    job = replace(job, assets=job.assets[:ASSETS], crews=crews)
    prepared = prepare(job)
    plan = plan_of(prepared, now_s=NOW_S)
    begun = time.perf_counter()
    day = plan_crews(job, solver=PyvrpSolver(), now_s=NOW_S, knobs=KNOBS)
    crews_s = time.perf_counter() - begun
    worked, begun = time.process_time(), time.perf_counter()
    packet = assemble(prepared, plan, crews=day, lines=lines, missing={}, units="us")
    parts_s = time.perf_counter() - begun
    size = len(packet_pdf_bytes(packet, units="us", paper="letter"))
    all_s, work_s = time.perf_counter() - begun, time.process_time() - worked
    print(f"{len(job.assets)} assets, {len(prepared.surfaces)} faces, {os.cpu_count()} cores")
    print(f"before: the crews' day, {KNOBS.words:24}  {crews_s:6.2f} s")
    print(f"pocket table, mix window, clean-up, coats as laid {parts_s:6.2f} s")
    print(f"words, pictures and pages ({size / 1e6:.1f} MB)            {all_s - parts_s:6.2f} s")
    print(f"the packet once its plans are made                {all_s:6.2f} s")
    print(f"  of it this process at work, all cores           {work_s:6.2f} s")
    print(f"limit                                             {LIMIT_S:6.2f} s")
    return int(work_s > LIMIT_S)


if __name__ == "__main__":
    sys.exit(main())
