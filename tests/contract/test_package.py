"""The package as somebody installs it: built, put into an empty environment, used."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCE = ROOT / "src" / "stillwet"
NEWER = ("3.12", "3.13")  # beside the one that runs the tests
pytestmark = pytest.mark.slow


def _run(*command: str | Path, **more: str) -> subprocess.CompletedProcess[str]:
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    return subprocess.run(
        [str(part) for part in command],
        capture_output=True,
        text=True,
        check=False,
        cwd=more.pop("cwd", None),
        env={**kept, **more},
    )


def _uv(*arguments: str | Path) -> subprocess.CompletedProcess[str]:
    beside = Path(sys.executable).parent / "uv"
    return _run(beside if beside.exists() else "uv", *arguments, "--quiet")


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the sdist, and the wheel that was built from it."""
    tree = tmp_path_factory.mktemp("tree")
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, tree)
    shutil.copytree(SOURCE, tree / "src" / "stillwet", ignore=shutil.ignore_patterns("__pycache__"))
    out = tmp_path_factory.mktemp("dist")
    done = _uv(
        "build",
        tree,
        "--out-dir",
        out,
        "--no-build-isolation",
        "--python",
        sys.executable,
        "--offline",
    )
    assert done.returncode == 0, done.stderr
    return out


def _one(folder: Path, pattern: str) -> Path:
    (found,) = folder.glob(pattern)
    return found


def _is_ours(path: Path) -> bool:
    return path.is_file() and "__pycache__" not in path.parts


def test_wheel_and_sdist_hold_every_file(built: Path) -> None:
    """Code, tables, sheets, fonts, schemas, web pages, vendored libraries, the mark of types."""
    wanted = {str(p.relative_to(ROOT / "src")) for p in SOURCE.rglob("*") if _is_ours(p)}
    assert {Path(name).suffix for name in wanted} > {".toml", ".typ", ".ttf", ".json", ".js"}
    assert "stillwet/py.typed" in wanted
    with zipfile.ZipFile(_one(built, "*.whl")) as wheel:
        held = {name for name in wheel.namelist() if name.startswith("stillwet/")}
    assert held == wanted
    with tarfile.open(_one(built, "*.tar.gz")) as sdist:
        packed = {name.partition("/src/")[2] for name in sdist.getnames()}
    assert wanted <= packed


def test_wheel_is_for_any_machine(built: Path) -> None:
    """Nothing in it is compiled, so that installing it asks for no compiler."""
    assert _one(built, "*.whl").name.endswith("-py3-none-any.whl")


def _python(version: str) -> str | None:
    """An interpreter of this version: on the PATH, or named in STILLWET_PYTHONS."""
    named = os.environ.get("STILLWET_PYTHONS", "").split(os.pathsep)
    for one in (*named, f"python{version}"):
        if one and shutil.which(one):
            asked = _run(one, "-c", "import sys; print('%d.%d' % sys.version_info[:2])")
            if asked.stdout.strip() == version:
                return one
    return None


def _installed(built: Path, folder: Path, python: str) -> Path:
    """The program in a fresh environment, with its extras.

    The packages come from the cache that setting up this environment has filled; only what is not
    there is asked of a registry.
    """
    assert _uv("venv", folder, "--python", python, "--offline").returncode == 0
    wheel = f"{_one(built, '*.whl')}[web,outlook]"
    wanted = ("pip", "install", wheel, "--python", folder, "-c", ROOT / "constraints.txt")
    done = _uv(*wanted, "--offline")
    if done.returncode != 0:
        done = _uv(*wanted)
    if done.returncode != 0 and python != sys.executable:
        pytest.skip(f"packages for this Python cannot be had here: {done.stderr[:200]}")
    assert done.returncode == 0, done.stderr
    return next(folder.glob("[bS]*/stillwet*"))


def _demo(program: Path, out: Path, **more: str) -> subprocess.CompletedProcess[str]:
    done = _run(program, "demo", "--out", out, PYTHONWARNINGS="error", **more)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("PLAN ")
    assert len(list(out.glob("plan.*"))) == 4
    return done


def test_installed_anywhere(built: Path, tmp_path: Path) -> None:
    """The demo runs, quietly, where nothing but its output folder can be written to."""
    program = _installed(built, tmp_path / "venv", sys.executable)
    _demo(program, tmp_path / "first")
    package = _one(tmp_path / "venv", "[lL]ib/**/site-packages/stillwet")
    for cache in [*package.rglob("__pycache__")]:
        shutil.rmtree(cache)
    for folder in [package, *(path for path in package.rglob("*") if path.is_dir())]:
        (folder / "__pycache__").touch()  # no cache can be made beside the code, not by root either
    before = {path: path.stat().st_mtime_ns for path in (tmp_path / "venv").rglob("*")}
    away = "/proc" if Path("/proc").is_dir() else str(package)  # where no file can be made
    temporary = tmp_path / "temporary"
    temporary.mkdir()
    home = str(tmp_path / "first" / "plan.csv")  # a file, so that there is no home
    done = _demo(program, tmp_path / "second", cwd=away, HOME=home, TMPDIR=str(temporary))
    assert done.stderr.startswith("wrote ")
    assert len(done.stderr.splitlines()) == 1
    assert {path: path.stat().st_mtime_ns for path in (tmp_path / "venv").rglob("*")} == before
    assert [path.name[:17] for path in temporary.iterdir()] == ["stillwet-kernels-"]


def test_no_place_for_the_output_is_told(built: Path, tmp_path: Path) -> None:
    """A folder that cannot be written to is bad input, named, with exit status 2."""
    program = _installed(built, tmp_path / "venv", sys.executable)
    if not Path("/proc").is_dir():
        pytest.skip("this machine has no folder that refuses everybody")
    done = _run(program, "demo", cwd="/proc")
    assert done.returncode == 2
    assert "--out: wanted a folder that can be written to, got" in done.stderr


@pytest.mark.parametrize("version", NEWER)
def test_newer_pythons(built: Path, tmp_path: Path, version: str) -> None:
    """The same wheel installs and runs under the newer versions of Python, where they are."""
    python = _python(version)
    if python is None:
        pytest.skip(f"no Python {version} on this machine: name one in STILLWET_PYTHONS")
    _demo(_installed(built, tmp_path / "venv", python), tmp_path / "out")
