"""The attack list: what a page from elsewhere, a bad client or a stranger may try, and gets."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from own_loop import run_alone
from stillwet.services.sharing import last_audit
from stillwet.web import guard
from stillwet.web.app import all_doors, make_app
from stillwet.web.door import Role
from stillwet.web.house import Place
from stillwet.web.sessions import COOKIE
from stillwet.web.tries import MOST_ADDRESSES, MOST_TRIES, Tries
from stillwet.web.trouble import RefusedError
from web_fixture import HOST, ORIGIN, coat_entry, make_house, make_test_client

PHONE = "192.0.2.7"  # an address kept for documentation (RFC 5737)
SHAPE = {"field", "wanted", "got", "place", "hint"}


@pytest.fixture
def stranger(job_path: Path) -> Iterator[TestClient]:
    """A phone on the network that has not joined."""
    with make_test_client(job_path, client=PHONE) as made:
        yield made


def _code(lead: TestClient, role: str) -> tuple[str, int]:
    made = lead.post("/api/people", json={"name": "Ash", "role": role}).json()
    return str(made["code"]), int(made["id"])


def _joined(path: Path, lead: TestClient, role: str) -> tuple[TestClient, int]:
    code, number = _code(lead, role)
    phone = make_test_client(path, client=PHONE)
    assert phone.post("/api/join", json={"code": code}).status_code == 200
    return phone, number


@pytest.mark.parametrize(
    "host",
    ["evil.example", "evil.example:8642", "127.0.0.1:8643", "127.0.0.1", "127.0.0.1.evil.example"],
)
def test_another_host_is_refused(client: TestClient, host: str) -> None:
    """DNS rebinding: another name, port or suffix in Host gets nothing, reads included."""
    answer = client.get("/api/job", headers={"host": host})
    assert answer.status_code == 421
    assert "Invented job" not in answer.text
    assert set(answer.json()["problems"][0]) == SHAPE


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"origin": f"https://{HOST}"},  # another scheme is another origin (RFC 6454)
        {"origin": f"{ORIGIN}.evil.example"},
        {"origin": ORIGIN, "sec-fetch-site": "cross-site"},
        {"origin": ORIGIN, "sec-fetch-site": "same-site"},
    ],
)
def test_a_write_from_elsewhere_is_refused(client: TestClient, headers: dict[str, str]) -> None:
    """Request forgery: a page from elsewhere cannot log anything, and nothing is kept."""
    answer = client.post("/api/log", json={"entries": [coat_entry()]}, headers=headers)
    assert answer.status_code == 403
    assert client.get("/api/log").json()["entries"] == []


def test_a_person_at_the_wrong_address_is_told_on_a_page(client: TestClient) -> None:
    """A browser that opens a page by another name reads words, not JSON, and nothing of the job."""
    page = {"host": "laptop.example:8642", "accept": "text/html,*/*;q=0.8"}
    answer = client.get("/board", headers=page)
    assert answer.status_code == 421
    assert answer.headers["content-type"].startswith("text/html")
    assert answer.headers["content-security-policy"] == guard.CONTENT_POLICY
    assert "wanted the address this app was opened at" in answer.text
    assert "Invented job" not in answer.text
    assert 'href="/"' not in answer.text  # it would lead to the same wrong place
    assert client.get("/api/board", headers=page).headers["content-type"] == "application/json"


def test_a_write_without_origin_is_refused(job_path: Path) -> None:
    """A form or a program that does not say where it comes from is refused."""
    app = make_app(make_house(job_path))
    with TestClient(app, ORIGIN, client=("127.0.0.1", 50000)) as bare:
        assert bare.post("/api/log", json={"entries": []}).status_code == 403


def test_a_form_post_is_no_json(client: TestClient) -> None:
    """Forms of other sites can only send form types and text: none is taken for JSON."""
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data"):
        answer = client.post("/api/log", content='{"entries":[]}', headers={"content-type": kind})
        assert answer.status_code == 415


def test_reads_by_scripts_of_other_sites_are_refused(client: TestClient) -> None:
    """A link may lead here; a script or picture of another site may not fetch."""
    other = {"sec-fetch-site": "cross-site"}
    assert client.get("/api/job", headers=other | {"sec-fetch-mode": "no-cors"}).status_code == 403
    assert client.get("/board", headers=other | {"sec-fetch-mode": "navigate"}).status_code == 200


@pytest.mark.parametrize(
    "path",
    [
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2fapp.py",
        "/static/%2e%2e%2f%2e%2e%2fetc/passwd",
        "/static/..\\app.py",
        "/static/..%5capp.py",
        "/static//etc/passwd",
        "/static/css/%00base.css",
        "/static/.hidden",
    ],
)
def test_no_path_leads_out_of_the_static_files(client: TestClient, path: str) -> None:
    """Path traversal, plain and escaped: never a file from outside, never a 200."""
    answer = _raw(client, path)
    assert answer["status"] in (400, 404)
    assert b"import" not in answer["body"]
    assert b"root:" not in answer["body"]


def _raw(client: TestClient, path: str) -> dict[str, Any]:
    """One GET with the path as it is, which no client library has tidied."""
    found: dict[str, Any] = {"body": b""}
    scope = {
        "type": "http",
        "http_version": "1.1",
        "method": "GET",
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": b"",
        "root_path": "",
        "headers": [(b"host", HOST.encode())],
        "client": ("127.0.0.1", 50000),
        "server": ("127.0.0.1", 8642),
    }

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": b"", "more_body": False}

    async def send(message: Any) -> None:
        found["status"] = message.get("status", found.get("status"))
        found["body"] += message.get("body", b"")

    run_alone(client.app(scope, receive, send))  # type: ignore[arg-type]
    return found


def test_markup_in_names_and_notes_stays_text(client: TestClient) -> None:
    """Script in a writer's name, a note and a person's name comes back as text in JSON only."""
    nasty = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"
    client.post("/api/log", json={"entries": [coat_entry(by=nasty[:80], note=nasty)]})
    client.post("/api/people", json={"name": nasty[:60], "role": "log"})
    for door in all_doors():
        if not door.says:
            assert "<script>alert" not in client.get(door.path).text
    told = client.get("/api/log")
    assert told.json()["entries"][0]["note"] == nasty
    assert told.headers["content-type"] == "application/json"
    assert told.headers["x-content-type-options"] == "nosniff"


def test_sql_in_ids_is_text(client: TestClient) -> None:
    """Quotes and statements in names, codes and faces do nothing to the tables."""
    drop = "x'; DROP TABLE log; --"
    sent = [coat_entry(by=drop, device=drop, faces=drop), coat_entry(id=drop)]
    kept, refused = client.post("/api/log", json={"entries": sent}).json()["entries"]
    assert (kept["became"], refused["became"]) == ("kept", "refused")
    assert client.post("/api/join", json={"code": drop}).status_code == 400
    assert client.get("/api/log").json()["entries"][0]["writer"] == drop


def test_an_oversized_body_is_refused(client: TestClient) -> None:
    """Told to be too large, or coming in pieces without saying: 413, and nothing is kept."""
    big = b'{"entries":["' + b"x" * 1_100_000 + b'"]}'
    kind = {"content-type": "application/json"}
    assert client.post("/api/log", content=big, headers=kind).status_code == 413

    def pieces() -> Iterator[bytes]:
        yield from (big[at : at + 65536] for at in range(0, len(big), 65536))

    assert client.post("/api/log", content=pieces(), headers=kind).status_code == 413


def test_a_slow_body_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """A body that never comes to its end is refused with 408 when its time is over."""
    monkeypatch.setattr(guard, "BODY_LIMIT_S", 0.01)

    async def never() -> Any:
        await asyncio.Event().wait()

    async def read() -> None:
        await guard.bounded(never, {}, 1000)()

    with pytest.raises(RefusedError, match="all of it within") as refusal:
        run_alone(read())
    assert refusal.value.status == 408


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b'{"entries":NaN}', b"\xff", b"[" * 99999])
def test_bad_json_is_told(client: TestClient, body: bytes) -> None:
    """What is no JSON object is bad input, not a fault of the server."""
    answer = client.post("/api/log", content=body, headers={"content-type": "application/json"})
    assert answer.status_code == 400
    assert set(answer.json()["problems"][0]) == SHAPE


def test_every_answer_carries_the_policy(client: TestClient) -> None:
    """Pages, API, files, refusals: only our own scripts and styles, no framing, no sniffing."""
    for path in ("/", "/api/job", "/static/js/base.js", "/nothing"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "script-src 'self';" in policy
        assert "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
    assert client.get("/api/job").headers["cache-control"] == "no-store"
    assert "access-control-allow-origin" not in client.get("/api/job").headers


def test_other_methods_are_refused(client: TestClient) -> None:
    """TRACE, PUT and the like are nothing here."""
    for method in ("TRACE", "PUT", "PATCH", "OPTIONS", "CONNECT"):
        assert client.request(method, "/api/job").status_code == 405


def test_a_stranger_sees_nothing_but_where_to_join(stranger: TestClient) -> None:
    """Without a session: every page leads to /join, every resource is refused, nothing leaks."""
    for door in all_doors():
        answer = stranger.request(door.method, door.path)
        assert "Invented job" not in answer.text
        if door.role is Role.NOBODY:
            continue
        assert answer.status_code == (401 if door.says else 303), door.path
    assert "Join code" in stranger.get("/join").text


def test_headers_of_forwarders_make_nobody_local(stranger: TestClient) -> None:
    """X-Forwarded-For and its kin are not believed."""
    for name in ("x-forwarded-for", "forwarded", "x-real-ip"):
        assert stranger.get("/api/job", headers={name: "127.0.0.1"}).status_code == 401


@pytest.mark.parametrize(("role", "may_log"), [("look", False), ("log", True), ("plan", True)])
def test_a_role_may_what_it_says_and_no_more(
    job_path: Path, client: TestClient, role: str, may_log: bool
) -> None:
    """Lookers look, loggers log, and nobody but the lead lets people in or sees them."""
    phone, _ = _joined(job_path, client, role)
    assert phone.get("/api/board").status_code == 200
    sent = phone.post("/api/log", json={"entries": [coat_entry()]})
    assert sent.status_code == (200 if may_log else 403)
    assert phone.get("/api/people").status_code == 403
    assert phone.post("/api/people", json={"name": "B", "role": "lead"}).status_code == 403


def test_the_cookie_cannot_be_read_or_sent_by_others(job_path: Path, client: TestClient) -> None:
    """HttpOnly, SameSite=Strict, the whole site, and the job file keeps only its hash."""
    code, _ = _code(client, "log")
    with make_test_client(job_path, client=PHONE) as phone:
        cookie = phone.post("/api/join", json={"code": code}).headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=strict" in cookie
    token = re.search(rf"{COOKIE}=([^;]+)", cookie)
    assert token is not None
    assert token[1].encode() not in job_path.read_bytes()


def test_the_cookie_goes_over_https_alone_where_there_is_https(job_path: Path) -> None:
    """Served over HTTPS the session is never sent in the clear; it ends when leaving."""
    house = make_house(job_path)
    house.place = Place(house.place.hosts, secure_hosts=house.place.hosts)
    origin = f"https://{HOST}"
    app = make_app(house)
    lead, phone = (
        TestClient(app, origin, client=(one, 50000), headers={"origin": origin})
        for one in ("127.0.0.1", PHONE)
    )
    code, _ = _code(lead, "log")
    cookie = phone.post("/api/join", json={"code": code}).headers["set-cookie"]
    assert "; Secure" in cookie
    assert "Domain" not in cookie
    gone = phone.post("/api/leave").headers["set-cookie"]
    assert "Max-Age=0" in gone
    assert "HttpOnly" in gone


@pytest.mark.parametrize("name", ["next", "url", "to", "return", "redirect", "continue"])
def test_joining_leads_nowhere_else(stranger: TestClient, name: str) -> None:
    """Open redirect: whatever the query says, a stranger is led to /join, and /join stays here."""
    for place in (
        "https://evil.example/",
        "//evil.example",
        "/\\evil.example",
        "javascript:alert(1)",
    ):
        led = stranger.get("/board", params={name: place})
        assert (led.status_code, led.headers["location"]) == (303, "/join")
        page = stranger.get("/join", params={name: place})
        assert page.status_code == 200
        assert "evil.example" not in page.text
        assert "javascript:" not in page.text


def test_a_scanned_crew_is_kept_in_mind_for_after_joining(stranger: TestClient) -> None:
    """From a crew's page a stranger is led to /join, which is told the crew's id and no address."""
    for crew_id, kept in (("c1", "c1"), ("a%20b", "a+b"), ("x%3Fy%26z", "x%3Fy%26z")):
        led = stranger.get(f"/crew/{crew_id}")
        assert (led.status_code, led.headers["location"]) == (303, f"/join?crew={kept}")
    assert stranger.get("/crew").headers["location"] == "/join"
    assert stranger.get("/join?crew=c1").status_code == 200


def test_a_made_up_or_ended_session_is_none(job_path: Path, client: TestClient) -> None:
    """A guessed token lets nobody in; after leaving, a stolen cookie is worth nothing."""
    phone, _ = _joined(job_path, client, "log")
    stolen = str(phone.cookies[COOKIE])
    assert phone.post("/api/leave").status_code == 200
    for token in (stolen, "x" * 43, "x" * 4000, "'; --"):
        thief = make_test_client(job_path, client=PHONE)
        assert thief.get("/api/job", headers={"cookie": f"{COOKIE}={token}"}).status_code == 401


def test_whoever_is_let_out_is_out_at_once(job_path: Path, client: TestClient) -> None:
    """Revoked: the running session ends at the next request, and the code joins no more."""
    code, number = _code(client, "log")
    phone = make_test_client(job_path, client=PHONE)
    assert phone.post("/api/join", json={"code": code}).status_code == 200
    assert client.request("DELETE", "/api/people", json={"id": number}).json() == {"let_out": True}
    assert phone.get("/api/job").status_code == 401
    assert phone.post("/api/join", json={"code": code}).status_code == 400


def test_guessing_codes_is_slowed_down(stranger: TestClient, client: TestClient) -> None:
    """Brute force: after a few tries the address has to wait, even with the right code."""
    for _ in range(MOST_TRIES):
        assert stranger.post("/api/join", json={"code": "AAAA-BBBB"}).status_code == 400
    code, _ = _code(client, "log")
    assert stranger.post("/api/join", json={"code": code}).status_code == 429


def test_addresses_that_tried_are_forgotten_and_none_tries_more_for_it() -> None:
    """However many addresses come by: few are remembered, those of the last minute among them."""
    now = [0.0]
    tries = Tries(lambda: now[0])
    for number in range(MOST_ADDRESSES + 50):
        now[0] += 2.0
        tries.count(f"192.0.2.{number}")
    last = f"192.0.2.{MOST_ADDRESSES + 49}"
    for _ in range(MOST_TRIES - 1):
        tries.count(last)
    with pytest.raises(RefusedError, match="at most 5 tries a minute"):
        tries.count(last)
    assert len(tries._by_address) <= MOST_ADDRESSES


def test_each_write_leaves_a_line(job_path: Path, client: TestClient) -> None:
    """The audit says who did what from which address; reads leave none."""
    phone, _ = _joined(job_path, client, "log")
    phone.post("/api/log", json={"entries": [coat_entry()]})
    phone.get("/api/log")
    lines = [line for _, line in reversed(last_audit(job_path, 10))]
    assert [(one.who, one.what) for one in lines] == [
        ("this machine", "POST /api/people"),
        ("Ash", "joined"),
        ("Ash", "POST /api/log"),
    ]
    assert lines[-1].address == PHONE
