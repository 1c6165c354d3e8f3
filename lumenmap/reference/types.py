"""A model's types in words: ``length over 0``, ``"hip" or "flat"``, ``list of 3 numbers``."""

from __future__ import annotations

import re
import types
from collections.abc import Sequence
from fractions import Fraction
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt, MaxLen, MinLen
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from lumenmap.core.quantity import Quantity

#: A bound on a list's length from here on is a guard and nothing to tell.
_GUARD = 200
#: So is one on a text's length.
_LONG = 80
_PLAIN = {str: "text", bool: "true or false", int: "whole number", float: "number"}
_PLURAL = {
    "true or false": "true or false",
    "time of day": "times of day",
    "what it counts": "what they count",
}


def in_words(annotation: Any, metadata: Sequence[Any] = ()) -> str:
    """Say what a value of a type is, its range included."""
    if get_origin(annotation) is Annotated:
        inner, *marks = get_args(annotation)
        return in_words(inner, [*_unpacked(marks), *metadata])
    mark = next((m for m in metadata if isinstance(m, Quantity)), None)
    if mark is not None:
        return mark.words + _range(metadata)
    origin, inner = get_origin(annotation), get_args(annotation)
    if origin in (Union, types.UnionType):
        return _or([in_words(a, metadata) for a in inner if a is not type(None)])
    if origin is Literal:
        return _or([_written(word) for word in inner])
    if origin is list:
        return f"list of {_count(metadata)}{_plural(in_words(inner[0]))}"
    if origin is tuple:
        return f"list of {len(inner)} {_plural(in_words(inner[0]))}"
    if origin is dict:
        return "table" if inner[1] is Any else f"table of {_plural(in_words(inner[1]))}, by name"
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return "table"
    if annotation is str:
        most = next((m.max_length for m in metadata if isinstance(m, MaxLen)), None)
        return f"text, at most {most} characters" if most and most < _LONG else "text"
    return _PLAIN.get(annotation, "value") + _range(metadata)


def default_in_words(field: FieldInfo) -> str:
    """Say what a key is if it is left out; empty if that is nothing to tell."""
    if field.is_required():
        return ""
    value = field.default_factory() if field.default_factory else field.default  # type: ignore[call-arg]
    if value is None or value == "" or isinstance(value, BaseModel):
        return ""
    if isinstance(value, (list, dict)):
        return "" if not value else str(value)
    return _written(value)


def quantities(annotation: Any, metadata: Sequence[Any] = ()) -> list[Quantity]:
    """Return the quantities that a type is made of, for a list of how each is written."""
    found = [m for m in metadata if isinstance(m, Quantity)]
    if get_origin(annotation) is Annotated:
        inner, *marks = get_args(annotation)
        return found + quantities(inner, _unpacked(marks))
    for inner in get_args(annotation):
        found += quantities(inner)
    return found


def _written(value: Any) -> str:
    """Write a default as a file does."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, tuple):
        return f"[{', '.join(map(_written, value))}]"
    return f"{float(value):g}" if isinstance(value, (int, float, Fraction)) else str(value)


def _unpacked(marks: Sequence[Any]) -> list[Any]:
    """Return marks with those inside a ``Field(…)`` beside them."""
    out = []
    for mark in marks:
        out += mark.metadata if isinstance(mark, FieldInfo) else [mark]
    return out


def _range(metadata: Sequence[Any]) -> str:
    low = next((m for m in metadata if isinstance(m, (Ge, Gt))), None)
    high = next((m for m in metadata if isinstance(m, (Le, Lt))), None)
    least = getattr(low, "ge", getattr(low, "gt", None))
    most = getattr(high, "le", getattr(high, "lt", None))
    below = "below " if isinstance(high, Lt) else ""
    if isinstance(low, Gt):
        return f", over {_number(least)}" + (f", at most {_number(most)}" if high else "")
    if low and high:
        return f", {_number(least)} to {below}{_number(most)}"
    if low:
        return f", {_number(least)} or more"
    return f", {below or 'at most '}{_number(most)}" if high else ""


def _number(value: Any) -> str:
    return f"{value:,.10g}"


def _count(metadata: Sequence[Any]) -> str:
    least = next((m.min_length for m in metadata if isinstance(m, MinLen)), 0)
    most = next((m.max_length for m in metadata if isinstance(m, MaxLen)), _GUARD)
    if least == most:
        return f"{least} "
    if most >= _GUARD:
        return f"{least} or more " if least > 1 else ""
    return f"{least} to {most} "


def _plural(words: str) -> str:
    """Return the plural: ``lengths over 0``, ``currents (mA), 0 to 5,000``, ``texts or tables``."""
    if " or " in words and " or more" not in words and words not in _PLURAL:
        return " or ".join(map(_plural, words.split(" or ")))
    if words.startswith(("list of ", "table of ")):
        return words.replace(" of ", "s of ", 1)
    m = re.match(r"[\w ]+?(?= over|,| \(|$)", words)
    head = m[0] if m else words
    return _PLURAL.get(head, f"{head}s") + words[len(head) :]


def _or(words: list[str]) -> str:
    """Join alternatives: ``a, b or c``."""
    distinct = list(dict.fromkeys(words))
    *most, last = distinct
    return f"{', '.join(most)} or {last}" if most else last
