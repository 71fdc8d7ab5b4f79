"""What would trip on Windows, held by rule, as no such machine runs these tests.

The rules for names are those of "Naming Files, Paths, and Namespaces" (Microsoft Learn, Win32).
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SOURCES = sorted((ROOT / "src").rglob("*.py"))
ROOMS = ("src", "tests", "docs", "examples", "benchmarks")
NOT_OURS = {"__pycache__", "out", "site", "build"}

_RESERVED = re.compile(r"(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?", re.IGNORECASE)
_FORBIDDEN = re.compile(r'[<>:"/\\|?*\x00-\x1f]')
_LONGEST = 150  # of 260, so that a checkout may lie a hundred characters deep

# What some system lacks; each use has to ask with hasattr first.
_UNIX_MODULES = {"fcntl", "grp", "pty", "pwd", "resource", "termios", "tty", "syslog"}
_UNIX_CALLS = {
    "os": {"fork", "fchmod", "fchown", "chown", "getuid", "geteuid", "getgid", "killpg", "setsid"},
    "signal": {"SIGKILL", "SIGALRM", "SIGHUP", "SIGUSR1", "SIGUSR2", "alarm", "pause"},
    "time": {"tzset"},
}


def name_faults(name: str) -> list[str]:
    """What Windows has against one part of a path."""
    faults = []
    if _RESERVED.fullmatch(name):
        faults.append("a reserved name")
    if _FORBIDDEN.search(name):
        faults.append("a forbidden character")
    if name != name.rstrip(" ."):
        faults.append("ends with a dot or a space")
    return faults


def _files() -> Iterator[Path]:
    yield from (path for path in ROOT.iterdir() if path.is_file() and path.name != ".git")
    for room in ROOMS:
        for path in (ROOT / room).rglob("*"):
            parts = path.relative_to(ROOT).parts
            if NOT_OURS.isdisjoint(parts) and not any(p.endswith(".egg-info") for p in parts):
                yield path


@pytest.mark.parametrize("name", ["NUL", "con.txt", "a:b", "trailing.", "what?", "com1.tar.gz"])
def test_a_bad_name_is_found(name: str) -> None:
    """The rule finds what the system would refuse."""
    assert name_faults(name)


def test_every_file_can_be_checked_out() -> None:
    """No file has a name that the system refuses, and no path is too long for it."""
    files = list(_files())
    assert len(files) > 500
    bad = {str(path): name_faults(path.name) for path in files if name_faults(path.name)}
    assert bad == {}
    assert [path for path in files if len(str(path.relative_to(ROOT))) > _LONGEST] == []


def test_no_two_files_differ_by_case_alone() -> None:
    """Two names that differ by upper and lower case would be one file."""
    seen: dict[str, Path] = {}
    clashes = []
    for path in _files():
        other = seen.setdefault(str(path).casefold(), path)
        if other != path:
            clashes.append((other, path))
    assert clashes == []


def _calls(tree: ast.AST) -> Iterator[tuple[ast.Call, str]]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            named = node.func
            if isinstance(named, ast.Attribute):
                yield node, named.attr
            elif isinstance(named, ast.Name):
                yield node, named.id


def _is_text_without_encoding(call: ast.Call, name: str) -> bool:
    keywords = {keyword.arg for keyword in call.keywords}
    texts = [arg.value for arg in call.args if isinstance(arg, ast.Constant)]
    if name in ("read_text", "write_text"):
        places = 0 if name == "read_text" else 1  # the encoding may also come by its place
        return "encoding" not in keywords and len(call.args) <= places
    modes = [text for text in texts if isinstance(text, str) and re.fullmatch(r"[rwaxbt+]+", text)]
    opens_text = name in ("open", "fdopen") and not any("b" in mode for mode in modes)
    return opens_text and "encoding" not in keywords


# What else is opened: a low-level handle, a page, a member of an archive, a raster.
_NOT_TEXT = {"os", "webbrowser", "book", "zipfile", "tarfile", "rasterio"}


def test_text_is_opened_with_its_encoding() -> None:
    """No text file is read or written in whatever encoding the machine happens to have."""
    found = []
    for path in SOURCES:
        for call, name in _calls(ast.parse(path.read_text(encoding="utf-8"))):
            what = ast.unparse(call.func)
            if _is_text_without_encoding(call, name) and what.split(".")[0] not in _NOT_TEXT:
                found.append(f"{path.relative_to(ROOT)}:{call.lineno} {what}")
    assert found == []


def _unguarded(path: Path) -> Iterator[str]:
    text = path.read_text(encoding="utf-8")
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import | ast.ImportFrom):
            names = [alias.name for alias in node.names]
            module = node.module if isinstance(node, ast.ImportFrom) else None
            for name in {module, *names} & _UNIX_MODULES:
                yield f"{path.relative_to(ROOT)}:{node.lineno} import {name}"
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
            module, name = node.value.id, node.attr
            asked = f'hasattr({module}, "{name}")' in text
            if name in _UNIX_CALLS.get(module, ()) and not asked:
                yield f"{path.relative_to(ROOT)}:{node.lineno} {module}.{name}"


def test_no_call_of_one_system_alone() -> None:
    """Calls that some system lacks are asked for first."""
    assert [fault for path in SOURCES for fault in _unguarded(path)] == []


def test_paths_are_paths() -> None:
    """Paths go through pathlib, none is written for one system, no clock word is glibc's own."""
    bad = re.compile(r"os\.path\b|[\"']/(tmp|var|etc|usr|dev)/|strftime\([^)]*%-")
    found = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in SOURCES
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if bad.search(line)
    ]
    assert found == []
