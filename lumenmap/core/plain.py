"""The one place that makes text from anywhere fit for a terminal, an account or a drawing."""

from __future__ import annotations

import datetime

#: Not printable by themselves, but needed to spell words in Persian and the languages of India.
_JOINERS = "\u200c\u200d"


def _shown(c: str) -> bool:
    return c.isprintable() or c in _JOINERS


def plain(text: str, most: int | None = None) -> str:
    r"""Return a text as one line that does what it looks like; ``most`` cuts it in the middle.

    Whatever can't be printed comes out as Python would write it: line breaks, escapes, controls
    of direction, halves of surrogate pairs.

    >>> plain("a\x1b[31m\n")
    'a\\x1b[31m\\n'
    >>> plain("x" * 50, 9)
    'xxxx…xxxx'
    """
    if most is not None and len(text) > most:
        head = most // 2
        text = f"{text[:head]}…{text[len(text) - (most - head - 1) :]}"
    if text.isprintable() or all(map(_shown, text)):
        return text
    return "".join(
        c if _shown(c) else c.encode("unicode_escape", "surrogatepass").decode() for c in text
    )


def strange(text: str) -> str:
    """Return the first character that can't be printed, as `plain` shows it, or ""."""
    return next((plain(c) for c in text if not _shown(c)), "")


#: So many characters of a value are shown.
_SHORT = 60


def shown(value: object) -> str:
    """Return a value as a TOML file has it, cut short.

    >>> print(shown(["gold", True]), shown({"at": 0.5}), shown("12 s"))
    ["gold", true] { at = 0.5 } "12 s"
    """
    if isinstance(value, str):
        return f'"{value[:_SHORT]}"'
    text = _as_toml(value)
    return text if len(text) <= _SHORT else f"{text[: _SHORT - 1]}…"


def _as_toml(value: object) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(map(_as_toml, value))}]"
    if isinstance(value, dict):
        return f"{{ {', '.join(f'{k} = {_as_toml(v)}' for k, v in value.items())} }}"
    return repr(value)
