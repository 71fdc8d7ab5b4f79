"""One shape for every refusal and every trouble: problems as JSON, or a page that says so."""

from __future__ import annotations

import sys
import traceback
from collections.abc import Iterable
from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from stillwet.errors import Problem, StillwetError, shown

_WORDS = {
    404: Problem("address", "a page or resource of this app", "an unknown one"),
    405: Problem("method", "one that this address takes", "another"),
}


class RefusedError(StillwetError):
    """A request that is refused with a status of its own."""

    def __init__(self, status: int, problem: Problem | Iterable[Problem]) -> None:
        super().__init__(problem)
        self.status = status


def problems_json(problems: Iterable[Problem]) -> dict[str, list[dict[str, str]]]:
    """The one error shape."""
    return {
        "problems": [
            {
                "field": one.field,
                "wanted": one.wanted,
                "got": one.got,
                "place": one.place,
                "hint": one.hint,
            }
            for one in problems
        ]
    }


def wants_page(path: str) -> bool:
    """True where a person looks: everything that is not the API or a file."""
    return not path.startswith(("/api/", "/static/", "/tiles/"))


async def on_problem(request: Request, error: Exception) -> Response:
    """Bad input: 400, or the status that it was refused with."""
    assert isinstance(error, StillwetError)
    status = error.status if isinstance(error, RefusedError) else 400
    return _answer(request, status, error.problems)


async def on_http(request: Request, error: Exception) -> Response:
    """What the router refuses: unknown addresses and methods."""
    assert isinstance(error, HTTPException)
    problem = _WORDS.get(error.status_code) or Problem("request", "a sound one", error.detail)
    if error.status_code == 405:
        problem = Problem(problem.field, problem.wanted, shown(request.method))
    answer = _answer(request, error.status_code, (problem,))
    answer.headers.update(error.headers or {})
    return answer


async def on_gone(_request: Request, _error: Exception) -> Response:
    """Whoever asked has hung up before all was sent: nothing was done, and nobody is to be told."""
    return Response(status_code=400)


async def on_fault(request: Request, error: Exception) -> Response:
    """The last door: nobody in the field meets a traceback: it goes to the server's terminal."""
    traceback.print_exception(error, file=sys.stderr)
    hint = "what you sent is still on your screen; try again, and tell whoever runs this"
    problem = Problem("server", "to answer", "unexpected trouble", "", hint)
    return _answer(request, 500, (problem,))


def _where_to_join(path: str) -> str:
    """Where a code is typed; whoever scanned a crew's code is led on to that crew afterwards."""
    crew_id = path.removeprefix("/crew/")
    return "/join" if crew_id == path else f"/join?{urlencode({'crew': crew_id})}"


def _answer(request: Request, status: int, problems: Iterable[Problem]) -> Response:
    problems = tuple(problems)
    if not wants_page(request.url.path):
        return JSONResponse(problems_json(problems), status)
    if status == 401:
        return RedirectResponse(_where_to_join(request.scope["path"]), 303)
    from stillwet.web.show import trouble_page

    return trouble_page(request, status, problems)
