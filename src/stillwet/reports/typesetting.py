"""The one place that runs typst: files in memory become a PDF or a picture, nothing is fetched."""

from __future__ import annotations

import json
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


def set_sheets(
    template: str, model: Mapping[str, Any], pictures: Mapping[str, str], *, made_s: float
) -> bytes:
    """The PDF of the sheets that ``template`` ("plan") sets with its function ``whole``.

    The words of ``model`` go in as data, never as markup; ``pictures`` are SVG by file name. The
    same input gives the same bytes; ``made_s`` [epoch s] is the date in the file.
    """
    folder = resources.files("stillwet.reports").joinpath("sheets")
    files = {each.name: each.read_bytes() for each in folder.iterdir()}
    files["main.typ"] = f'#import "{template}.typ": whole\n#whole(json("model.json"))\n'.encode()
    files["model.json"] = json.dumps(model, ensure_ascii=False).encode("utf-8", "replace")
    files |= {name: picture.encode() for name, picture in pictures.items()}
    return typeset(files, "pdf", timestamp=int(made_s))


def svg_to_png(svg: str, *, ppi: float = 192.0) -> bytes:
    """A picture as PNG, at ``ppi`` dots to 96 units of the SVG (a CSS inch)."""
    page = b'#set page(width: auto, height: auto, margin: 0pt)\n#image("figure.svg")\n'
    return typeset({"main.typ": page, "figure.svg": svg.encode()}, "png", ppi=ppi)
