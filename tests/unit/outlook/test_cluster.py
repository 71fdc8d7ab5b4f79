"""The recipe for several machines, its own lines run with scheduler and workers of this one."""

from __future__ import annotations

import re
import shlex
import socket
import subprocess
import sys
from contextlib import ExitStack
from pathlib import Path

import numpy as np
import pytest

from stillwet.outlook.store import open_store
from unit.outlook.made_grid import made_forecast
from unit.outlook.outlook_run import Run
from unit.outlook.test_point import write

PAGE = Path(__file__).parents[3] / "docs" / "how-to" / "outlook.md"


def recipe(address: str) -> list[list[str]]:
    """The lines of the page's block, with this machine in the place of the named host."""
    text = PAGE.read_text(encoding="utf-8").split("## Several machines")[1]
    found = re.search(r"^```\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
    assert found is not None
    _host, port = address.split(":")
    lines = found.group(1).replace("host:8786", address).replace("8786", port).splitlines()
    return [shlex.split(line) for line in lines]


def free_address() -> str:
    with socket.socket() as door:
        door.bind(("127.0.0.1", 0))
        return f"127.0.0.1:{door.getsockname()[1]}"


@pytest.mark.slow
def test_the_recipe_gives_the_same_answer(
    tmp_path: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Scheduler, two workers and the command as the page has them: same bits as one process."""
    monkeypatch.chdir(tmp_path)
    write(made_forecast(rows=16, columns=9, hours=24), Path("forecast.nc"))
    assert run("forecast.nc", "--out", "alone.zarr").exit_code == 0
    *servers, (program, verb, *rest) = recipe(free_address())
    assert (program, verb) == ("stillwet", "outlook")
    with ExitStack() as stack:
        for command, *arguments in servers:
            assert command == "dask"
            more = ["--no-dashboard"] if arguments[0] == "worker" else ["--host", "127.0.0.1"]
            server = stack.enter_context(
                subprocess.Popen(
                    [sys.executable, "-m", "dask", *arguments, *more],
                    stdout=subprocess.DEVNULL,
                    stderr=subprocess.DEVNULL,
                )
            )
            stack.callback(server.terminate)
        done = run(*rest)
    assert done.exit_code == 0, done.output
    one, many = open_store(Path("alone.zarr")), open_store(Path("outlook.zarr"))
    for name in one.variables:
        np.testing.assert_array_equal(one[name].to_numpy(), many[name].to_numpy())
