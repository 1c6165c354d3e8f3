"""Named numbers of a show: ``[values]`` with defaults, others from outside, ``{name}`` in texts.

A text that is nothing but ``{name}`` becomes the number, so that it may stand wherever a number
may; inside a longer text its digits are put there: ``"{days} s"``. One sum is allowed:
``{candles + 1}``.
"""

from __future__ import annotations

import math
import operator
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from lumenmap.core.errors import InputError, Mistakes, unknown
from lumenmap.core.plain import shown
from lumenmap.core.toml.keys import key_text

#: A name or a number, then perhaps a sign and another.
_TERM = r"[A-Za-z_]\w*|\d+(?:\.\d+)?"
_SUM = re.compile(rf"\{{\s*({_TERM})\s*(?:([-+*/])\s*({_TERM})\s*)?\}}")
_SIGNS: dict[str, Callable[[float, float], float]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": operator.truediv,
}
#: Tables whose texts are shown or are names; braces in them mean nothing.
_LITERAL = ("values",)


def with_values(
    raw: dict[str, Any], path: Path, given: Mapping[str, float] | None = None
) -> dict[str, Any]:
    """Return a show file's tables with its values in place of their names.

    Parameters
    ----------
    raw
        The show file, unchecked.
    path
        Named in errors.
    given
        Values from outside, by name, in place of the file's own.

    Raises
    ------
    InputError
        No value of a name, in a text or among those given.
    """
    own = raw.get("values")
    defaults = own if isinstance(own, dict) else {}
    mistakes = Mistakes()
    for name, value in defaults.items():
        with mistakes.gathered(path, f"values.{name}"):
            _check(name, value)
    mistakes.raise_all()
    known = dict(defaults)
    for name, value in (given or {}).items():
        if name not in defaults:
            listed = unknown("value", name, defaults)
            hint = "" if defaults else "; the show has no [values] table"
            raise InputError(f"{listed}{hint}", file=path, key="values")
        known[name] = value
    if not known:
        return raw

    def replaced(node: Any, loc: tuple[int | str, ...]) -> Any:
        if isinstance(node, dict):
            return {k: replaced(v, (*loc, k)) for k, v in node.items()}
        if isinstance(node, list):
            return [replaced(v, (*loc, i)) for i, v in enumerate(node)]
        if isinstance(node, str) and "{" in node:
            with mistakes.gathered(path, key_text(loc, raw)):
                return _filled(node, known)
        return node

    made = {k: v if k in _LITERAL else replaced(v, (k,)) for k, v in raw.items()}
    mistakes.raise_all()
    if isinstance(own, dict):
        made["values"] = {**own, **known}
    return made


def _filled(text: str, known: Mapping[str, float]) -> Any:
    if whole := _SUM.fullmatch(text.strip()):
        return _value(whole, known)
    return _SUM.sub(lambda m: f"{_value(m, known):.10g}", text)


def _value(match: re.Match[str], known: Mapping[str, float]) -> float:
    left, sign, right = match.groups()
    value = _term(left, known)
    if sign:
        other = _term(right, known)
        if sign == "/" and other == 0:
            raise InputError(f"{match[0]} divides by 0")
        value = _SIGNS[sign](value, other)
    return int(value) if math.isfinite(value) and value == int(value) else value


def _term(word: str, known: Mapping[str, float]) -> float:
    if word[0].isdigit():
        return float(word)
    if word not in known:
        raise InputError(unknown("value", word, known))
    return known[word]


def _check(name: str, value: object) -> None:
    if not re.fullmatch(r"[A-Za-z_]\w{0,79}", name):
        raise InputError("isn't a name for a value; expected letters, digits and _, as in candles")
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise InputError(f"is {shown(value)}; expected a number")


def read_set(texts: list[str] | None) -> dict[str, float]:
    """Return values given as ``name=number``.

    Raises
    ------
    InputError
        Not written so.
    """
    out = {}
    for text in texts or ():
        name, equals, value = (part.strip() for part in text.partition("="))
        try:
            number = float(value)
        except ValueError:
            number = math.nan
        if not (equals and name and math.isfinite(number)):
            raise InputError(f'"{text[:60]}" isn\'t a value; expected name=number, as candles=3')
        out[name] = int(number) if number == int(number) else number
    return out
