"""The JSON Schema (2020-12) of what ``codec.to_plain`` writes, from the types of the fields."""

from __future__ import annotations

import dataclasses
import types
from collections.abc import Mapping
from enum import Enum
from typing import Any, Union, get_args, get_origin, get_type_hints

_SIMPLE: dict[Any, str] = {
    bool: "boolean",
    int: "integer",
    float: "number",
    str: "string",
    types.NoneType: "null",
}


def schema_of(kind: Any) -> dict[str, Any]:
    """The schema of a field's or record's type. Numbers that are not finite are not told of."""
    if kind is Any:
        return {}
    if kind in _SIMPLE:
        return {"type": _SIMPLE[kind]}
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        return {"anyOf": [schema_of(one) for one in inner]}
    if origin is tuple:
        return _tuple(inner)
    if origin is frozenset:
        return {"type": "array", "items": schema_of(inner[0])}
    if origin is not None and issubclass(origin, Mapping):
        return {"type": "object", "additionalProperties": schema_of(inner[1])}
    if isinstance(kind, type) and issubclass(kind, Enum):
        return {"enum": [word.value for word in kind]}
    if dataclasses.is_dataclass(kind):
        return _record(kind)
    raise TypeError(f"no schema of {kind}")


def _tuple(inner: tuple[Any, ...]) -> dict[str, Any]:
    if inner[-1] is Ellipsis:
        return {"type": "array", "items": schema_of(inner[0])}
    parts = [schema_of(one) for one in inner]
    return {
        "type": "array",
        "prefixItems": parts,
        "minItems": len(parts),
        "maxItems": len(parts),
    }


def _record(kind: Any) -> dict[str, Any]:
    hints = get_type_hints(kind)
    names = [item.name for item in dataclasses.fields(kind)]
    return {
        "type": "object",
        "properties": {name: schema_of(hints[name]) for name in names},
        "required": names,
        "additionalProperties": False,
    }
