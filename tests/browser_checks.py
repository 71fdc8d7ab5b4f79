"""What every page is held to in a real browser."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from playwright.sync_api import Page

AXE = Path(__file__).parent / "browser" / "vendor" / "axe-core-4.14.1" / "axe.min.js"
_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
_SMALLEST = 24  # CSS pixels: WCAG 2.2, success criterion 2.5.8 (Target Size, Minimum)


def axe_findings(page: Page) -> list[str]:
    """What axe-core finds wrong by WCAG 2.2 A and AA and its own best practice; none is right.

    The library is put in through the browser's own debugging line, past the content policy.
    """
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found: dict[str, Any] = page.evaluate(
        "rules => axe.run(document, {runOnly: {type: 'tag', values: rules}})", _RULES
    )
    return [
        f"{one['id']}: {one['help']}: {node['html'][:160]}"
        for one in found["violations"]
        for node in one["nodes"]
    ]


def wider_than_screen(page: Page) -> int:
    """By how many pixels the page is wider than the window: 0 where nothing scrolls sideways."""
    wide: int = page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    return wide


def small_targets(page: Page, least: int = 48) -> list[str]:
    """Buttons, fields and links that stand alone and are lower than ``least`` pixels."""
    found: list[str] = page.evaluate(
        """least => [...document.querySelectorAll('button, select, input, .button, nav a, summary')]
          .filter((one) => one.getClientRects().length && !one.disabled)
          .filter((one) => one.getBoundingClientRect().height < least - 0.5)
          .map((one) => one.outerHTML.slice(0, 120))""",
        least,
    )
    return found


def lose_the_first_answer(page: Page) -> list[str]:
    """The server keeps the first entries sent to its log, and nobody hears so; what it answered."""
    lost: list[str] = []

    def lose(route: Any) -> None:
        if route.request.method == "POST" and not lost:
            lost.append(route.fetch().text())
            route.abort()
        else:
            route.continue_()

    page.context.route("**/api/log", lose)
    return lost
