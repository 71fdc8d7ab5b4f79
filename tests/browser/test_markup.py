"""Markup in what people type stays text on the screens."""

from __future__ import annotations

import json
import urllib.request
from typing import Any

from playwright.sync_api import expect

from browser.conftest import Screens, Served
from web_fixture import coat_entry

NASTY = "<img src=x onerror=document.title='taken'><script>document.title='taken'</script>"


def _send(served: Served, path: str, body: dict[str, Any]) -> None:
    request = urllib.request.Request(
        served.address + path,
        json.dumps(body).encode(),
        {"content-type": "application/json", "origin": served.address},
    )
    urllib.request.urlopen(request, timeout=30).close()


def test_markup_in_names_and_notes_is_shown_as_text(screens: Screens, served: Served) -> None:
    """XSS: a script for a name stands on /board and /people letter by letter, and never runs."""
    _send(served, "/api/people", {"name": NASTY[:60], "role": "log"})
    _send(served, "/api/log", {"entries": [coat_entry(by=NASTY, note=NASTY, device=NASTY)]})
    people = screens.open("/people")
    expect(people.locator("#people")).to_contain_text(NASTY[:60])
    board = screens.open("/board")
    expect(board.locator("#face-a1\\/north-wall")).to_contain_text(f"laid by {NASTY}")
    for page in (people, board):
        assert "taken" not in page.title()
        assert page.locator("main img[src=x]").count() == 0
        assert page.locator("script:not([src])").count() == 0
