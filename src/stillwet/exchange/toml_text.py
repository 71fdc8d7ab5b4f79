"""Plain values as TOML text, for the job files that are written."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any


def toml_text(sections: Mapping[str, Mapping[str, Any]]) -> str:
    """Tables of texts, numbers, flags, lists and tables of them; an empty table is left out."""
    parts = [_table(name, values) for name, values in sections.items() if values]
    return "\n".join(parts)


def _table(name: str, values: Mapping[str, Any]) -> str:
    lines = [f"{key} = {_value(value)}" for key, value in values.items()]
    return "\n".join([f"[{name}]", *lines, ""])


def _value(value: object) -> str:
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, Mapping):
        inner = ", ".join(f"{_value(str(key))} = {_value(own)}" for key, own in value.items())
        return f"{{{inner}}}"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    # JSON's escapes are TOML's; only TOML wants the character DEL escaped as well.
    return json.dumps(str(value), ensure_ascii=False).replace("\x7f", "\\u007f")
