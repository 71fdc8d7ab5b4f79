"""The pictures of README and recipes that come from sheets: docs/img. make pictures.

The demo's plan and packet are made, and pages of them drawn. Needs poppler's tools for PDF.
"""

from __future__ import annotations

import io
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).parent.parent
IMAGES = ROOT / "docs" / "img"
WORK = ROOT / "out" / "pictures"
# What each picture is called, and words that its page alone begins with.
PACKET = {
    "packet_cover": "Quillback Creek",
    "packet_card": "Blue house house",
    "packet_pocket": "Pocket table",
    "packet_clean": "Clean-up",
}
FINE, SMALL = 90, 60  # dots an inch
GREYS = 16  # paper is printed grey: more are not seen
_TOP = 5  # lines of a page among which its title stands


def run(*command: str | Path) -> str:
    """What a command prints; raises when it fails."""
    told = [str(word) for word in command]
    return subprocess.run(told, check=True, capture_output=True, text=True).stdout


def page_that_begins(pages: Sequence[str], words: str) -> int:
    """The number, from 1, of the first page with these words among its first lines."""
    for number, text in enumerate(pages, start=1):
        if any(words in line for line in text.strip().splitlines()[:_TOP]):
            return number
    raise LookupError(f"no page begins with {words!r}")


def draw(pdf: Path, page: int, name: str, *, fineness: int, greys: int | None = None) -> None:
    """One page of a PDF as docs/img/NAME.png."""
    there = IMAGES / name
    only = ("-f", str(page), "-l", str(page), "-png", "-singlefile")
    run("pdftoppm", "-r", str(fineness), *only, pdf, there)
    path = there.with_suffix(".png")
    if greys is not None:
        picture = Image.open(io.BytesIO(path.read_bytes())).convert("L").quantize(greys)
        picture.save(path, "PNG", optimize=True)


def main() -> int:
    """Make the demo and its packet, and draw their pages."""
    stillwet = Path(sys.executable).parent / "stillwet"
    job = WORK / "job" / "job.toml"
    run(stillwet, "demo", "--out", WORK, "--quiet")
    draw(WORK / "plan.pdf", 1, "plan_page_1", fineness=FINE)
    run(stillwet, "demand", job, "--out", IMAGES / "drying_demand.png", "--quiet")
    packet = WORK / "packet.pdf"
    now = ("--now", "2030-08-14T06:00-06:00")
    run(stillwet, "packet", job, "--out", packet, "--quiet", *now)
    pages = run("pdftotext", "-layout", packet, "-").split("\f")
    for name, words in PACKET.items():
        draw(packet, page_that_begins(pages, words), name, fineness=SMALL, greys=GREYS)
    return 0


if __name__ == "__main__":
    sys.exit(main())
