"""Pictures of every page at desk and phone size, by day and by night: img/screens. make screens.

The demo's job is served with coats, a check and a wetted line in its log. Needs chromium.
"""

from __future__ import annotations

import io
import shutil
import sys
import time
import uuid
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT / "benchmarks"))

from served import NOW, Served, served_demo  # noqa: E402 (the path comes first)

OUT = ROOT / "docs" / "img" / "screens"
SIZES = {"wide": {"width": 1400, "height": 900}, "phone": {"width": 360, "height": 740}}
LIGHTS = {"day": "light", "night": "dark"}
# What each is called in the file's name: its address, what has to be there, what is pressed first.
PAGES = {
    "start": ("/", "main", ""),
    "desk": ("/desk", "main h2", ""),
    "protect": ("/desk#protect", ".row-head", ".row-head >> nth=1"),
    "plan": ("/desk#plan", "#make-plan", ""),
    "board": ("/board", ".face", ""),
    "crews": ("/crew", "main a", ""),
    "crew": ("/crew/e1", "main button", ""),
    "line": ("/line", "main svg", ""),
    "bench": ("/bench", "text=Put it in the form", ""),
    "people": ("/people", "#people li, #people tr", ""),
    "join": ("/join", "#code", ""),
}
SCROLLED_TO = {"plan": "text=WILL NOT HOLD"}
MOST_BYTES = 3_000_000
COLOURS = 48
SETTLE_MS = 1500  # the map and the figures are drawn


def log_the_day(served: Served) -> None:
    """Somebody let in, coats that hold and one that does not, a check, and a line half wetted."""
    served.ask("/api/people", {"name": "Engine 1", "role": "log"})
    job = served.ask("/api/job")
    houses = [asset for asset in job["assets"] if asset["kind"] == "house"]
    faces = [asset["faces"][0]["id"] for asset in houses]
    told: list[dict[str, Any]] = [
        {
            "kind": "coat",
            "faces": face,
            "crew": "e1",
            "coat": coat,
            "when": f"{10 + n // 60}:{n % 60:02d}",
        }
        for n, (face, coat) in enumerate(
            zip(faces, ("1/8 in", "1/8 in", "1/16 in", "3/32 in", "1 mm"), strict=False), start=20
        )
    ]
    told.append({"kind": "check", "face": faces[0], "feel": "tacky", "when": "10:55"})
    segments = [one["id"] for line in served.ask("/api/lines")["lines"] for one in line["segments"]]
    if segments:
        told.append({"kind": "wetted", "segment": segments[0], "up_to": "0 ft", "when": "10:15"})
        told.append({"kind": "wetted", "segment": segments[0], "when": "10:30"})
    head = {"by": "Ash", "device": "laptop"}
    entries = [{"id": str(uuid.uuid4()), **head, **one} for one in told]
    answer = served.ask("/api/log", {"entries": entries})
    assert {one["became"] for one in answer["entries"]} == {"kept"}, answer


def shot(page: Page) -> bytes:
    """The screen as a small PNG of few colours."""
    picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    packed = io.BytesIO()
    few = picture.quantize(COLOURS, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    few.save(packed, "PNG", optimize=True)
    return packed.getvalue()


def take(browser: Browser, served: Served) -> dict[str, bytes]:
    """Every page in every size and light, by file name."""
    found: dict[str, bytes] = {}
    begun, since = datetime.fromisoformat(NOW), time.monotonic()
    for size, viewport in SIZES.items():
        for light, scheme in LIGHTS.items():
            context = browser.new_context(
                viewport={"width": viewport["width"], "height": viewport["height"]},
                color_scheme="dark" if scheme == "dark" else "light",
            )
            page = context.new_page()
            for name, (path, there, pressed) in PAGES.items():
                page.goto("about:blank")  # a step of the desk is the same page
                # Else the phone's page tells of two clocks.
                context.clock.set_system_time(begun + timedelta(seconds=time.monotonic() - since))
                page.goto(served.address + path)
                page.wait_for_selector(there, state="attached", timeout=60_000)
                if pressed:
                    page.click(pressed)
                if name in SCROLLED_TO:
                    page.locator(SCROLLED_TO[name]).first.scroll_into_view_if_needed()
                page.wait_for_timeout(SETTLE_MS)
                found[f"{name}_{size}_{light}.png"] = shot(page)
            context.close()
    return found


def main() -> int:
    """Write them and say how large they are together; 1 when that is too much."""
    with served_demo() as served, sync_playwright() as playwright:
        log_the_day(served)
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium"),
            args=["--headless", "--no-sandbox", "--disable-gpu"],
        )
        pictures = take(browser, served)
        browser.close()
    OUT.mkdir(parents=True, exist_ok=True)
    for name, content in pictures.items():
        (OUT / name).write_bytes(content)
    size = sum(len(content) for content in pictures.values())
    print(f"{len(pictures)} pictures, {size / 1e6:.2f} MB")
    return int(size > MOST_BYTES)


if __name__ == "__main__":
    sys.exit(main())
