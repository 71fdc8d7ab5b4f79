"""The codes on the crew sheets, read back by a decoder that shares nothing with their maker."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image

from phone_fixture import hand_crew_plan
from stillwet.errors import StillwetError
from stillwet.reports.crew_pdf import crew_pdf_bytes
from stillwet.reports.link_code import crew_link, link_code_svg, need_address

ADDRESS = "http://192.168.7.20:8642"
_DOTS = 110  # an inch: about what a phone's camera sees of a sheet held at arm's length


def _codes(pdf: bytes, folder: Path) -> set[str]:
    """Every code on the pages, rendered by poppler and read by ZXing (ISO/IEC 18004)."""
    (folder / "sheets.pdf").write_bytes(pdf)
    command = ["pdftoppm", "-r", str(_DOTS), "-gray", "-png", "sheets.pdf", "page"]
    subprocess.run(command, cwd=folder, check=True)
    pages = [Image.open(path) for path in sorted(folder.glob("page*.png"))]
    return {code.text for page in pages for code in zxingcpp.read_barcodes(page)}


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="no pdftoppm here")
def test_each_crew_sheet_opens_its_crews_page(tmp_path: Path) -> None:
    """The code on the sheet, printed and seen by a camera, is the crew's own address."""
    pdf = crew_pdf_bytes(hand_crew_plan(), units="us", paper="letter", address=ADDRESS)
    assert _codes(pdf, tmp_path) == {f"{ADDRESS}/crew/c1"}


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="no pdftoppm here")
def test_without_an_address_there_is_no_code(tmp_path: Path) -> None:
    """Nothing is printed that would lead nowhere."""
    pdf = crew_pdf_bytes(hand_crew_plan(), units="us", paper="letter")
    assert _codes(pdf, tmp_path) == set()


def test_the_code_is_a_drawing_with_its_quiet_zone() -> None:
    """Paths, no pixels; version 3 (29 modules) and four modules of white on each side."""
    svg = link_code_svg(f"{ADDRESS}/crew/c1")
    assert "<image" not in svg
    assert "<path" in svg
    box = re.search(r'viewBox="0 0 (\d+) (\d+)"', svg)
    assert box
    assert {int(side) for side in box.groups()} == {29 + 8}


def test_crews_with_odd_names_keep_to_one_path() -> None:
    """A slash or a blank in an id does not lead elsewhere (RFC 3986, 2.1)."""
    assert crew_link(f"{ADDRESS}/", "e 1/x") == f"{ADDRESS}/crew/e%201%2Fx"


@pytest.mark.parametrize(
    "text",
    [
        *("192.168.7.20:8642", "ftp://host", "http://", "http://host/path", "http://host?x=1"),
        *("http://me@host", "http://host:none", "http://[::1", f"http://{'h' * 300}", "http://ö"),
    ],
)
def test_what_is_no_address_is_refused(text: str) -> None:
    """The message names the option and shows what an address looks like."""
    with pytest.raises(StillwetError, match="--address"):
        need_address(text)


def test_an_address_as_serve_tells_it_is_taken() -> None:
    """With or without the slash at its end."""
    for given in (f"{ADDRESS}/", f" {ADDRESS} ", "https://laptop.local:8643"):
        assert need_address(given) == given.strip().rstrip("/")
