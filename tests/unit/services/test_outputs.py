"""Files appear whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path
from typing import NoReturn

import pytest

from stillwet.errors import StillwetError
from stillwet.services.outputs import (
    bytes_writer,
    need_file_place,
    need_folder_place,
    write_one,
    write_whole,
)


def _fails(path: Path) -> NoReturn:
    path.write_bytes(b"half a fi")
    raise OSError(28, "No space left on device", str(path))


def _listing(folder: Path) -> dict[str, bytes]:
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_new_folder_gets_every_file(tmp_path: Path) -> None:
    """A folder that is not there is made, parents too, with exactly the named files."""
    out = tmp_path / "a" / "b"
    files = write_whole(out, {"one": bytes_writer(b"1"), "two": bytes_writer(b"2")})
    assert files == (out / "one", out / "two")
    assert _listing(tmp_path) == {"a/b/one": b"1", "a/b/two": b"2"}


def test_new_folder_is_as_open_as_any_other(tmp_path: Path) -> None:
    """A finished folder has the permissions an ordinary mkdir gives, not those of a scratch one."""
    ordinary = tmp_path / "ordinary"
    ordinary.mkdir()
    write_whole(tmp_path / "made", {"one": bytes_writer(b"1")})
    assert (tmp_path / "made").stat().st_mode == ordinary.stat().st_mode


def test_failing_writer_leaves_no_new_folder(tmp_path: Path) -> None:
    """When the second of two files fails, neither file, folder nor made parent stays."""
    with pytest.raises(OSError, match="No space left"):
        write_whole(tmp_path / "a" / "b", {"one": bytes_writer(b"1"), "two": _fails})
    assert list(tmp_path.iterdir()) == []


def test_failing_writer_leaves_old_files_untouched(tmp_path: Path) -> None:
    """Old outputs and a stranger's file keep their bytes when a writer fails."""
    out = tmp_path / "out"
    write_whole(out, {"one": bytes_writer(b"old 1"), "two": bytes_writer(b"old 2")})
    (out / "mine.txt").write_text("mine")
    before = _listing(tmp_path)
    with pytest.raises(OSError, match="No space left"):
        write_whole(out, {"one": bytes_writer(b"new 1"), "two": _fails})
    assert _listing(tmp_path) == before


def test_failing_move_is_undone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """When moving the last file into place fails, the files moved before it are put back."""
    out = tmp_path / "out"
    write_whole(out, {"one": bytes_writer(b"old 1"), "three": bytes_writer(b"old 3")})
    before = _listing(tmp_path)
    replace = os.replace

    def refuse_three(source: Path, target: Path) -> None:
        if target == out / "three" and b"new" in source.read_bytes():
            raise PermissionError(13, "Permission denied", str(target))
        replace(source, target)

    monkeypatch.setattr("stillwet.services.outputs.os.replace", refuse_three)
    writers = {name: bytes_writer(f"new {name}".encode()) for name in ("one", "two", "three")}
    with pytest.raises(PermissionError):
        write_whole(out, writers)
    assert _listing(tmp_path) == before


def test_interrupt_leaves_nothing_behind(tmp_path: Path) -> None:
    """Ctrl-C in the middle of writing leaves no scratch folder."""

    def interrupted(path: Path) -> NoReturn:
        path.write_bytes(b"half")
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_whole(tmp_path, {"one": interrupted})
    assert list(tmp_path.iterdir()) == []


def test_second_run_replaces_the_first(tmp_path: Path) -> None:
    """Writing again into the same folder replaces the named files and keeps the others."""
    write_whole(tmp_path, {"one": bytes_writer(b"1")})
    (tmp_path / "mine.txt").write_text("mine")
    write_whole(tmp_path, {"one": bytes_writer(b"2")})
    assert _listing(tmp_path) == {"mine.txt": b"mine", "one": b"2"}


def test_file_in_the_way_of_a_folder_is_bad_input(tmp_path: Path) -> None:
    """A file where a folder must go is told as bad input, and keeps its bytes."""
    (tmp_path / "taken").write_text("mine")
    with pytest.raises(StillwetError, match=r"--out: wanted a folder, got a file"):
        write_whole(tmp_path / "taken" / "deeper", {"one": bytes_writer(b"1")})
    assert _listing(tmp_path) == {"taken": b"mine"}


def test_one_file(tmp_path: Path) -> None:
    """A single file goes where it was asked for and nowhere else."""
    write_one(tmp_path / "figures" / "a.svg", b"<svg/>")
    assert _listing(tmp_path) == {"figures/a.svg": b"<svg/>"}


def test_a_folder_of_the_files_name_is_told(tmp_path: Path) -> None:
    """A folder where a file must go is told before any work, by what it was asked for as."""
    (tmp_path / "card.pdf").mkdir()
    told = r"--card: wanted a file, got a folder of that name"
    with pytest.raises(StillwetError, match=told):
        need_file_place(tmp_path / "card.pdf", (".pdf",), field="--card")


def test_a_folder_one_may_not_write_to_is_told_before_any_work(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also one above the folder to be made. The superuser may write anywhere, so it is played."""
    monkeypatch.setattr(os, "access", lambda place, _mode: Path(place) != tmp_path)
    told = "--to: wanted a folder that can be written to, got one that you may not write to"
    with pytest.raises(StillwetError, match=told):
        need_folder_place(tmp_path / "new" / "deeper", field="--to")


def test_a_name_no_disk_can_hold_is_bad_input(tmp_path: Path) -> None:
    """A name of 300 letters, where disks hold 255: what the system says of it is passed on."""
    with pytest.raises(StillwetError, match="--out: wanted a folder that can be written to"):
        need_folder_place(tmp_path / ("x" * 300))
