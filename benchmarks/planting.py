"""Plants one fault after another in copies of the tree and runs the tests that touch its line.

A parent that has loaded the heavy libraries, and nothing of this project, forks a child for each
fault; so a run costs its tests and not the start of an interpreter. Which tests touch which line is
measured once, by coverage, with every cache of the code emptied before each test. A compiled kernel
that a fault may reach is compiled anew.
"""

from __future__ import annotations

import contextlib
import functools
import importlib
import json
import os
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from mutants import Mutant

PRELOADED = (
    *("numpy", "scipy.optimize", "scipy.stats", "scipy.special", "scipy.integrate", "numba"),
    *("scipy.interpolate", "pandas", "pvlib", "shapely", "pyproj", "hypothesis", "psychrolib"),
    *("CoolProp.CoolProp", "fluids", "ht", "iapws", "pint", "xarray"),
)
SUITE = (  # the tests of the two rooms, and those elsewhere that hold them to something
    "tests/unit/physics",
    "tests/unit/engine",
    "tests/reference",
    *(
        f"tests/property/test_{name}.py"
        for name in (
            *("drying_directions", "line_directions", "margin_directions", "mix_directions"),
            *("spread", "suitability"),
        )
    ),
    *(f"tests/unit/services/test_crew{name}.py" for name in ("_coats", "_parts", "ing")),
    "tests/contract/test_dimensions.py",
    "tests/kept",
)
KEPT = "tests/kept/"  # answers held as they were: asked last, to know what nothing else notices
ARGUMENTS = [
    *("-x", "-q", "-p", "no:cacheprovider"),
    *("-p", "_hypothesis_pytestplugin", "--hypothesis-seed=0"),
    *("-W", "ignore::pytest.PytestAssertRewriteWarning"),  # for what is loaded before the fork
]
GRACE_S, SLOWER = 60.0, 6.0  # a run may work so long, and so many times what its tests took
MEASURING_S = 3600.0
COPIED = ("src", "tests", "examples", "docs", "pyproject.toml", "README.md", "mkdocs.yml")
NEVER_COPIED = shutil.ignore_patterns("*.egg-info", ".hypothesis", "out")
BROKEN, NOTHING_RUN, SOME_FAILED = 70, 5, 1  # exit status of a child
KILLED, SURVIVED, TIMED_OUT = "killed", "survived", "timed out"


@dataclass(frozen=True)
class Fate:
    """What became of a fault: killed by which test, how many tests were run at most, seconds."""

    fate: str
    by: str
    tests: int
    seconds: float


@dataclass
class Touch:
    """Which tests touch a line, and how long each takes."""

    tests: dict[str, float] = field(default_factory=dict)
    lines: dict[str, dict[int, list[str]]] = field(default_factory=dict)
    users: dict[str, list[str]] = field(default_factory=dict)  # modules that import a module

    def with_users(self, root: Path) -> Touch:
        """With who imports whom, as far as anything is known to touch the one that imports."""
        texts = {name: (root / name).read_text(encoding="utf-8") for name in self.lines}
        users = {}
        for name in texts:
            dotted = ".".join(Path(name).with_suffix("").parts[1:])
            users[name] = [other for other, text in texts.items() if f"from {dotted} " in text]
        return replace(self, users=users)

    def of(self, mutant: Mutant) -> list[str]:
        """Tests that run a fault's statement, else its function, else its module or bear its name.

        What is compiled leaves no trace of its lines, so that the last is all that is known.
        """
        known, stem = self.lines.get(mutant.module, {}), Path(mutant.module).stem
        found: set[str] = set()
        for lines in (mutant.lines, mutant.near):
            found = found or {test for line in lines for test in known.get(line, ())}
        if not found:
            found = {test for tests in known.values() for test in tests}
            found |= {
                test for test in self.tests if f"/test_{stem}." in test or f"[{stem}." in test
            }
        if not found:  # compiled into those that import it
            users = self.users.get(mutant.module, [])
            found = {t for user in users for tests in self.lines[user].values() for t in tests}
        ordered = sorted(found, key=lambda test: self._order(test, stem))
        kept = [test for test in ordered if test.startswith(KEPT)]
        first = [test for test in ordered if not test.startswith(KEPT)]
        # What a fixture of a whole file runs is seen in the first test that asks for it only.
        files = {test.split("::")[0] for test in first}
        rest = [t for t in self.tests if t.split("::")[0] in files and t not in found]
        return first + rest + kept

    def within(self, tests: list[str], most_s: float) -> list[str]:
        """The first of these tests that together take so many seconds; always the first.

        Kept answers have as many seconds of their own: the others would leave them none.
        """
        taken, chosen = {True: 0.0, False: 0.0}, tests[:1]
        for test in tests[1:]:
            is_kept = test.startswith(KEPT)
            taken[is_kept] += self.tests[test]
            if taken[is_kept] <= most_s:
                chosen.append(test)
        return chosen

    def _order(self, test: str, stem: str) -> tuple[int, float]:
        """The module's own tests first, then its reference cases, then the quick ones."""
        if f"/test_{stem}" in test or f"[{stem}." in test:
            return 0, self.tests[test]
        if f"[{stem}:" in test:
            return 1, self.tests[test]
        return 2, self.tests[test]

    def renewed(self, newer: Touch) -> Touch:
        """With what a later measurement of some test files says put in the place of the older."""
        files = {test.split("::")[0] for test in newer.tests}
        lines: dict[str, dict[int, list[str]]] = {}
        for name in {*self.lines, *newer.lines}:
            old, new = self.lines.get(name, {}), newer.lines.get(name, {})
            lines[name] = {
                line: [test for test in old.get(line, ()) if test.split("::")[0] not in files]
                + new.get(line, [])
                for line in {*old, *new}
            }
        kept = {test: s for test, s in self.tests.items() if test.split("::")[0] not in files}
        return Touch(kept | newer.tests, lines)

    def save(self, path: Path) -> None:
        """Written for a later run."""
        path.write_text(json.dumps({"tests": self.tests, "lines": self.lines}), encoding="utf-8")

    @classmethod
    def load(cls, path: Path) -> Touch:
        """As saved."""
        told = json.loads(path.read_text(encoding="utf-8"))
        lines = {
            name: {int(line): tests for line, tests in found.items()}
            for name, found in told["lines"].items()
        }
        return cls(told["tests"], lines)


class _Watch:
    """Tells coverage which test is running; empties the code's caches before each."""

    def __init__(self, cov: Any) -> None:
        self.cov = cov
        self.tests: dict[str, float] = {}
        self.failed: set[str] = set()

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        ours = [module for name, module in sys.modules.items() if name.startswith("stillwet")]
        for module in ours:
            for each in vars(module).values():
                if type(each) is functools._lru_cache_wrapper:
                    each.cache_clear()
        self.cov.switch_context(nodeid)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        taken = self.tests.get(report.nodeid, 0.0)
        self.tests[report.nodeid] = taken + report.duration
        if report.failed:
            self.failed.add(report.nodeid)


class _Chosen:
    """Runs only some tests, in the order given; writes down the first that fails."""

    def __init__(self, tests: Iterable[str], told: Path) -> None:
        self.place = {test: number for number, test in enumerate(tests)}
        self.told = told

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = sorted(
            (item for item in items if item.nodeid in self.place),
            key=lambda item: self.place[item.nodeid],
        )

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self.told.write_text(report.nodeid, encoding="utf-8")


class Tree:
    """A copy of the project in which faults are planted."""

    def __init__(self, root: Path, folder: Path) -> None:
        self.root, self.folder = root, folder
        self.process = 0
        self.told, self.log = folder / "told.txt", folder / "log.txt"
        folder.mkdir()
        for name in COPIED:
            source = root / name
            if source.is_dir():
                shutil.copytree(source, folder / name, ignore=NEVER_COPIED)
            else:
                shutil.copy2(source, folder / name)

    def child(self, work: Any, limit_s: float) -> None:
        """Fork; the child does ``work`` in this tree and ends with its answer as exit status.

        It is stopped after so many seconds of work; the clock runs on while others work.
        """
        self.told.unlink(missing_ok=True)
        self.process = os.fork()
        if self.process:
            return
        status = BROKEN
        try:
            os.setsid()
            resource.setrlimit(resource.RLIMIT_CPU, (int(limit_s) + 1, int(limit_s) + 5))
            os.chdir(self.folder)
            output = os.open(self.log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
            os.dup2(output, 1)
            os.dup2(output, 2)
            sys.path[:0] = [str(self.folder / "src")]
            status = int(work())
        except BaseException:
            traceback.print_exc()
        finally:
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(status)

    def wait(self) -> int | None:
        """Exit status of the child, or None when it was stopped for taking too long."""
        _, status = os.waitpid(self.process, 0)
        code = os.waitstatus_to_exitcode(status)
        return None if code in {-signal.SIGXCPU, -signal.SIGKILL} else code

    def try_fault(self, mutant: Mutant, touch: Touch, most_s: float) -> Fate:
        """Plant it, run the first tests that touch it, put the tree right again."""
        started = time.monotonic()
        tests = touch.within(touch.of(mutant), most_s)
        if not tests:
            return Fate(SURVIVED, "", 0, 0.0)
        with self._planted(mutant):
            files = sorted({test.split("::")[0] for test in tests})
            chosen = _Chosen(tests, self.told)
            limit_s = GRACE_S + SLOWER * sum(touch.tests[test] for test in tests)
            self.child(lambda: pytest.main([*ARGUMENTS, *files], plugins=[chosen]), limit_s)
            status = self.wait()
        seconds = time.monotonic() - started
        if status is None:
            return Fate(TIMED_OUT, "", len(tests), seconds)
        if status == 0:
            return Fate(SURVIVED, "", len(tests), seconds)
        if status in {BROKEN, NOTHING_RUN}:
            raise RuntimeError(f"{mutant.name}: the run itself failed, see {self.log}")
        by = self.told.read_text(encoding="utf-8") if self.told.exists() else "at import"
        return Fate(KILLED, by, len(tests), seconds)

    @contextlib.contextmanager
    def _planted(self, mutant: Mutant) -> Iterator[None]:
        """The fault stands in the tree; kernels it may reach are compiled anew."""
        path = self.folder / mutant.module
        kept = path.read_bytes(), path.stat()
        cached = path.parent / "__pycache__"
        aside = self.folder / "aside"
        compiled = mutant.at_import or (b"numba" in kept[0] or b"compiled" in kept[0])
        if compiled and cached.exists():
            shutil.copytree(cached, aside)
            for each in (*cached.glob("*.nbi"), *cached.glob("*.nbc")):
                each.unlink()
        path.write_text(mutant.code, encoding="utf-8")
        (cached / f"{path.stem}.cpython-{sys.version_info[0]}{sys.version_info[1]}.pyc").unlink(
            missing_ok=True
        )
        try:
            yield
        finally:
            path.write_bytes(kept[0])
            os.utime(path, ns=(kept[1].st_atime_ns, kept[1].st_mtime_ns))
            if aside.exists():
                shutil.rmtree(cached)
                aside.rename(cached)


def preload() -> None:
    """Load what every child would load, and nothing of this project."""
    os.environ.update(OPENBLAS_NUM_THREADS="1", OMP_NUM_THREADS="1", NUMBA_NUM_THREADS="1")
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"  # most of a short run's time
    for name in PRELOADED:
        with contextlib.suppress(ImportError):
            importlib.import_module(name)
    # A busy machine must not look like a test that noticed something.
    hypothesis.settings.register_profile("planted", deadline=None)
    hypothesis.settings.load_profile("planted")


def changed_tests(root: Path, since: Path) -> list[str]:
    """Test files of the suite that were written after that file; all of them when there is none."""
    if not since.exists():
        return list(SUITE)
    found = []
    for each in SUITE:
        path = root / each
        if path.name in {"reference", "kept"}:  # their cases stand beside what reads them
            files = list(path.rglob("*"))
            found += [each] if any(_is_newer(file, since) for file in files) else []
        else:
            files = sorted(path.glob("test_*.py")) if path.is_dir() else [path]
            found += [str(file.relative_to(root)) for file in files if _is_newer(file, since)]
    return found


def _is_newer(file: Path, since: Path) -> bool:
    return file.suffix in {".py", ".toml"} and file.stat().st_mtime > since.stat().st_mtime


def measure_touch(tree: Tree, rooms: tuple[str, ...], path: Path, is_known: bool) -> Touch:
    """Run the suite once with nothing planted, and note who touches what.

    When that is known already, only the tests that changed since.
    """
    tests = changed_tests(tree.root, path) if is_known else list(SUITE)
    known = Touch.load(path) if is_known and path.exists() else Touch()
    if not tests:
        return known.with_users(tree.root)
    part = tree.folder / "touch.json"
    tree.child(lambda: _measure(tree.folder, rooms, tests, part), MEASURING_S)
    status = tree.wait()
    if status not in {0, SOME_FAILED}:
        sys.exit(f"nothing could be measured: {tree.log.read_text(encoding='utf-8')[-3000:]}")
    if status:
        lines = tree.log.read_text(encoding="utf-8").splitlines()
        print("left out, for they fail with nothing planted:", *lines[-12:], sep="\n", flush=True)
    touch = known.renewed(Touch.load(part))
    touch.save(path)
    return touch.with_users(tree.root)


def _measure(folder: Path, rooms: tuple[str, ...], tests: list[str], path: Path) -> int:
    """In the child: coverage with a context for each test."""
    import coverage  # noqa: PLC0415 (only the child that measures needs it)

    cov = coverage.Coverage(data_file=None, include=[str(folder / room / "*") for room in rooms])
    watch = _Watch(cov)
    cov.start()
    status = pytest.main([*ARGUMENTS[1:], *tests], plugins=[watch])
    cov.stop()
    data = cov.get_data()
    touch = Touch({test: s for test, s in watch.tests.items() if test not in watch.failed})
    for name in data.measured_files():
        found = {
            line: [test for test in tests if test in touch.tests]
            for line, tests in data.contexts_by_lineno(name).items()
        }
        touch.lines[Path(name).relative_to(folder).as_posix()] = found
    touch.save(path)
    return int(status)


@contextlib.contextmanager
def trees(root: Path) -> Iterator[Path]:
    """A folder for copies, gone afterwards."""
    with tempfile.TemporaryDirectory(prefix="planted-") as folder:
        yield Path(folder)
