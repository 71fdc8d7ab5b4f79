"""``stillwet serve``: what it says before it serves."""

from __future__ import annotations

from pathlib import Path

import pytest

from stillwet.cli.group import BAD_INPUT, run
from tiles_fixture import make_png, write_mbtiles


def test_bad_tiles_are_told_before_anything_is_served(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A file that is no map, vector tiles, a file that is not there: words, and it ends."""
    page = tmp_path / "page.mbtiles"
    page.write_text("<html>", encoding="utf-8")
    vector = write_mbtiles(tmp_path / "v.mbtiles", {(0, 0, 0): make_png((0, 0, 0))}, format="pbf")
    told = {
        "--base-map=" + str(page): "tiles file: wanted MBTiles 1.3 or PMTiles 3, got a file that",
        "--hillshade=" + str(vector): "vector tiles are not drawn here",
        "--base-map=" + str(tmp_path / "none"): "tiles file: wanted a file, got No such file",
    }
    for option, words in told.items():
        assert run(["serve", str(tmp_path / "day.gpkg"), option]) == BAD_INPUT
        assert words in capsys.readouterr().err
