"""Fifty megabytes of anything end in a clear answer within 500 MB of memory."""

from __future__ import annotations

import io
import os
import resource
import subprocess
import sys
import time
import zipfile
from collections.abc import Callable
from pathlib import Path

import pytest

from job_folder import ASSETS, JOB, weather_lines, write_job

pytestmark = pytest.mark.slow
MOST_MB = 500
SIZE = 50_000_000
# Runs in a process of its own: what it used is what one reading needs, libraries and all.
READ = """
import resource, sys
from pathlib import Path
from stillwet.exchange.job_file import read_job
job, problems = read_job(Path(sys.argv[1]))
print("job" if job else problems[0])
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
"""


def _repeated(piece: str, size: int) -> str:
    return piece * (size // len(piece))


def _csv(size: int) -> bytes:
    return (ASSETS + _repeated("x,y,house,39.75,-105.2,9,1\n", size)).encode()


def _one_line(size: int) -> bytes:
    return (ASSETS + _repeated("a,", size)).encode()


def _weather(size: int) -> bytes:
    return (
        "\n".join(weather_lines()) + "\n" + _repeated("2026-08-14 00:00,1,2,3,4\n", size)
    ).encode()


def _geojson(size: int) -> bytes:
    return (
        '{"type": "FeatureCollection", "features": [' + _repeated("[],", size) + "[]]}"
    ).encode()


def _gpx(size: int) -> bytes:
    return ("<gpx>" + _repeated("<wpt/>", size) + "</gpx>").encode()


def _toml(size: int) -> bytes:
    return (JOB + _repeated("[[x]]\n", size)).encode()


def _xlsx(size: int) -> bytes:
    """A workbook of many small cells, or one that unpacks to a hundred times its size."""
    import openpyxl

    book, out = io.BytesIO(), io.BytesIO()
    openpyxl.Workbook().save(book)
    rows = _repeated("<row><c><v>1</v></c></row>", size * 4).encode()
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        for part in old.infolist():
            content = old.read(part)
            if part.filename.endswith("sheet1.xml"):
                content = content.replace(b"<sheetData />", b"<sheetData>" + rows + b"</sheetData>")
            made.writestr(part.filename, content)
    return out.getvalue()


def _noise(size: int) -> bytes:
    return os.urandom(size)


KINDS: list[tuple[str, str, Callable[[int], bytes]]] = [
    ("assets.csv", JOB, _csv),
    ("assets.csv", JOB, _one_line),
    ("assets.csv", JOB, _noise),
    ("weather.csv", JOB, _weather),
    ("a.geojson", JOB.replace("assets.csv", "a.geojson"), _geojson),
    ("a.gpx", JOB.replace("assets.csv", "a.gpx"), _gpx),
    ("a.xlsx", JOB.replace("assets.csv", "a.xlsx"), _xlsx),
    (
        "a.gpkg",
        JOB.replace("assets.csv", "a.gpkg"),
        lambda size: b"SQLite format 3\0" + _noise(size),
    ),
    ("g.json", JOB.replace('"weather.csv"', '"g.json"'), _geojson),
    ("m.nc", JOB.replace('"weather.csv"', '"m.nc"'), lambda size: b"CDF\1" + _noise(size)),
    (
        "m.nc",
        JOB.replace('"weather.csv"', '"m.nc"'),
        lambda size: b"\x89HDF\r\n\x1a\n" + _noise(size),
    ),
    ("weather.csv", JOB.replace('"weather.csv"', '"weather.csv"\nformat = "epw"'), _weather),
    ("job.toml", JOB, _toml),
]


@pytest.mark.parametrize("size", [SIZE, 9_900_000, 990_000])
@pytest.mark.parametrize(
    ("name", "job", "make"), KINDS, ids=[f"{name}-{make.__name__}" for name, _, make in KINDS]
)
def test_within_memory_and_time(
    tmp_path: Path, name: str, job: str, make: Callable[[int], bytes], size: int
) -> None:
    """Whole or refused, at 50 MB and just under the smaller limits."""
    path = write_job(tmp_path, job=job)
    (tmp_path / name).write_bytes(make(size))
    began = time.monotonic()
    done = subprocess.run(
        [sys.executable, "-c", READ, str(path)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
        preexec_fn=_limited,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    answer, used_mb = done.stdout.rsplit("\n", 2)[:2]
    assert "wanted" in answer or answer == "job"
    assert int(used_mb) < MOST_MB, answer
    assert time.monotonic() - began < 90


def _limited() -> None:
    """No more than 4 GB of address space, so that a leak ends in an error and not in swap."""
    resource.setrlimit(resource.RLIMIT_AS, (4_000_000_000, 4_000_000_000))
