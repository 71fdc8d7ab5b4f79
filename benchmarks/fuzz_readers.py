# ruff: noqa: PLC0415 - the fuzzer watches what is imported after it
"""Feed the parsers with bytes that a coverage-guided fuzzer grows, for a bounded time.

    python benchmarks/fuzz_readers.py [seconds a reader] [reader ...]

Each reader may answer with records or with ``StillwetError``; any other exception, more than 5 s
for one input, or more than 2 GB of memory is a find: atheris prints it and stops, and the status
is not 0. Needs the package atheris.
"""

from __future__ import annotations

import contextlib
import subprocess
import sys
import tempfile
from collections.abc import Callable

SECONDS = 30


def _readers() -> dict[str, Callable[[bytes], object]]:
    from stillwet.exchange.clock import fixed_clock
    from stillwet.exchange.findings import Findings
    from stillwet.exchange.gpx import read_gpx
    from stillwet.exchange.tabular import read_csv, read_xlsx
    from stillwet.exchange.toml_door import load_toml
    from stillwet.exchange.trials import read_trial_bytes
    from stillwet.exchange.vector import read_geojson, read_gpkg
    from stillwet.exchange.weather_gridpoint import read_gridpoint
    from stillwet.exchange.weather_typical import read_epw, read_tmy3

    key, clock = "file", fixed_clock(-360)
    return {
        "csv": lambda data: read_csv(data, name="f", key=key),
        "xlsx": lambda data: read_xlsx(data, name="f", key=key),
        "toml": lambda data: load_toml(data, name="f", key=key),
        "geojson": lambda data: read_geojson(data, name="f", key=key, findings=Findings()),
        "gpkg": lambda data: read_gpkg(data, name="f", key=key, findings=Findings()),
        "gpx": lambda data: read_gpx(data, name="f", key=key, findings=Findings()),
        "gridpoint": lambda data: read_gridpoint(data, name="f", findings=Findings()),
        "epw": lambda data: read_epw(data, name="f", year=2026, findings=Findings()),
        "tmy3": lambda data: read_tmy3(data, name="f", year=2026, findings=Findings()),
        "trials": lambda data: read_trial_bytes(
            data, "f.csv", clock=clock, kind=None, findings=Findings()
        ),
    }


def fuzz(name: str, seconds: int, folder: str) -> None:
    """Run one reader under the fuzzer in this process; it leaves the process when it ends."""
    import atheris

    with atheris.instrument_imports(include=["stillwet"]):
        reader = _readers()[name]
    from stillwet.errors import StillwetError

    def one(data: bytes) -> None:
        with contextlib.suppress(StillwetError):
            reader(data)

    bounds = [f"-max_total_time={seconds}", "-timeout=5", "-rss_limit_mb=2048", "-max_len=20000"]
    atheris.Setup([sys.argv[0], *bounds, f"-artifact_prefix={folder}/", folder], one)
    atheris.Fuzz()


def main() -> int:
    """Every reader in a process of its own; the number of those with a find."""
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else SECONDS
    finds = 0
    for name in sys.argv[2:] or list(_readers()):
        with tempfile.TemporaryDirectory() as folder:
            call = [sys.executable, __file__, "--one", name, str(seconds), folder]
            done = subprocess.run(call, capture_output=True, text=True, check=False)
        runs = [line for line in done.stderr.splitlines() if line.startswith("Done")]
        print(f"{name:10} {runs[-1] if runs else 'stopped'}")
        if done.returncode:
            finds += 1
            print(done.stdout[-2000:], done.stderr[-3000:])
    return finds


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        fuzz(sys.argv[2], int(sys.argv[3]), sys.argv[4])
    else:
        sys.exit(main())
