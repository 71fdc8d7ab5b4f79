"""Pieces that JSON Schemas of answers are put together from. An answer has no field untold."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from stillwet.web.door import Schema

TEXT: Schema = {"type": "string"}
NUMBER: Schema = {"type": "number"}
COUNT: Schema = {"type": "integer", "minimum": 0}
FLAG: Schema = {"type": "boolean"}
MOMENT: Schema = {"type": "string", "format": "date-time"}
SHARE: Schema = {"type": "number", "minimum": 0, "maximum": 1}


def record(**parts: Schema) -> dict[str, Any]:
    """An object with exactly these fields."""
    return {
        "type": "object",
        "properties": parts,
        "required": list(parts),
        "additionalProperties": False,
    }


def some(**parts: Schema) -> dict[str, Any]:
    """An object with some of these fields and no other."""
    return record(**parts) | {"required": []}


def keyed(part: Schema) -> dict[str, Any]:
    """An object whose fields have names of their own and are all like this."""
    return {"type": "object", "additionalProperties": part}


def either(*parts: Schema) -> dict[str, Any]:
    """One of these."""
    return {"anyOf": list(parts)}


def listed(part: Schema) -> dict[str, Any]:
    """A list of any length."""
    return {"type": "array", "items": part}


def fixed(*parts: Schema) -> dict[str, Any]:
    """A list of as many as are given, each like one of them (not every reader knows orders)."""
    kinds = [part for number, part in enumerate(parts) if part not in parts[:number]]
    part = kinds[0] if len(kinds) == 1 else {"anyOf": kinds}
    return {"type": "array", "items": part, "minItems": len(parts), "maxItems": len(parts)}


def maybe(part: Schema) -> dict[str, Any]:
    """What is given, or null."""
    return {"anyOf": [part, {"type": "null"}]}


def one_of(words: Iterable[str]) -> dict[str, Any]:
    """One of these words."""
    return {"enum": [str(word) for word in words]}
