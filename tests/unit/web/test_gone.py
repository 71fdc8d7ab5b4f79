"""A phone that hangs up half way through leaves no trace of a fault at the server."""

from __future__ import annotations

from typing import Any

import pytest
from starlette.testclient import TestClient

from own_loop import run_alone


def test_hanging_up_is_no_fault(client: TestClient, capsys: pytest.CaptureFixture[str]) -> None:
    """The body breaks off: nothing is kept, no traceback is written."""
    host = client.base_url.netloc.decode()
    headers = [
        (b"host", host.encode()),
        (b"content-type", b"application/json"),
        (b"content-length", b"100"),
        (b"origin", str(client.base_url).rstrip("/").encode()),
        (b"sec-fetch-site", b"same-origin"),
    ]
    scope: dict[str, Any] = {
        "type": "http",
        "asgi": {"version": "3.0"},
        "http_version": "1.1",
        "method": "POST",
        "scheme": "http",
        "path": "/api/log",
        "raw_path": b"/api/log",
        "query_string": b"",
        "headers": headers,
        "client": ("127.0.0.1", 50000),
        "server": ("127.0.0.1", 80),
    }
    pieces = [
        {"type": "http.request", "body": b'{"entries": [', "more_body": True},
        {"type": "http.disconnect"},
    ]
    sent: list[Any] = []

    async def receive() -> Any:
        return pieces.pop(0) if pieces else {"type": "http.disconnect"}

    async def send(message: Any) -> None:
        sent.append(message)

    run_alone(client.app(scope, receive, send))  # type: ignore[arg-type]  # an ASGI app
    assert sent[0]["status"] == 400
    told = capsys.readouterr()
    assert "Traceback" not in told.err + told.out
