"""The door to the compiler: where compiled kernels are kept, so that no start compiles them again.

The compiler keeps them beside the source, or in the person's own cache folder, or where
``NUMBA_CACHE_DIR`` says. Where none of these can be written to (a package installed by somebody
else, a home that is missing or full), it would refuse to start; here a private folder among the
temporary files takes their place, and where even that cannot be had nothing is kept.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

Decorator = Callable[[Callable[..., Any]], Any]


def compiled(**options: Any) -> Decorator:
    """A decorator that compiles a function on its first call; options are those of the compiler."""

    def decorate(function: Callable[..., Any]) -> Any:
        try:
            return _kept(function, options)
        except RuntimeError:  # no folder to keep it in
            return _kept_among_temporary_files(function, options)

    return decorate


def _kept(function: Callable[..., Any], options: dict[str, Any]) -> Any:
    import numba

    return numba.njit(cache=True, **options)(function)


def _kept_among_temporary_files(function: Callable[..., Any], options: dict[str, Any]) -> Any:
    import numba

    try:
        numba.config.CACHE_DIR = str(_private_folder())
        return _kept(function, options)
    except (OSError, RuntimeError):
        return numba.njit(**options)(function)


def _private_folder() -> Path:
    """A folder that only this person can write to: what is kept there is run as it stands."""
    import tempfile

    owner = os.getuid() if hasattr(os, "getuid") else None
    folder = Path(tempfile.gettempdir()) / f"stillwet-kernels-{'own' if owner is None else owner}"
    folder.mkdir(mode=0o700, exist_ok=True)
    found = folder.lstat()
    if owner is not None and (
        found.st_uid != owner or found.st_mode & 0o022 or folder.is_symlink()
    ):
        raise PermissionError(f"{folder} belongs to somebody else")
    return folder
