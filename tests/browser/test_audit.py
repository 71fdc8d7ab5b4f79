"""Who asked for what, on the page of people."""

from __future__ import annotations

from playwright.sync_api import expect

from browser.conftest import PHONE, Screens, Served
from stillwet.domain.sharing import AuditLine
from stillwet.services.sharing import write_audit
from web_fixture import NOW_S

DEVICE = "Invented browser 1.0 (telephone; touch)"


def test_the_lead_sees_who_asked_for_what(screens: Screens, served: Served) -> None:
    """Newest first, older ones on demand, and what is asked meanwhile comes to the top."""
    lines = [
        AuditLine(NOW_S + 60 * n, f"Ash {n}", DEVICE, "192.0.2.7", "POST /api/log")
        for n in range(55)
    ]
    write_audit(served.path, *lines)
    page = screens.open("/people", size=PHONE)
    rows = page.locator("#audit li")
    expect(rows).to_have_count(50)
    expect(rows.first).to_contain_text("Ash 54: sent entries for the log")
    page.get_by_role("button", name="Show older ones").click()
    expect(rows).to_have_count(55)
    expect(rows.last).to_contain_text("Ash 0: sent entries for the log")
    expect(page.get_by_role("button", name="Show older ones")).to_be_hidden()
    page.get_by_label("Name or call sign").fill("Birch")
    page.get_by_role("button", name="Make a join code").click()
    expect(rows).to_have_count(56)
    expect(rows.first).to_contain_text("this machine: let somebody in")
