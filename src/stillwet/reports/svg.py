"""Small pieces of SVG: escaped text, shapes, hatches, a whole document."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from xml.sax.saxutils import escape, quoteattr

from stillwet.reports.words import clean

FONT = "DejaVu Sans Condensed, DejaVu Sans, sans-serif"
# Mean advance of the bundled condensed face over English text, in em; wide scripts count double.
_EM, _WIDE_EM = 0.51, 1.0

Point = tuple[float, float]
Attribute = str | float


def element(tag: str, content: str = "", /, **attributes: Attribute) -> str:
    """One element; ``content`` is SVG already, attribute names take "_" for "-"."""
    shown = "".join(
        f" {name.rstrip('_').replace('_', '-')}={quoteattr(_attribute(value))}"
        for name, value in attributes.items()
    )
    return f"<{tag}{shown}>{content}</{tag}>" if content else f"<{tag}{shown}/>"


def _attribute(value: Attribute) -> str:
    if isinstance(value, str):
        return value
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def words(
    x: float, y: float, text: str, size: float = 9.0, *, halo: bool = False, **more: Attribute
) -> str:
    """A user's or our own text, escaped; ``halo`` puts a white rim round it, to stay legible."""
    rim: dict[str, Attribute] = {}
    if halo:
        rim = {"stroke": "white", "stroke_width": 3.0, "paint_order": "stroke"}
        rim["stroke_linejoin"] = "round"
    return element("text", escape(clean(text)), x=x, y=y, font_size=size, **(rim | more))


def line(start: Point, end: Point, **more: Attribute) -> str:
    """A straight stroke, black and 1 wide unless told otherwise."""
    ends = {"x1": start[0], "y1": start[1], "x2": end[0], "y2": end[1]}
    return element("line", **({"stroke": "black"} | ends | more))


def box(x: float, y: float, width: float, height: float, **more: Attribute) -> str:
    """A rectangle; nothing is drawn for a width below zero."""
    return element("rect", x=x, y=y, width=max(0.0, width), height=height, **more)


def path(points: Sequence[Point], **more: Attribute) -> str:
    """A line through the points."""
    return element("path", d=_steps(points), fill="none", **more)


def shape(points: Sequence[Point], **more: Attribute) -> str:
    """A filled shape with these corners."""
    return element("path", d=_steps(points) + " Z", **more)


def _steps(points: Sequence[Point]) -> str:
    return "M" + " L".join(f"{_attribute(x)} {_attribute(y)}" for x, y in points)


def hatch(name: str, *, gap: float = 5.0, width: float = 1.2, angle: float = 45.0) -> str:
    """A pattern of parallel strokes, used as ``fill="url(#name)"``."""
    stroke = line((0, 0), (0, gap), stroke_width=width * 2)
    return element(
        "pattern",
        element("rect", width=gap, height=gap, fill="white") + stroke,
        id=name,
        width=gap,
        height=gap,
        patternUnits="userSpaceOnUse",
        patternTransform=f"rotate({angle})",
    )


def document(
    width: float, height: float, parts: Iterable[str], *, title: str, defs: str = ""
) -> str:
    """A whole SVG file on white, with its title for a screen reader."""
    body = [element("title", escape(clean(title)) or " ")]
    if defs:
        body.append(element("defs", defs))
    body += [element("rect", width=width, height=height, fill="white"), *parts]
    return element(
        "svg",
        "\n".join(body),
        xmlns="http://www.w3.org/2000/svg",
        width=width,
        height=height,
        viewBox=f"0 0 {_attribute(width)} {_attribute(height)}",
        font_family=FONT,
        role="img",
    )


def text_width(text: str, size: float) -> float:
    """About how wide the text is, for keeping labels apart and inside the picture."""
    ems = sum(_EM if character.isascii() else _WIDE_EM for character in clean(text))
    return ems * size
