"""The one place that runs typst: files in memory become a PDF or a picture, nothing is fetched."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources
from typing import Any


def typeset(files: Mapping[str, bytes], made_as: str, **options: Any) -> bytes:
    """The document that starts in "main.typ", as "pdf" or "png".

    Only the fonts of the package and of typst itself are used, so every machine makes the same
    page. ``options`` go to ``typst.compile``.
    """
    import typst

    run: Any = typst.compile  # its own types leave out that it takes files in memory
    made = run(
        dict(files),
        format=made_as,
        font_paths=[str(resources.files("stillwet.reports").joinpath("fonts"))],
        ignore_system_fonts=True,
        **options,
    )
    if not isinstance(made, bytes):
        raise TypeError(f"one {made_as} wanted, several pages made")
    return made


def svg_to_png(svg: str, *, ppi: float = 192.0) -> bytes:
    """A picture as PNG, at ``ppi`` dots to 96 units of the SVG (a CSS inch)."""
    page = b'#set page(width: auto, height: auto, margin: 0pt)\n#image("figure.svg")\n'
    return typeset({"main.typ": page, "figure.svg": svg.encode()}, "png", ppi=ppi)
