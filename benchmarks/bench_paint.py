"""When a page first shows something on a slow phone, and that nothing is asked of another machine.

Run: ``python benchmarks/bench_paint.py`` (needs Debian's chromium). The demo's job is served on
loopback; the browser is slowed four times and its line held to 1.6 Mbit/s with 150 ms of delay.
Each page is opened in a fresh browser profile, so that nothing is kept from before. Prints first
paint and first contentful paint, the middle of three; fails above 1.5 s.
"""

from __future__ import annotations

import re
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

PAGES = ("/", "/board", "/crew", "/crew/e1", "/line", "/bench", "/desk")
LIMIT_S, ROUNDS = 1.5, 3
SLOWER = 4
LINE = {"offline": False, "latency": 150, "downloadThroughput": 200_000, "uploadThroughput": 93_750}
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"]
FLAGS += ["--disable-background-networking", "--disable-component-update", "--disable-sync"]
NOW = "2030-08-14T13:00-06:00"
PAINTS = "performance.getEntriesByType('paint').map(one => [one.name, one.startTime])"


def paints(browser: Browser, address: str, outside: list[str]) -> dict[str, float]:
    """First paint and first contentful paint of a page on a slow phone [s]."""
    context = browser.new_context(viewport={"width": 360, "height": 740}, is_mobile=True)
    page = context.new_page()
    page.on(
        "request",
        lambda one: outside.append(one.url) if "://127.0.0.1:" not in one.url else None,
    )
    wire = context.new_cdp_session(page)
    wire.send("Network.enable")
    wire.send("Network.emulateNetworkConditions", LINE)
    wire.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.goto(address, wait_until="load")
    page.wait_for_function(f"{PAINTS}.length >= 2")
    found = {str(name): float(start) / 1000.0 for name, start in page.evaluate(PAINTS)}
    context.close()
    return found


def measured(address: str) -> tuple[dict[str, tuple[float, float]], list[str]]:
    """The middle of three for each page, and what was asked of another machine."""
    outside: list[str] = []
    found = {}
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=FLAGS)
        for page in PAGES:
            rounds = [paints(browser, address + page, outside) for _ in range(ROUNDS)]
            found[page] = (
                statistics.median(one["first-paint"] for one in rounds),
                statistics.median(one["first-contentful-paint"] for one in rounds),
            )
        browser.close()
    return found, outside


def main() -> int:
    """Serve the demo's job, measure, print."""
    program = (sys.executable, "-m", "stillwet.cli")
    with tempfile.TemporaryDirectory() as name:
        demo, kept = Path(name) / "demo", Path(name) / "day.gpkg"
        for command in (
            ("demo", "--out", str(demo)),
            ("keep", str(demo / "job" / "job.toml"), str(kept)),
            ("plan", str(kept), "--now", NOW),
            ("crews", str(kept), "--now", NOW, "--iterations", "100"),
        ):
            subprocess.run([*program, *command], check=True, capture_output=True)
        serve = [*program, "serve", str(kept), "--port", "0", "--now", NOW]
        with subprocess.Popen(serve, stderr=subprocess.PIPE, text=True) as server:
            assert server.stderr is not None
            told = re.search(r"http://[^\s/]+", server.stderr.readline())
            assert told is not None
            found, outside = measured(told[0])
            server.terminate()
    for page, (first, content) in found.items():
        print(f"{page:10} first paint {first:5.2f} s, first content {content:5.2f} s")
    print(f"limit {LIMIT_S} s; asked of other machines: {outside or 'nothing'}")
    late = [page for page, (_first, content) in found.items() if content >= LIMIT_S]
    return int(bool(late or outside))


if __name__ == "__main__":
    sys.exit(main())
