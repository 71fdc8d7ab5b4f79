"""Compiled kernels are kept somewhere or nowhere, and neither stops a start."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

_KERNEL = """
from stillwet.compiling import compiled


@compiled()
def doubled(x):
    return 2.0 * x


print(doubled(21.0))
"""


def _run(folder: Path, **surroundings: str) -> subprocess.CompletedProcess[str]:
    """A kernel compiled where no cache can be beside the source or at home."""
    kernel = folder / "kernel.py"
    kernel.write_text(_KERNEL, encoding="utf-8")
    (folder / "__pycache__").touch()  # a file where the folder would be: for root, too
    kept = {name: value for name, value in os.environ.items() if not name.startswith("NUMBA_")}
    kept.pop("XDG_CACHE_HOME", None)
    return subprocess.run(
        [sys.executable, "-W", "error", str(kernel)],
        capture_output=True,
        text=True,
        check=False,
        env={**kept, "HOME": str(kernel), "PYTHONPATH": str(ROOT / "src"), **surroundings},
    )


@pytest.fixture
def temporary(tmp_path: Path) -> Path:
    folder = tmp_path / "temporary"
    folder.mkdir()
    return folder


def test_kernels_go_to_a_private_folder(tmp_path: Path, temporary: Path) -> None:
    """With no other place, they are kept in a folder of temporary files that is one's own."""
    done = _run(tmp_path, TMPDIR=str(temporary))
    assert (done.returncode, done.stdout, done.stderr) == (0, "42.0\n", "")
    (folder,) = temporary.iterdir()
    assert folder.name.startswith("stillwet-kernels-")
    assert folder.stat().st_mode & 0o077 == 0
    assert list(folder.rglob("*.nbc"))


@pytest.mark.skipif(os.name != "posix", reason="modes of folders are POSIX's")
def test_a_folder_open_to_others_is_not_used(tmp_path: Path, temporary: Path) -> None:
    """What another person could have written there would be run as it stands: nothing is kept."""
    trap = temporary / f"stillwet-kernels-{os.getuid()}"
    trap.mkdir()
    trap.chmod(0o777)
    done = _run(tmp_path, TMPDIR=str(temporary))
    assert (done.returncode, done.stdout, done.stderr) == (0, "42.0\n", "")
    assert list(trap.iterdir()) == []


def test_the_users_own_folder_comes_first(tmp_path: Path, temporary: Path) -> None:
    """NUMBA_CACHE_DIR is heeded."""
    done = _run(tmp_path, TMPDIR=str(temporary), NUMBA_CACHE_DIR=str(tmp_path / "mine"))
    assert (done.returncode, done.stdout) == (0, "42.0\n")
    assert list((tmp_path / "mine").rglob("*.nbc"))
    assert list(temporary.iterdir()) == []
