"""The files of one job: each read once, whole, as bytes; their hash; bytes to text."""

from __future__ import annotations

import hashlib
from pathlib import Path

from stillwet.errors import Problem, StillwetError

_MOST_BYTES = 200_000_000
_UTF16_MARKS = (b"\xff\xfe", b"\xfe\xff")
# Control characters that no text file holds: their presence means a binary file.
_CONTROL = frozenset(range(32)) - {0x09, 0x0A, 0x0C, 0x0D, 0x1A}


class Files:
    """Reads files beside the job file, and remembers their names and bytes' hash in order."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._hash = hashlib.sha256()
        self._names: list[str] = []

    @property
    def input_hash(self) -> str:
        """SHA-256 over the bytes of all files read so far, in the order read."""
        return self._hash.hexdigest()

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the files read so far, in order."""
        return tuple(self._names)

    def read(self, name: str, *, key: str) -> bytes:
        """The bytes of a file named in the job; raises StillwetError when it cannot be read."""
        content = read_bytes(self._folder / name, name=name, key=key)
        self._hash.update(content)
        self._names.append(name)
        return content


def read_bytes(path: Path, *, name: str, key: str) -> bytes:
    """A file's bytes; ``key`` is the job-file key that named it, ``name`` what the user wrote."""
    try:
        if path.is_dir():
            raise StillwetError(Problem(key, "a file", "a folder", name))
        if path.stat().st_size > _MOST_BYTES:
            raise StillwetError(
                Problem(key, f"at most {_MOST_BYTES // 1_000_000} MB", "a larger file", name)
            )
        content = path.read_bytes()
    except FileNotFoundError:
        hint = "give the path from the folder of the job file"
        raise StillwetError(Problem(key, "a file", "no such file", name, hint)) from None
    except (OSError, ValueError) as error:  # ValueError: a path with a zero byte
        reason = getattr(error, "strerror", None) or str(error)
        raise StillwetError(Problem(key, "a file that can be read", reason, name)) from None
    if not content[:4096].strip() and not content.strip():
        raise StillwetError(Problem(key, "a file with something in it", "an empty file", name))
    return content


def decode_text(content: bytes, *, name: str, key: str) -> str:
    """Text from UTF-8 (with or without a mark), marked UTF-16 or Windows-1252 bytes."""
    wanted = "UTF-8, UTF-16 or Windows-1252 text"
    if content.startswith(_UTF16_MARKS):
        return _utf16(content, wanted, name, key)
    if _CONTROL.intersection(content[:4096]) or b"\x00" in content:
        raise StillwetError(Problem(key, wanted, "a binary file", name))
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            return content.decode(encoding)
        except UnicodeDecodeError as error:
            bad = content[error.start]
    raise StillwetError(
        Problem(key, wanted, f"byte 0x{bad:02x}, which is neither", name, "save it again as UTF-8")
    )


def _utf16(content: bytes, wanted: str, name: str, key: str) -> str:
    """What spreadsheets call Unicode text; its mark tells the order of bytes."""
    try:
        text = content.decode("utf-16")
    except UnicodeDecodeError:
        hint = "save it again as UTF-8"
        raise StillwetError(Problem(key, wanted, "broken UTF-16", name, hint)) from None
    if _CONTROL.intersection(map(ord, text[:4096])) or "\x00" in text:
        raise StillwetError(Problem(key, wanted, "a binary file", name))
    return text
