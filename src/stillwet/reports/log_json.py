"""The field log as JSON (``stillwet.log/1``)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from stillwet.domain.log import Entry
from stillwet.domain.log_merge import Standing
from stillwet.reports.plan_json import json_text, sound_text

SCHEMA = "stillwet.log/1"


def log_json_text(
    job_name: str, judged: Standing, entry_json: Callable[[Entry], dict[str, Any]]
) -> str:
    """The log as JSON text; ``entry_json`` writes one entry so that it can be read back."""
    return json_text(
        {
            "schema": SCHEMA,
            "job_name": sound_text(job_name),
            "entries": [entry_json(entry) for entry in judged.entries],
            "superseded": [entry_json(entry) for entry in judged.superseded],
            "contested": [entry_json(entry) for entry in judged.contested],
        }
    )
