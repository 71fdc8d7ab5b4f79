"""Stillwet: how thick, how mixed and until when a gel coat holds against the coming fire.

What a program or a notebook needs stands here and is loaded when it is first asked for, so that
``import stillwet`` costs nothing; see ``stillwet.library``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from stillwet.errors import StillwetError
from stillwet.version import VERSION

if TYPE_CHECKING:
    from stillwet.library import (
        demo_job,
        drying_demand,
        explain,
        make_lines,
        make_plan,
        mix_window,
        read_job,
        suits,
        to_dataset,
        to_frame,
        to_html,
        to_text,
        with_weather,
    )

__version__ = VERSION

__all__ = [
    "StillwetError",
    "demo_job",
    "drying_demand",
    "explain",
    "make_lines",
    "make_plan",
    "mix_window",
    "read_job",
    "suits",
    "to_dataset",
    "to_frame",
    "to_html",
    "to_text",
    "with_weather",
]


def __getattr__(name: str) -> object:
    """A public name, from the library, which is loaded now; a notebook learns to show records."""
    if name not in __all__:
        raise AttributeError(f"module 'stillwet' has no attribute {name!r}")
    from stillwet import library

    library.teach_notebook()
    return getattr(library, name)


def __dir__() -> list[str]:
    """The public names."""
    return sorted([*__all__, "__version__"])
