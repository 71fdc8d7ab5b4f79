"""Who asked for what: written down for every write, and shown to the lead alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from starlette.testclient import TestClient

from stillwet.web.api.people import MOST_LINES
from stillwet.web.app import all_doors
from stillwet.web.deeds import DEEDS, deed_words
from web_fixture import coat_entry, make_test_client

PHONE = "192.0.2.7"  # an address kept for documentation (RFC 5737)


def _joined(path: Path, lead: TestClient, role: str) -> TestClient:
    made = lead.post("/api/people", json={"name": "Ash", "role": role}).json()
    phone = make_test_client(path, client=PHONE)
    assert phone.post("/api/join", json={"code": made["code"]}).status_code == 200
    return phone


def test_the_lead_reads_who_asked_for_what(job_path: Path, client: TestClient) -> None:
    """Newest first, in plain words; a page at a time, with what is older before the last row."""
    phone = _joined(job_path, client, "log")
    for _ in range(MOST_LINES):
        phone.post("/api/log", json={"entries": [coat_entry()]})
    first = client.get("/api/audit").json()
    assert len(first["lines"]) == MOST_LINES
    assert first["has_more"]
    newest = first["lines"][0]
    assert (newest["who"], newest["words"]) == ("Ash", "sent entries for the log")
    assert newest["address"] == PHONE
    last = client.get(f"/api/audit?before={first['lines'][-1]['row']}").json()
    assert not last["has_more"]
    assert [(one["who"], one["words"]) for one in last["lines"]] == [
        ("Ash", "joined"),
        ("this machine", "let somebody in"),
    ]


@pytest.mark.parametrize("role", ["look", "log", "plan"])
def test_nobody_but_the_lead_reads_the_audit(job_path: Path, client: TestClient, role: str) -> None:
    """Names, devices and addresses of others are for the lead alone; without a code, for nobody."""
    phone = _joined(job_path, client, role)
    stranger = make_test_client(job_path, client=PHONE)
    for one, status in ((phone, 403), (stranger, 401)):
        answer = one.get("/api/audit")
        assert answer.status_code == status
        assert "lines" not in answer.json()


def test_every_deed_has_words() -> None:
    """Each door that does more than tell has a line of plain words, and each line its door."""
    asked = {f"{door.method} {door.path}" for door in all_doors() if door.method != "GET"}
    assert asked == set(DEEDS)
    assert deed_words("DELETE /api/runs/ab12") == DEEDS["DELETE /api/runs/{run_id}"]
    assert deed_words("POST /api/of-another-version") == "POST /api/of-another-version"
