"""/api/draft: the job that is being made: what was typed, files brought in, undo, the check."""

from __future__ import annotations

from typing import Any

from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from stillwet.errors import Problem, StillwetError, shown
from stillwet.services.draft_form import desk_form
from stillwet.services.draft_planning import MOST_UPLOAD, UPLOADS
from stillwet.services.drafting import (
    MOST_EDITS,
    MOST_ID,
    Writer,
    file_key,
    need_id,
    type_edits,
)
from stillwet.services.view import UNITS
from stillwet.web.answers_desk import BROUGHT, CHECKED, DRAFT, EDITED, FORM, UNDONE
from stillwet.web.ask import json_body
from stillwet.web.door import Ask, Door, Role
from stillwet.web.house import house_of
from stillwet.web.show import person_of, units_of
from stillwet.web.trouble import RefusedError

CHECK_LIMIT_S = 60.0
UPLOAD_LIMIT_S = 60.0
_FORM_ROOM = 100_000  # bytes of an upload's form beside the file


def writer_of(request: Request) -> Writer:
    """Who edits, as the file keeps it."""
    person = person_of(request)
    return Writer(person.name or "somebody", person.device, house_of(request).clock())


async def read(request: Request) -> Response:
    """The draft as it stands."""
    house = house_of(request)
    look = await house.ask(house.book.look, writer_of(request))
    key = await house.ask(file_key, house.path)
    return JSONResponse({"file": key, **look.to_json()})


async def form(request: Request) -> Response:
    """Steps, fields and defaults in the reader's units."""
    return JSONResponse(await house_of(request).ask(desk_form, await units_of(request)))


async def edit(request: Request) -> Response:
    """Keep what was typed; of each edit what became of it."""
    house, plain = house_of(request), await json_body(request)
    edits = plain.get("edits")
    if not isinstance(edits, list):
        raise StillwetError(Problem("edits", "a list of edits", type(edits).__name__))
    became = await house.ask(type_edits, house.path, edits, writer_of(request))
    if "kept" in became:
        house.changed("draft")
    ids = [one["id"] for one in edits]
    return JSONResponse(
        {"edits": [{"id": i, "became": b} for i, b in zip(ids, became, strict=True)]}
    )


async def undo(request: Request) -> Response:
    """Withdraw the last edit."""
    return await _undo(request, is_redo=False)


async def redo(request: Request) -> Response:
    """Bring the edit withdrawn last back."""
    return await _undo(request, is_redo=True)


async def _undo(request: Request, *, is_redo: bool) -> Response:
    house, plain = house_of(request), await json_body(request)
    edit_id = need_id(plain.get("id"))
    done = await house.ask(house.book.undo, edit_id, writer_of(request), is_redo=is_redo)
    if done:
        house.changed("draft")
    return JSONResponse({"done": done})


async def bring(request: Request) -> Response:
    """Take a file into the draft; it is read in a process of its own, in bounded time."""
    house = house_of(request)
    async with request.form(max_files=1, max_fields=8) as sent:
        file = sent.get("file")
        if not isinstance(file, UploadFile):
            raise StillwetError(Problem("file", "a file", "none"))
        into, edit_id = str(sent.get("into", "")), need_id(sent.get("id"))
        replaces = str(sent.get("replaces", "")) == "yes"
        content = await file.read(MOST_UPLOAD + 1)
    if len(content) > MOST_UPLOAD:
        wanted = f"at most {MOST_UPLOAD // 1_000_000} MB"
        raise RefusedError(413, Problem("file", wanted, "more", shown(file.filename)))
    if into not in UPLOADS:
        raise StillwetError(Problem("into", "one of " + ", ".join(UPLOADS), shown(into)))
    found: dict[str, Any] = await house.drafts.call(
        "bring",
        into,
        file.filename or "",
        content,
        edit_id,
        replaces,
        writer_of(request),
        limit_s=UPLOAD_LIMIT_S,
    )
    if found["became"] == "kept":
        house.changed("draft")
    return JSONResponse(found)


async def check(request: Request) -> Response:
    """Every problem of the draft, each with where it stands."""
    house = house_of(request)
    found = await house.drafts.call("check", house.clock(), limit_s=CHECK_LIMIT_S)
    return JSONResponse(found)


_ID = {"type": "string", "minLength": 8, "maxLength": MOST_ID, "pattern": "^[ -~]+$"}
_EDITS = {
    "type": "object",
    "properties": {
        "edits": {
            "type": "array",
            "maxItems": MOST_EDITS,
            "items": {
                "type": "object",
                "properties": {
                    "id": _ID,
                    "kind": {"enum": ["text", "row", "remove", "file"]},
                    "key": {"type": "string"},
                    "text": {"type": "string"},
                    "list": {"type": "string"},
                    "row": {"type": "string"},
                    "fields": {"type": "object", "additionalProperties": {"type": "string"}},
                    "shape": {"type": ["string", "null"]},
                    "slot": {"type": "string"},
                },
                "required": ["id", "kind"],
            },
        }
    },
    "required": ["edits"],
}
_BROUGHT_IN = {
    "type": "object",
    "properties": {
        "file": {"type": "string", "format": "binary"},
        "into": {"enum": list(UPLOADS)},
        "id": _ID,
        "replaces": {"enum": ["yes", "no"], "description": "a list: takes the place of its rows"},
    },
    "required": ["file", "into", "id"],
}
_ONE = {"type": "object", "properties": {"id": _ID}, "required": ["id"]}
_UNITS = Ask("units", {"enum": list(UNITS)}, "Units of the words; numbers are always SI")
DOORS = (
    Door("/api/draft", read, role=Role.PLAN, says="The job that is being made", gives=DRAFT),
    Door(
        "/api/draft/form",
        form,
        role=Role.PLAN,
        says="The desk's forms: fields, choices, defaults with their sources",
        asks=(_UNITS,),
        gives=FORM,
    ),
    Door(
        "/api/draft/edits",
        edit,
        method="POST",
        role=Role.PLAN,
        says="Send what was typed; each edit is kept once, however often it is sent",
        takes=_EDITS,
        gives=EDITED,
    ),
    Door(
        "/api/draft/undo",
        undo,
        method="POST",
        role=Role.PLAN,
        says="Withdraw the last edit; sent again, it withdraws no other",
        takes=_ONE,
        gives=UNDONE,
        most_bytes=10_000,
    ),
    Door(
        "/api/draft/redo",
        redo,
        method="POST",
        role=Role.PLAN,
        says="Bring the edit withdrawn last back",
        takes=_ONE,
        gives=UNDONE,
        most_bytes=10_000,
    ),
    Door(
        "/api/draft/files",
        bring,
        method="POST",
        role=Role.PLAN,
        says="Bring a file: a list, a file that is kept as it is, or a product",
        takes=_BROUGHT_IN,
        takes_media="multipart/form-data",
        gives=BROUGHT,
        most_bytes=MOST_UPLOAD + _FORM_ROOM,
    ),
    Door(
        "/api/draft/check",
        check,
        role=Role.PLAN,
        says="Every problem of the draft, each with where it stands",
        gives=CHECKED,
    ),
)
