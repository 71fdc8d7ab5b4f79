"""A job that several people work on: its own files, edits, who may do what, and who did."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field
from enum import StrEnum

from stillwet.domain.checks import need_text


class FileKind(StrEnum):
    """What a kept source file is."""

    JOB = "job"  # the job file itself
    INPUT = "input"  # a file that it names


@dataclass(frozen=True, slots=True)
class SourceFile:
    """One of the files a job was read from, as it was. ``name`` as the job file names it."""

    name: str
    kind: FileKind
    content: bytes = field(repr=False)

    def __post_init__(self) -> None:
        need_text("name", self.name)

    @property
    def sha256(self) -> str:
        """SHA-256 of the content, in hexadecimal."""
        return hashlib.sha256(self.content).hexdigest()


@dataclass(frozen=True, slots=True)
class Draft:
    """One edit of the job. ``record`` is JSON text; what it means is between its writers."""

    edit_id: str  # made by the writer, so that sending it twice changes nothing
    made_s: float
    writer: str
    device: str
    record: str

    def __post_init__(self) -> None:
        need_text("edit_id", self.edit_id)
        need_text("writer", self.writer)


class Role(StrEnum):
    """What a person may do; each may do all that those before it may."""

    LOOK = "look"
    LOG = "log"
    PLAN = "plan"
    LEAD = "lead"  # also lets people in and out

    def may(self, wanted: Role) -> bool:
        """True when this role is enough for what is wanted."""
        order = tuple(Role)
        return order.index(self) >= order.index(wanted)


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody let in. ``handle``: the first part of their join code, which is no secret."""

    id: int
    handle: str
    name: str
    role: Role
    made_s: float
    revoked_s: float | None = None


@dataclass(frozen=True, slots=True)
class AuditLine:
    """Who did what, from which device and address."""

    when_s: float
    who: str
    device: str
    address: str
    what: str
