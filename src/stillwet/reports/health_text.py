"""What the doctor found, as text and as JSON."""

from __future__ import annotations

from typing import Any

from stillwet.domain.health import Finding, Grade, Health
from stillwet.reports.plan_json import json_text
from stillwet.reports.text_table import fill
from stillwet.reports.words import clean

SCHEMA = "stillwet.doctor/1"
_WORST_FIRST = (Grade.FAULT, Grade.NOTE, Grade.FINE)
_TOPIC_WIDTH = 11


def health_text(health: Health) -> str:
    """The verdict, then every finding, worst first, in at most 100 columns."""
    faults = sum(finding.grade is Grade.FAULT for finding in health.findings)
    verdict = (
        "sound" if health.is_sound else f"NOT SOUND, {faults} fault{'s' if faults > 1 else ''}"
    )
    lines = [f"{clean(health.file)}: {verdict}", ""]
    for grade in _WORST_FIRST:
        for finding in health.findings:
            if finding.grade is grade:
                lines += _lines(finding)
    return "\n".join(lines)


def _lines(finding: Finding) -> list[str]:
    mark = finding.grade.value.upper() if finding.grade is Grade.FAULT else finding.grade.value
    indent = " " * (7 + _TOPIC_WIDTH)
    first = f"{mark:<6} {finding.topic:<{_TOPIC_WIDTH}}"
    words = fill(clean(finding.words), first=first, rest=indent)
    hint = fill(clean(finding.hint), first=f"{indent}-> ", rest=f"{indent}   ")
    return words + (hint if finding.hint else [])


def health_json_text(health: Health) -> str:
    """The findings as JSON text."""
    document: dict[str, Any] = {
        "schema": SCHEMA,
        "file": health.file,
        "is_sound": health.is_sound,
        "findings": [
            {
                "topic": finding.topic,
                "grade": finding.grade.value,
                "words": finding.words,
                "hint": finding.hint or None,
            }
            for finding in health.findings
        ],
    }
    return json_text(document)
