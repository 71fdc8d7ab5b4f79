"""Libraries taken from elsewhere are what they say they are, and nothing else is there."""

from __future__ import annotations

import hashlib
import tomllib
from pathlib import Path
from typing import Any

import pytest

import stillwet.web

ROOT = Path(__file__).parents[3]
FOLDERS = (
    Path(stillwet.web.__file__).parent / "static" / "vendor",
    ROOT / "tests" / "browser" / "vendor",
)
OPEN = {"BSD-2-Clause", "MIT", "MPL-2.0"}


def _libraries(folder: Path) -> list[dict[str, Any]]:
    text = (folder / "VENDORED.toml").read_text(encoding="utf-8")
    return list(tomllib.loads(text)["library"])


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.parent.name)
def test_files_are_those_recorded(folder: Path) -> None:
    """Every file has the recorded SHA-256, none is missing and none is there unrecorded."""
    recorded = {
        f"{one['folder']}/{name}": digest
        for one in _libraries(folder)
        for name, digest in one["sha256"].items()
    }
    found = {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.rglob("*")
        if path.is_file() and path.name != "VENDORED.toml"
    }
    assert found == recorded


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.parent.name)
def test_licences_are_open_and_beside_the_files(folder: Path) -> None:
    """Each library has an open licence, whose text stands in its folder."""
    for one in _libraries(folder):
        assert one["licence"] in OPEN
        assert one["folder"] == f"{one['name']}-{one['version']}"
        assert any(name.startswith("LICENSE") for name in one["sha256"])
