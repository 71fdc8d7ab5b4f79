"""The same answer to the bit however the work is shared out, broken off or killed."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import xarray as xr

from stillwet.errors import StillwetError
from stillwet.outlook.ask import answers_named, faces_named
from stillwet.outlook.layout import choose_layout
from stillwet.outlook.loading import load_region, open_forecast
from stillwet.outlook.region import region_answers
from stillwet.outlook.store import open_store, write_netcdf
from stillwet.outlook.work import Means, marks_folder, reckon_outlook
from unit.outlook.made_grid import made_forecast
from unit.outlook.test_point import ask, write

QUESTION = ask(faces=faces_named("W,roof"))
ALL = answers_named("all")
SMALL = Means(memory_bytes=2**20)


def same(one: Path, other: Path) -> None:
    first, second = open_store(one), open_store(other)
    assert set(first.variables) == set(second.variables)
    for name in first.variables:
        np.testing.assert_array_equal(first[name].to_numpy(), second[name].to_numpy())


def forecast_file(tmp_path: Path, rows: int = 24, columns: int = 11) -> Path:
    return write(made_forecast(rows=rows, columns=columns, hours=30), tmp_path / "forecast.nc")


def test_blocks_give_what_the_whole_gives(tmp_path: Path) -> None:
    """Equal to the bit with one block and with many, and to the region reckoned at once."""
    source = forecast_file(tmp_path)
    many, _ = reckon_outlook(source, tmp_path / "many.zarr", QUESTION, ALL, SMALL)
    one, _ = reckon_outlook(source, tmp_path / "one.zarr", QUESTION, ALL, Means())
    assert many.count > one.count >= 1
    same(tmp_path / "many.zarr", tmp_path / "one.zarr")
    forecast = open_forecast(source)
    whole = region_answers(load_region(forecast, slice(0, 24), slice(0, 11)), QUESTION)
    stored = open_store(tmp_path / "many.zarr").hold_time_sure.to_numpy()
    np.testing.assert_array_equal(stored.reshape(2, 30, -1), whole["hold_time_sure"])


def test_a_run_broken_off_goes_on(tmp_path: Path) -> None:
    """After an interruption only what was not done is done; then the marks are gone."""
    source, out = forecast_file(tmp_path), tmp_path / "broken.zarr"

    class BrokenOffError(Exception):
        pass

    def stop_early(label: str, share: float) -> None:
        if share > 0.4:
            raise BrokenOffError

    with pytest.raises(BrokenOffError):
        reckon_outlook(source, out, QUESTION, ALL, SMALL, stop_early)
    assert marks_folder(out).exists()
    with pytest.raises(StillwetError, match="the rest of another question, broken off"):
        reckon_outlook(source, out, ask(faces=faces_named("N")), ALL, SMALL)
    layout, now = reckon_outlook(source, out, QUESTION, ALL, SMALL)
    assert 0 < now < layout.count
    assert not marks_folder(out).exists()
    reckon_outlook(source, tmp_path / "whole.zarr", QUESTION, ALL, SMALL)
    same(out, tmp_path / "whole.zarr")
    with pytest.raises(StillwetError, match="--out: wanted a name that is not taken"):
        reckon_outlook(source, out, QUESTION, ALL, SMALL)


def test_netcdf_holds_the_same(tmp_path: Path) -> None:
    """The one-file form, read by another reader's defaults, has CF attributes and equal values."""
    source, out = forecast_file(tmp_path, 4, 5), tmp_path / "one.zarr"
    reckon_outlook(source, out, QUESTION, ALL, Means())
    write_netcdf(out, tmp_path / "one.nc")
    with xr.open_dataset(tmp_path / "one.nc", decode_timedelta=False) as found:
        assert found.attrs["Conventions"] == "CF-1.11"
        assert found.coat_needed.attrs["units"] == "mm"
        assert found.latitude.attrs["standard_name"] == "latitude"
        stored = open_store(out)
        for name in ("coat_needed", "earliest_start", "time"):
            np.testing.assert_array_equal(found[name].to_numpy(), stored[name].to_numpy())


KILLED = """
import os, signal, sys
from pathlib import Path
from distributed import LocalCluster
sys.path[:0] = [{tests!r}]
from unit.outlook.test_work import ALL, QUESTION
from stillwet.outlook.work import Means, reckon_outlook

if __name__ == "__main__":
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, memory_limit=0
    ) as cluster:
        killed = []

        def kill_one(label, share):
            if not killed and share > 0.2:
                killed.append(next(iter(cluster.workers.values())).process.pid)
                os.kill(killed[0], signal.SIGKILL)

        means = Means(memory_bytes=2**20, scheduler=cluster.scheduler_address)
        layout, now = reckon_outlook(
            Path({source!r}), Path({out!r}), QUESTION, ALL, means, kill_one
        )
        print("killed", len(killed), "of", layout.count, now)
"""


def test_a_killed_worker_changes_nothing(tmp_path: Path) -> None:
    """One of two processes killed outright after a fifth of the work: same bits."""
    source, out = forecast_file(tmp_path), tmp_path / "killed.zarr"
    script = tmp_path / "script.py"
    tests = str(Path(__file__).parents[2])
    script.write_text(KILLED.format(tests=tests, source=str(source), out=str(out)))
    done = subprocess.run(
        [sys.executable, str(script)], capture_output=True, text=True, timeout=180, check=False
    )
    assert "killed 1 of" in done.stdout, done.stderr[-2000:]
    reckon_outlook(source, tmp_path / "whole.zarr", QUESTION, ALL, SMALL)
    same(out, tmp_path / "whole.zarr")


def test_a_killed_client_is_taken_up_again(tmp_path: Path) -> None:
    """The command killed outright in the middle; the same command ends the work."""
    source, out = forecast_file(tmp_path), tmp_path / "client.zarr"
    script = tmp_path / "client.py"
    script.write_text(
        "import os, signal, sys\n"
        f"sys.path[:0] = [{str(Path(__file__).parents[2])!r}]\n"
        "from pathlib import Path\n"
        "from unit.outlook.test_work import ALL, QUESTION, SMALL\n"
        "from stillwet.outlook.work import reckon_outlook\n"
        "def die(label, share):\n"
        "    if share > 0.5:\n"
        "        os.kill(os.getpid(), signal.SIGKILL)\n"
        f"reckon_outlook(Path({str(source)!r}), Path({str(out)!r}), QUESTION, ALL, SMALL, die)\n"
    )
    done = subprocess.run([sys.executable, str(script)], timeout=120, check=False)
    assert done.returncode == -signal.SIGKILL
    layout, now = reckon_outlook(source, out, QUESTION, ALL, SMALL)
    assert now < layout.count
    reckon_outlook(source, tmp_path / "whole.zarr", QUESTION, ALL, SMALL)
    same(out, tmp_path / "whole.zarr")


def test_blocks_fit_the_memory(tmp_path: Path) -> None:
    """Blocks cover the grid once, and ten times the grid takes no larger blocks."""
    grid = open_forecast(forecast_file(tmp_path, 40, 50)).grid
    layout = choose_layout(grid, QUESTION, memory_bytes=2**24, workers=2)
    seen = np.zeros((40, 50), dtype=int)
    for block in layout.blocks():
        seen[block.row : block.row_end, block.column : block.column_end] += 1
    assert (seen == 1).all()
    assert layout.count == len(list(layout.blocks()))


@pytest.mark.slow
def test_memory_stays_flat_as_the_grid_grows_ten_times(tmp_path: Path) -> None:
    """Largest resident set of a fresh process: under 1.25 times as much for ten times the cells."""
    peaks = []
    for columns in (60, 600):
        data = made_forecast(rows=80, columns=columns, hours=30)
        source = tmp_path / f"{columns}.nc"
        data.to_netcdf(
            source,
            engine="h5netcdf",
            encoding={
                name: {"chunksizes": (30, 4, 60)} for name in data.data_vars if name != "orog"
            },
        )
        code = (
            "import resource, sys\n"
            f"sys.path[:0] = [{str(Path(__file__).parents[2])!r}]\n"
            "from pathlib import Path\n"
            "from unit.outlook.test_work import ALL, QUESTION\n"
            "from stillwet.outlook.work import Means, reckon_outlook\n"
            f"reckon_outlook(Path({str(source)!r}), Path({str(tmp_path / f'{columns}.zarr')!r}),"
            " QUESTION, ALL, Means(memory_bytes=2**25))\n"
            "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)\n"
        )
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, timeout=300, check=True
        )
        peaks.append(int(done.stdout))
    assert peaks[1] < 1.25 * peaks[0], peaks
