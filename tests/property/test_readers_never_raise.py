"""Whatever bytes a file holds, reading a job ends in a job or in problems, never in a trace."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import numpy as np
import pytest
import xarray as xr
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from job_folder import ASSETS, JOB, packaged, weather_lines, write_job
from stillwet.errors import Problem
from stillwet.exchange.findings import Findings
from stillwet.exchange.job_file import read_job
from stillwet.exchange.vector import read_gpkg

RELAXED = settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
GEOJSON_JOB = JOB.replace("assets.csv", "a.geojson")
GPKG_JOB = JOB.replace("assets.csv", "a.gpkg")
XLSX_JOB = JOB.replace("assets.csv", "a.xlsx")
GRID_JOB = JOB.replace('"weather.csv"', '"g.json"')
NETCDF_JOB = JOB.replace('"weather.csv"', '"members.nc"')
TMY3_JOB = JOB.replace('"weather.csv"', '"weather.csv"\nformat = "tmy3"')
EPW_JOB = JOB.replace('"weather.csv"', '"weather.csv"\nformat = "epw"')
GEOJSON = (
    '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"id": "a",'
    ' "kind": "house"}, "geometry": {"type": "Point", "coordinates": [-105.2, 39.75]}}]}'
)
GRID = (
    '{"properties": {"elevation": {"unitCode": "wmoUnit:m", "value": 1}, "temperature": {"uom":'
    ' "wmoUnit:degC", "values": [{"validTime": "2026-08-14T06:00:00+00:00/P3D", "value": 20}]}}}'
)


def _must_answer(folder: Path, **texts: str | bytes) -> None:
    job, problems = read_job(write_job(folder, **texts))
    assert (job is None) == bool(problems)
    for problem in problems:
        assert isinstance(problem, Problem)
        assert problem.field
        assert problem.wanted
        assert problem.got


@RELAXED
@given(noise=st.binary(max_size=400))
@pytest.mark.parametrize(
    ("name", "job"),
    [
        ("job", JOB),
        ("assets", JOB),
        ("weather", JOB),
        ("weather", TMY3_JOB),
        ("weather", EPW_JOB),
        ("a_geojson", GEOJSON_JOB),
        ("a_gpkg", GPKG_JOB),
        ("a_xlsx", XLSX_JOB),
        ("g_json", GRID_JOB),
        ("members_nc", NETCDF_JOB),
    ],
)
def test_random_bytes(tmp_path: Path, name: str, job: str, noise: bytes) -> None:
    """Random bytes in any file of a job are refused with problems."""
    texts: dict[str, str | bytes] = {"job": job, name: noise}
    _must_answer(tmp_path, **texts)


def _garbled(text: str, cut: int, piece: str) -> str:
    at = cut % (len(text) + 1)
    return text[:at] + piece + text[at + len(piece) :]


PIECES = st.one_of(
    st.text(max_size=12),
    st.sampled_from(['"', "[", "]", "{", "}", ",", "\n", "nan", "1e999", "-", "9" * 400, "null"]),
)


@RELAXED
@given(cut=st.integers(0, 5000), piece=PIECES)
@pytest.mark.parametrize(
    ("name", "job", "text"),
    [
        ("job", JOB, JOB),
        ("assets", JOB, ASSETS),
        ("weather", JOB, "\n".join(weather_lines())),
        ("a_geojson", GEOJSON_JOB, GEOJSON),
        ("g_json", GRID_JOB, GRID),
    ],
)
def test_garbled_files(
    tmp_path: Path, name: str, job: str, text: str, cut: int, piece: str
) -> None:
    """A good file with a piece of it overwritten is read or refused, whatever the piece."""
    garbled = _garbled(text, cut, piece).encode("utf-8", errors="replace")
    texts: dict[str, str | bytes] = {"job": job, name: garbled}
    _must_answer(tmp_path, **texts)


@RELAXED
@given(where=st.integers(0, 400_000), noise=st.binary(min_size=1, max_size=64))
def test_a_damaged_geopackage(where: int, noise: bytes) -> None:
    """A real GeoPackage with some of its bytes overwritten is read or refused."""
    content = bytearray(packaged("momepy", "datasets", "bubenec.gpkg"))
    at = where % len(content)
    content[at : at + len(noise)] = noise
    findings = Findings()
    table = None
    with findings.catching():
        table = read_gpkg(
            bytes(content), name="b.gpkg", key="file", findings=findings, layer="buildings"
        )
    assert table is not None or findings.problems()


def _netcdf(folder: Path, engine: Literal["scipy", "h5netcdf"]) -> bytes:
    """A small ensemble of one place."""
    shape = (30, 2)
    names = {"air_temperature": "K", "relative_humidity": "1", "wind_speed": "m/s"}
    names["cloud_area_fraction"] = "1"
    time = np.datetime64("2026-08-14T06:00", "ns") + np.arange(30) * np.timedelta64(1, "h")
    values = {name: 300.0 if unit == "K" else 0.3 for name, unit in names.items()}
    data = xr.Dataset(
        {
            name: (
                ("time", "member"),
                np.full(shape, values[name]),
                {"standard_name": name, "units": unit},
            )
            for name, unit in names.items()
        },
        {"time": time},
    )
    data.to_netcdf(folder / "made.nc", engine=engine)
    return (folder / "made.nc").read_bytes()


@RELAXED
@given(where=st.integers(0, 400_000), noise=st.binary(min_size=1, max_size=64))
@pytest.mark.parametrize("engine", ["scipy", "h5netcdf"])
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")  # of h5netcdf's own
def test_a_damaged_netcdf(
    tmp_path: Path, engine: Literal["scipy", "h5netcdf"], where: int, noise: bytes
) -> None:
    """A good file with some of its bytes overwritten is read or refused."""
    content = bytearray(_netcdf(tmp_path, engine))
    at = where % len(content)
    content[at : at + len(noise)] = noise
    _must_answer(tmp_path, job=NETCDF_JOB, members_nc=bytes(content))
