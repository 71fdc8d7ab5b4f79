"""Records as plain data (what JSON can hold) and back, without loss.

The types of a record's fields say how each value is written: a tuple as a list, a frozenset as a
sorted list, an enumeration as its word, a record as an object of its fields. A number that JSON
cannot hold is {"float": "nan"}, "inf" or "-inf"; a record that may be one of several kinds names
its own as {"is": ...}. A field that is missing takes its default, and one may say what it was
called before, so that a record written before a field was added or renamed can still be read.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
import math
import types
from collections.abc import Callable, Mapping
from enum import Enum
from functools import cache
from typing import Any, TypeVar, Union, cast, get_args, get_origin, get_type_hints

Record = TypeVar("Record")
_KIND = "is"
WAS = "was"  # key of a field's metadata: what older files call it


class CodecError(ValueError):
    """Plain data that is not the record it should be; the text says where and why."""


@dataclasses.dataclass(frozen=True, slots=True)
class _Codec:
    encode: Callable[[Any], Any]
    decode: Callable[[Any], Any]


def to_plain(value: object, kind: Any) -> Any:
    """A value of this type as plain data."""
    return _codec(kind).encode(value)


def from_plain(plain: object, kind: Any) -> Any:
    """The value of this type that plain data stands for; raises CodecError when it is none.

    A record's own checks run as always and raise StillwetError.
    """
    return _codec(kind).decode(plain)


def to_text(value: object, kind: Any) -> str:
    """A value as one line of JSON: ASCII, keys in order, the same text for equal values."""
    return json.dumps(to_plain(value, kind), sort_keys=True, separators=(",", ":"), allow_nan=False)


def from_text(text: str, kind: type[Record]) -> Record:
    """The record that ``to_text`` wrote; raises CodecError."""
    try:
        plain = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise CodecError(f"not JSON: {error}") from None
    return cast(Record, from_plain(plain, kind))


def text_hash(text: str) -> str:
    """SHA-256 of a text, in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


@cache
def _codec(kind: Any) -> _Codec:
    if kind is Any:
        return _Codec(lambda value: value, lambda plain: plain)
    plain = {float: _FLOAT, int: _INT, bool: _BOOL, str: _TEXT, types.NoneType: _NONE}
    if kind in plain:
        return plain[kind]
    origin, inner = get_origin(kind), get_args(kind)
    if origin in (Union, types.UnionType):
        return _union(inner)
    if origin is tuple:
        return _series(inner[0]) if inner[-1] is Ellipsis else _row(inner)
    if origin is frozenset:
        return _set(inner[0])
    if origin is not None and issubclass(origin, Mapping):
        return _mapping(inner[1])
    if isinstance(kind, type) and issubclass(kind, Enum):
        return _enum(kind)
    if dataclasses.is_dataclass(kind):
        return _record(cast(type, kind))
    raise TypeError(f"no way to write {kind}")


def _fault(wanted: str, got: object) -> CodecError:
    return CodecError(f"wanted {wanted}, got {str(got)[:40]!r}")


def _checked(check: Callable[[Any], bool], wanted: str) -> Callable[[Any], Any]:
    def decode(plain: Any) -> Any:
        if not check(plain):
            raise _fault(wanted, plain)
        return plain

    return decode


def _encode_float(value: float) -> Any:
    number = float(value)
    return number if math.isfinite(number) else {"float": str(number)}


def _decode_float(plain: Any) -> float:
    if isinstance(plain, dict) and plain.get("float") in ("nan", "inf", "-inf"):
        return float(plain["float"])
    if isinstance(plain, bool) or not isinstance(plain, (int, float)):
        raise _fault("a number", plain)
    try:
        return float(plain)
    except OverflowError:
        raise _fault("a number of ordinary size", plain) from None


_FLOAT = _Codec(_encode_float, _decode_float)
_INT = _Codec(
    int, _checked(lambda p: isinstance(p, int) and not isinstance(p, bool), "a whole number")
)
_BOOL = _Codec(bool, _checked(lambda p: isinstance(p, bool), "true or false"))
_TEXT = _Codec(str, _checked(lambda p: isinstance(p, str), "a text"))
_NONE = _Codec(lambda _value: None, _checked(lambda p: p is None, "nothing"))


def _list_of(plain: Any) -> list[Any]:
    if not isinstance(plain, list):
        raise _fault("a list", plain)
    return plain


def _series(kind: Any) -> _Codec:
    one = _codec(kind)
    return _Codec(
        lambda value: [one.encode(part) for part in value],
        lambda plain: tuple(one.decode(part) for part in _list_of(plain)),
    )


def _row(kinds: tuple[Any, ...]) -> _Codec:
    parts = tuple(_codec(kind) for kind in kinds)

    def decode(plain: Any) -> tuple[Any, ...]:
        if len(_list_of(plain)) != len(parts):
            raise _fault(f"{len(parts)} values", plain)
        return tuple(part.decode(value) for part, value in zip(parts, plain, strict=True))

    return _Codec(
        lambda value: [part.encode(each) for part, each in zip(parts, value, strict=True)], decode
    )


def _set(kind: Any) -> _Codec:
    one = _codec(kind)
    return _Codec(
        lambda value: sorted(one.encode(part) for part in value),
        lambda plain: frozenset(one.decode(part) for part in _list_of(plain)),
    )


def _mapping(kind: Any) -> _Codec:
    one = _codec(kind)

    def decode(plain: Any) -> dict[str, Any]:
        if not isinstance(plain, dict):
            raise _fault("an object", plain)
        return {name: one.decode(part) for name, part in plain.items()}

    return _Codec(lambda value: {name: one.encode(part) for name, part in value.items()}, decode)


def _enum(kind: type[Enum]) -> _Codec:
    def decode(plain: Any) -> Enum:
        try:
            return kind(plain)
        except ValueError:
            raise _fault("one of " + ", ".join(str(word.value) for word in kind), plain) from None

    return _Codec(lambda value: value.value, decode)


def _record(kind: type) -> _Codec:
    hints = get_type_hints(kind)
    fields = {item.name: _codec(hints[item.name]) for item in dataclasses.fields(kind)}
    now = {
        str(item.metadata[WAS]): item.name
        for item in dataclasses.fields(kind)
        if WAS in item.metadata
    }

    def encode(value: Any) -> dict[str, Any]:
        return {name: codec.encode(getattr(value, name)) for name, codec in fields.items()}

    def decode(plain: Any) -> Any:
        if not isinstance(plain, dict):
            raise _fault(f"an object ({kind.__name__})", plain)
        plain = {now.get(name, name): part for name, part in plain.items()}
        unknown = [name for name in plain if name not in fields]
        if unknown:
            raise CodecError(f"{kind.__name__} has no field {unknown[0][:40]!r}")
        try:
            return kind(**{name: _at(name, fields[name], part) for name, part in plain.items()})
        except TypeError as error:  # a field without a default is missing
            raise CodecError(str(error)) from None

    return _Codec(encode, decode)


def _at(name: str, codec: _Codec, plain: Any) -> Any:
    try:
        return codec.decode(plain)
    except CodecError as error:
        raise CodecError(f"{name}: {error}") from None


def _union(kinds: tuple[Any, ...]) -> _Codec:
    records = {str(kind.__name__): kind for kind in kinds if _is_record(kind)}
    if len(records) > 1:
        return _one_of_records(records)
    encoders = [(_python_type(kind), _codec(kind)) for kind in kinds]

    def encode(value: Any) -> Any:
        for form, codec in encoders:
            if isinstance(value, form):
                return codec.encode(value)
        raise TypeError(f"{value!r} is none of {kinds}")

    def decode(plain: Any) -> Any:
        faults = []
        for _form, codec in encoders:
            try:
                return codec.decode(plain)
            except CodecError as error:
                faults.append(str(error))
        raise CodecError(faults[0])

    return _Codec(encode, decode)


def _is_record(kind: Any) -> bool:
    return isinstance(kind, type) and dataclasses.is_dataclass(kind)


def _python_type(kind: Any) -> Any:
    """What ``isinstance`` knows a kind by; whole numbers stand for floats, too."""
    origin = get_origin(kind)
    return (int, float) if kind is float else origin or kind


def _one_of_records(records: Mapping[str, Any]) -> _Codec:
    def encode(value: Any) -> dict[str, Any]:
        name = type(value).__name__
        return {_KIND: name, **_codec(records[name]).encode(value)}

    def decode(plain: Any) -> Any:
        name = plain.get(_KIND) if isinstance(plain, dict) else None
        if not isinstance(name, str) or name not in records:
            raise _fault("one of " + ", ".join(records), name)
        rest = {key: part for key, part in plain.items() if key != _KIND}
        return _codec(records[name]).decode(rest)

    return _Codec(encode, decode)
