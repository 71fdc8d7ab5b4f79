"""Files from elsewhere: bombs, names that lead out, and readers that never end."""

from __future__ import annotations

import base64
import io
import os
import time
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from draft_fixture import empty_draft
from own_loop import run_alone
from stillwet.errors import StillwetError
from stillwet.services.draft_planning import MOST_UPLOAD, DraftDesk
from stillwet.web.app import make_app
from stillwet.web.trouble import RefusedError
from stillwet.web.workers import Job, Worker
from web_fixture import ORIGIN, HeldClient, Inline, make_house, make_test_client

SHAPE = {"field", "wanted", "got", "place", "hint"}
MEGABYTE = 1_000_000


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[TestClient]:
    """The app over a job file that holds no job."""
    path = empty_draft(tmp_path)
    house = make_house(path, drafts=Inline(DraftDesk(path)))
    with HeldClient(
        make_app(house), ORIGIN, client=("127.0.0.1", 50000), headers={"origin": ORIGIN}
    ) as made:
        yield made


def bomb(unpacked_mb: int = 600) -> bytes:
    """A workbook of under 1 MB whose one sheet unpacks to hundreds of megabytes of blanks."""
    packed = io.BytesIO()
    with (
        zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as book,
        book.open("xl/worksheets/sheet1.xml", "w") as sheet,
    ):
        for _ in range(unpacked_mb):
            sheet.write(b" " * MEGABYTE)
    return packed.getvalue()


@pytest.fixture(scope="module")
def small_bomb() -> bytes:
    """The bomb, made once; smaller than what an upload may have."""
    made = bomb()
    assert len(made) < MEGABYTE
    return made


def _bring(client: TestClient, name: str, content: bytes) -> Any:
    data = {"into": "assets", "id": "edit-a-file", "replaces": "yes"}
    return client.post("/api/draft/files", data=data, files={"file": (name, content)})


def _refused(answer: Any, status: int = 400) -> Any:
    assert answer.status_code == status
    (problem,) = answer.json()["problems"]
    assert set(problem) == SHAPE
    return problem


def test_a_zip_bomb_is_never_unpacked(empty: TestClient, small_bomb: bytes) -> None:
    """The desk's upload: told by its table of contents, in no time, and nothing is kept."""
    begun = time.monotonic()
    assert "MB unpacked" in _refused(_bring(empty, "yard.xlsx", small_bomb))["wanted"]
    assert time.monotonic() - begun < 10.0
    assert empty.get("/api/draft").json()["row"] == 0


def test_a_zip_bomb_among_trials_is_never_unpacked(job_path: Path, small_bomb: bytes) -> None:
    """The bench's upload, read in a process of its own with its memory bounded: the same."""
    body = {"name": "t.xlsx", "content_base64": base64.b64encode(small_bomb).decode()}
    with make_test_client(job_path) as client:
        answer = client.post("/api/trials/file", json=body)
    assert "MB unpacked" in _refused(answer)["wanted"]


def test_an_oversized_upload_is_refused(empty: TestClient) -> None:
    """More than an upload may have: 413 before it is read as anything."""
    _refused(_bring(empty, "yard.csv", b"x" * (MOST_UPLOAD + MEGABYTE)), 413)


@pytest.mark.parametrize(
    "name",
    [
        "../../../etc/cron.d/yard.csv",
        "..\\..\\yard.csv",
        "/etc/passwd",
        "C:\\Windows\\yard.csv",
        "yard.csv\r\nSet-Cookie: a=b",
        "<img src=x onerror=alert(1)>.csv",
        "....//....//yard.csv",
        ".",
        "",
    ],
)
def test_names_of_uploads_lead_nowhere(empty: TestClient, tmp_path: Path, name: str) -> None:
    """Path traversal in a file's name: its last part alone counts; nothing lands beside the job."""
    before = {one for one in tmp_path.rglob("*") if "gpkg" not in one.name}
    answer = _bring(empty, name, b"id,kind,latitude,longitude\nh1,house,39.75,-105.2\n")
    assert answer.status_code in (200, 400)
    assert "set-cookie" not in answer.headers
    assert answer.headers["content-type"] == "application/json"
    for problem in answer.json().get("problems", ()):
        assert "/etc" not in problem["place"]
        assert ".." not in problem["place"]
    assert {one for one in tmp_path.rglob("*") if "gpkg" not in one.name} == before


class Reader:
    """Work of the kinds that a hostile file may cause, for a process of its own."""

    def sleep(self) -> None:
        """Never be done."""
        time.sleep(60.0)

    def fill(self) -> int:
        """Ask for more memory than there is leave for."""
        return len(bytearray(3_000_000_000))

    def process(self) -> int:
        """Which process answers."""
        return os.getpid()


def test_a_reader_that_never_ends_is_stopped() -> None:
    """Time limit: 503 in bounded time, the process is gone, and the next one answers."""
    worker = Worker(Reader)
    first = run_alone(worker.call("process", limit_s=60.0))
    with pytest.raises(RefusedError, match="an answer within") as refusal:
        run_alone(worker.call("sleep", limit_s=0.2))
    assert refusal.value.status == 503
    assert run_alone(worker.call("process", limit_s=60.0)) != first
    with pytest.raises(ProcessLookupError):
        os.kill(first, 0)
    worker.stop()


def test_a_reader_that_fills_the_memory_is_refused() -> None:
    """Memory limit: bad input, told as such, and the process goes on."""
    pytest.importorskip("resource")
    worker = Worker(Reader, most_bytes=2_000_000_000)
    with pytest.raises(StillwetError, match="work that fits in it"):
        run_alone(worker.call("fill", limit_s=60.0))
    assert run_alone(worker.call("process", limit_s=60.0))
    worker.stop()


def _fill(progress: Callable[[str, float], None]) -> int:
    progress("filling", 0.0)
    return Reader().fill()


def test_one_piece_of_work_has_its_memory_bounded_too() -> None:
    """The same for a process that does one thing."""
    pytest.importorskip("resource")
    work = Job(_fill, limit_s=60.0, most_bytes=2_000_000_000)
    with pytest.raises(StillwetError, match="work that fits in it"):
        run_alone(work.result())
