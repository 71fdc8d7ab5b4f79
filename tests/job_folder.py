"""A small whole job on disk, with any of its files replaced, for the readers' checks."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

from stillwet.domain.job import Job
from stillwet.errors import Problem
from stillwet.exchange.job_file import read_job

JOB = """
[job]
name = "Alder Bend"
time_zone = "America/Denver"
start = "2026-08-14T08:00-06:00"

[assets]
file = "assets.csv"

[weather]
file = "weather.csv"
time_zone = "UTC-06:00"
latitude = 39.75
longitude = -105.2
elevation = "5700 ft"
wind_height = "20 ft"

[fire]
exposure = "brush fire"
arrival = ["2026-08-14T15:00-06:00", "2026-08-14T16:30-06:00"]
from = "SW"

[product]
id = "clear"
type = "superabsorbent_dispersion"
ratio = ["0.5 %", "2 %"]
ratio_basis = "volume"
pack = "5 gal"
cost_per_pack = "180 usd"

[[crew]]
id = "e1"
tank = "750 gal"
spray_flow = "30 gal/min"

[[water_point]]
id = "w1"
latitude = 39.751
longitude = -105.199
fill_flow = "250 gpm"
"""

ASSETS = """id,name,kind,latitude,longitude,eave height [ft],value
h1,First house,house,39.7500,-105.2000,9,100
b1,Red barn,barn,39.7510,-105.2010,14,60
p1,Pole,pole,39.7515,-105.2015,12,5
"""

WEATHER_HEADER = "time,air_temperature_F,relative_humidity_%,wind_speed_mph,cloud_cover_%"


def weather_lines(hours: int = 30) -> list[str]:
    """Hourly rows from midnight of the job's day, header first; row n of the file is item n-1."""
    rows = [
        f"2026-08-{14 + hour // 24:02d} {hour % 24:02d}:00,{70 + hour % 24},30,8.5,10"
        for hour in range(hours)
    ]
    return [WEATHER_HEADER, *rows]


def write_job(folder: Path, **texts: str | bytes) -> Path:
    """Write the job with some files replaced: ``job=``, ``assets=``, ``weather=`` or any name.

    A keyword "lines_geojson" writes the file "lines.geojson".
    """
    files: dict[str, str | bytes] = {
        "job.toml": JOB,
        "assets.csv": ASSETS,
        "weather.csv": "\n".join(weather_lines()),
    }
    short = {"job": "job.toml", "assets": "assets.csv", "weather": "weather.csv"}
    for key, text in texts.items():
        files[short.get(key, key.replace("_", ".", 1))] = text
    for name, text in files.items():
        content = text if isinstance(text, bytes) else text.encode()
        (folder / name).write_bytes(content)
    return folder / "job.toml"


def packaged(package: str, *parts: str) -> bytes:
    """A data file that ships inside an installed package, found without importing it."""
    spec = find_spec(package)
    assert spec is not None
    assert spec.origin is not None
    return Path(spec.origin).parent.joinpath(*parts).read_bytes()


def good(folder: Path, **texts: str | bytes) -> Job:
    """The job, which must read without problems."""
    job, problems = read_job(write_job(folder, **texts))
    assert problems == (), "\n".join(map(str, problems))
    assert job is not None
    return job


def faults(folder: Path, **texts: str | bytes) -> tuple[Problem, ...]:
    """The problems of a job that must be refused."""
    job, problems = read_job(write_job(folder, **texts))
    assert job is None
    assert problems
    return problems


def messages(folder: Path, **texts: str | bytes) -> list[str]:
    """The problems as a person reads them."""
    return [str(problem) for problem in faults(folder, **texts)]
