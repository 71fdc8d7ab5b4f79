"""What an examination of a job file found."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Grade(StrEnum):
    """How bad a finding is."""

    FINE = "fine"
    NOTE = "note"  # worth knowing; the file may be used
    FAULT = "fault"  # something is wrong with the file, or will be soon


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that was looked at, and what to do about it, if anything."""

    topic: str
    grade: Grade
    words: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Health:
    """The whole examination of one file."""

    file: str
    findings: tuple[Finding, ...]

    @property
    def is_sound(self) -> bool:
        """True when nothing is wrong."""
        return all(finding.grade is not Grade.FAULT for finding in self.findings)
