"""A job file that holds no job yet: every page and answer says so, and where one is made."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from draft_fixture import empty_draft
from store_fixture import kept_job
from web_fixture import make_test_client, yard_job

ANSWERS = (
    *(f"/api/{name}" for name in ("job", "board", "lines", "mix", "trials", "log")),
    "/api/crew/c1",
    "/api/explain?asset=a1",
    "/crew/c1",
)


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[TestClient]:
    """The app over an empty job file."""
    with make_test_client(empty_draft(tmp_path)) as made:
        yield made


@pytest.mark.parametrize("path", ["/board", "/bench", "/line", "/crew"])
def test_pages_lead_to_the_desk(empty: TestClient, path: str) -> None:
    """No page of a job that is not there: a sentence, the cautions, and the way on."""
    answer = empty.get(path)
    assert answer.status_code == 200
    assert "<h1>No job yet</h1>" in answer.text
    assert 'href="/desk">To the desk' in answer.text
    assert "Decision aid only" in answer.text


@pytest.mark.parametrize("path", ANSWERS)
def test_answers_say_so_and_no_more(empty: TestClient, tmp_path: Path, path: str) -> None:
    """Where the file lies on the server, and which command makes one, is nobody's concern here."""
    answer = empty.get(path)
    assert answer.status_code == 404
    assert "make one at the desk" in answer.text
    assert str(tmp_path) not in answer.text
    assert "stillwet" not in answer.text.replace("stillwet_", "")


def test_people_and_desk_work_without_a_job(empty: TestClient) -> None:
    """A job is made and people are let in before there is one."""
    assert empty.get("/desk").status_code == 200
    assert "No job yet" not in empty.get("/desk").text
    assert "Let somebody in" in empty.get("/people").text


def test_crews_have_their_codes_before_there_is_a_plan(tmp_path: Path) -> None:
    """A crew may log before anybody plans, so its page can be opened by its code."""
    with make_test_client(kept_job(tmp_path, yard_job())) as client:
        assert "/api/crew/c1/code.svg" in client.get("/people").text
