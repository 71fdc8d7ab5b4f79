"""What only a raw socket can try: dripped heads and bodies, lies about lengths, smuggled lines."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator

import pytest
import uvicorn

from stillwet.errors import StillwetError
from stillwet.web import guard, patience, serve
from stillwet.web.app import make_app
from stillwet.web.house import Place
from stillwet.web.serve import uvicorn_config
from web_fixture import kept_yard, make_house

PATIENCE_S = 20.0
LIMIT_S = 0.3  # of the server under test; it really gives 10 s for a head and 30 s for a body


@pytest.fixture(scope="module")
def port(tmp_path_factory: pytest.TempPathFactory) -> Iterator[int]:
    """A real server of the yard on a free port, less patient than a real one."""
    listening = socket.create_server(("127.0.0.1", 0))
    found = int(listening.getsockname()[1])
    house = make_house(kept_yard(tmp_path_factory.mktemp("wire")))
    house.place = Place(frozenset({f"127.0.0.1:{found}"}))
    server = uvicorn.Server(uvicorn_config(make_app(house)))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(patience, "HEAD_LIMIT_S", LIMIT_S)
        patch.setattr(guard, "BODY_LIMIT_S", LIMIT_S)
        thread.start()
        until = time.monotonic() + PATIENCE_S
        while not server.started:
            assert time.monotonic() < until, "the server did not start"
            time.sleep(0.02)
        yield found
        server.should_exit = True
        thread.join(PATIENCE_S)


def _head(port: int, *lines: str, method: str = "GET", path: str = "/api/job") -> bytes:
    told = [f"{method} {path} HTTP/1.1", f"Host: 127.0.0.1:{port}", *lines]
    return ("\r\n".join(told) + "\r\n").encode("latin-1")


def _write(port: int, *lines: str, path: str = "/api/log") -> bytes:
    origin, kind = f"Origin: http://127.0.0.1:{port}", "Content-Type: application/json"
    return _head(port, origin, kind, *lines, method="POST", path=path)


def _drip(port: int, begun: bytes, drop: bytes) -> tuple[bytes, float]:
    """Send the beginning, then a drop every 50 ms until let go; what came back, and after how long.

    Being let go is the end of the stream or a refusal to take more.
    """
    begun_s, told = time.monotonic(), b""
    with socket.create_connection(("127.0.0.1", port), PATIENCE_S) as line:
        line.sendall(begun)
        line.settimeout(0.05)
        while time.monotonic() - begun_s < PATIENCE_S:
            try:
                part = line.recv(65536)
                if not part:
                    return told, time.monotonic() - begun_s
                told += part
            except TimeoutError:
                pass
            except ConnectionError:
                return told, time.monotonic() - begun_s
            try:
                line.sendall(drop)
            except OSError:
                return told, time.monotonic() - begun_s
    raise AssertionError("it was never let go")


def _ask(port: int, sent: bytes) -> bytes:
    with socket.create_connection(("127.0.0.1", port), PATIENCE_S) as line:
        line.sendall(sent)
        line.settimeout(PATIENCE_S)
        told = b""
        try:
            while part := line.recv(65536):
                told += part
        except ConnectionError:
            pass
    return told


def test_a_head_that_drips_in_is_let_go(port: int) -> None:
    """Slow headers: one line after another for ever gets no answer and loses its connection."""
    told, after_s = _drip(port, _head(port), b"X-More: 1\r\n")
    assert told == b""
    assert after_s >= LIMIT_S


def test_a_connection_that_says_nothing_is_let_go(port: int) -> None:
    """Opened and silent: the same."""
    told, after_s = _drip(port, b"", b"")
    assert told == b""
    assert after_s >= LIMIT_S


def test_a_second_head_that_drips_in_is_let_go(port: int) -> None:
    """After one good answer on a connection the next head has no more time than the first."""
    told, after_s = _drip(port, _head(port) + b"\r\n", b"G")
    assert told.startswith(b"HTTP/1.1 200")
    assert after_s >= LIMIT_S


def test_many_dripping_heads_hold_up_nobody(port: int) -> None:
    """With a hundred of them open, somebody else is answered, and their places come free again."""
    slow = [socket.create_connection(("127.0.0.1", port), PATIENCE_S) for _ in range(100)]
    for line in slow:
        line.sendall(_head(port))
    assert _ask(port, _head(port, "Connection: close") + b"\r\n").startswith(b"HTTP/1.1 200")
    for line in slow:
        line.settimeout(PATIENCE_S)
        assert line.recv(100) == b""
        line.close()


def test_a_body_that_drips_in_is_given_up(port: int) -> None:
    """Never-ending body: 408 and an end, though a byte comes every moment."""
    told, _ = _drip(port, _write(port, "Content-Length: 100000") + b"\r\n", b"x")
    assert told.startswith(b"HTTP/1.1 408")
    told, _ = _drip(port, _write(port, "Transfer-Encoding: chunked") + b"\r\n", b"1\r\nx\r\n")
    assert told.startswith(b"HTTP/1.1 408")


def test_a_head_without_end_in_size_is_refused(port: int) -> None:
    """Oversized: a header of a megabyte is not gathered up."""
    assert b"200" not in _ask(port, _head(port, "X: " + "x" * 1_000_000) + b"\r\n")[:20]


@pytest.mark.parametrize(
    "lines",
    [
        ("Content-Length: 5", "Content-Length: 50"),
        ("Content-Length: 5", "Transfer-Encoding: chunked"),
        ("Transfer-Encoding: gzip, chunked",),
        ("Content-Length: -5",),
        ("Content-Length : 5",),
        ("X-Split: a\rSet-Cookie: stillwet_session=x",),
        ("X-Null: a\0b",),
    ],
)
def test_two_readings_of_one_request_are_refused(port: int, lines: tuple[str, ...]) -> None:
    """Header injection, request smuggling (RFC 9112, 6.3): no second request is answered."""
    inner = _head(port, "Connection: close") + b"\r\n"
    told = _ask(port, _write(port, *lines, "Connection: close") + b"\r\n" + inner)
    assert told.count(b"HTTP/1.1 200") == 0
    assert b"Invented job" not in told
    assert b"set-cookie" not in told.lower()


@pytest.mark.parametrize("path", ["/api/job", "/join", "/nothing", "/board"])
def test_no_line_of_a_query_becomes_a_header(port: int, path: str) -> None:
    """Response splitting: line ends in a query come back in no header."""
    asked = f"{path}?units=us%0d%0aSet-Cookie:%20a=b&next=%0d%0aLocation:%20http://evil.example"
    told = _ask(port, _head(port, "Connection: close", path=asked) + b"\r\n")
    head = told.partition(b"\r\n\r\n")[0].lower()
    assert b"set-cookie" not in head
    assert b"evil.example" not in head


def test_a_whole_address_in_the_request_line_leads_nowhere(port: int) -> None:
    """Another host in the request line itself is no way round the list of hosts."""
    told = _ask(
        port, _head(port, "Connection: close", path="http://evil.example/api/job") + b"\r\n"
    )
    assert not told.startswith(b"HTTP/1.1 200")


def test_the_server_is_whole_after_all_that(port: int) -> None:
    """The last word: it still answers."""
    assert _ask(port, _head(port, "Connection: close") + b"\r\n").startswith(b"HTTP/1.1 200")


def test_a_taken_port_is_refused_by_name(monkeypatch: pytest.MonkeyPatch) -> None:
    """A port that another program holds; on Windows it is asked for in a way that shares none."""
    with (
        socket.create_server(("127.0.0.1", 0)) as taken,
        pytest.raises(StillwetError, match="--port: wanted a free port"),
    ):
        serve._bound("127.0.0.1", taken.getsockname()[1])
    monkeypatch.setattr(socket, "SO_EXCLUSIVEADDRUSE", -5, raising=False)  # its number there
    assert serve._own_port_option() == -5
    monkeypatch.delattr(socket, "SO_EXCLUSIVEADDRUSE")
    assert serve._own_port_option() == socket.SO_REUSEADDR
