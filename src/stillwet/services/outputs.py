"""Files that appear whole or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

from stillwet.errors import Problem, StillwetError, shown

Writer = Callable[[Path], None]
_WRITABLE = "a folder that can be written to"


def write_whole(folder: Path, writers: Mapping[str, Writer]) -> tuple[Path, ...]:
    """Write every named file into the folder, or leave the folder as it was.

    Each writer gets the path to write to, in a hidden scratch folder on the same disk. Only when
    all have succeeded do the files move into place; if a move fails, the earlier ones are undone.
    """
    folder = folder.absolute()
    need_folder_place(folder)
    with _scratch_beside(folder) as scratch:
        for name, write in writers.items():
            fresh = scratch / name
            fresh.parent.mkdir(parents=True, exist_ok=True)
            write(fresh)
            _flush_to_disk(fresh)
        if folder.exists():
            _move_in(scratch, folder, tuple(writers))
        else:
            # mkdtemp folders are private; the finished one is as open as any other
            scratch.chmod(usual_mode(0o777))
            scratch.rename(folder)
    return tuple(folder / name for name in writers)


def write_one(path: Path, content: bytes) -> Path:
    """Write one file whole or not at all."""
    (written,) = write_whole(path.absolute().parent, {path.name: lambda at: _write(at, content)})
    return written


def bytes_writer(content: bytes) -> Writer:
    """A writer of ready-made bytes."""
    return lambda path: _write(path, content)


def _write(path: Path, content: bytes) -> None:
    path.write_bytes(content)


def need_folder_place(folder: Path, *, field: str = "--out") -> None:
    """Raise, so that it can be done before any work, where no folder can be or be written to.

    ``field`` is what the person who named the folder knows it by.
    """
    folder = folder.absolute()
    with _telling_of(folder, field):
        there = (place for place in (folder, *folder.parents) if place.exists())
        place = next(there, None)
    if place is None or not place.is_dir():
        got = "a drive that is not there" if place is None else "a file"
        raise StillwetError(Problem(field, "a folder", got, str(place or folder)))
    if not os.access(place, os.W_OK):
        got = "one that you may not write to"
        raise StillwetError(Problem(field, _WRITABLE, got, str(place)))


def need_file_place(path: Path, suffixes: tuple[str, ...], *, field: str = "--out") -> None:
    """Raise, before any work, unless the file's name ends as wanted and it can be written."""
    if path.suffix.lower() not in suffixes:
        wanted = f"a file ending in {' or '.join(suffixes)}"
        raise StillwetError(Problem(field, wanted, shown(path.name)))
    need_folder_place(path.parent, field=field)
    if path.is_dir():
        raise StillwetError(Problem(field, "a file", "a folder of that name", str(path)))


def need_figure_place(figure: Path) -> None:
    """Raise, before any work, unless a figure can be written there."""
    need_file_place(figure, (".svg", ".png"))


@contextmanager
def _scratch_beside(folder: Path) -> Iterator[Path]:
    made = _make_parents(folder.parent)
    try:
        scratch = _make_scratch(folder if folder.is_dir() else folder.parent)
        try:
            yield scratch
        finally:
            shutil.rmtree(scratch, ignore_errors=True)
    except BaseException:
        for parent in reversed(made):
            with suppress(OSError):
                parent.rmdir()
        raise


def _make_parents(parent: Path) -> list[Path]:
    missing = [place for place in (parent, *parent.parents) if not place.exists()]
    missing.reverse()
    for place in missing:
        with _telling_of(place.parent, "--out"):
            place.mkdir()
    return missing


def _make_scratch(home: Path) -> Path:
    with _telling_of(home, "--out"):
        return Path(tempfile.mkdtemp(prefix=".stillwet-", dir=home))


@contextmanager
def _telling_of(folder: Path, field: str) -> Iterator[None]:
    """Tell of a folder that cannot be written to as of any other bad input."""
    try:
        yield
    except OSError as error:
        got = error.strerror or str(error)
        raise StillwetError(Problem(field, _WRITABLE, got, str(folder))) from None


def _move_in(scratch: Path, folder: Path, names: tuple[str, ...]) -> None:
    kept = Path(tempfile.mkdtemp(prefix="old-", dir=scratch))
    moved: list[str] = []
    try:
        for name in names:
            target, old = folder / name, kept / name
            target.parent.mkdir(parents=True, exist_ok=True)
            if target.exists():
                old.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(target, old)  # a copy, because memory sticks know no links
            moved.append(name)
            os.replace(scratch / name, target)
    except BaseException:
        for name in moved:
            _undo(folder / name, kept / name)
        raise


def _undo(target: Path, old: Path) -> None:
    if old.exists():
        os.replace(old, target)
    elif target.is_file():
        target.unlink()


def _flush_to_disk(path: Path) -> None:
    with path.open("r+b") as handle:  # Windows flushes only what it could write
        os.fsync(handle.fileno())


def usual_mode(most: int) -> int:
    """The permissions that this person's new files (0o666) or folders (0o777) usually get."""
    current = os.umask(0)
    os.umask(current)
    return most & ~current
