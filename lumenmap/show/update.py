"""Files of earlier versions rewritten in today's words; comments and layout stay.

What had another name is data, in `lumenmap.show.effects.renamed`. An updated file is updated to
itself.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import Item

from lumenmap.core.errors import InputError
from lumenmap.core.plain import shown
from lumenmap.show.effects import renamed


def updated(text: str, *, keep_clock: bool = False) -> tuple[str, list[str]]:
    """Return a show or house file in today's words, and a sentence for each change.

    Parameters
    ----------
    text
        The file.
    keep_clock
        Whether layers of a show keep counting from the show's start, as they did until 0.1.0.

    Raises
    ------
    InputError
        It isn't TOML.
    """
    try:
        document = tomlkit.parse(text)
    except (TOMLKitError, ValueError, RecursionError) as error:
        raise InputError(f"isn't TOML: {error}") from None
    said = [*_show(document), *_house(document)]
    if keep_clock and _starts_late(document) and not _has_clock(document):
        said.append('[defaults] clock = "show": layers count from the show\'s start, as before')
        return _on_the_shows_clock(document), said
    return (tomlkit.dumps(document), said) if said else (text, [])


def _show(document: Any) -> Iterator[str]:
    for i, cue in enumerate(_tables(document.get("cue"))):
        for j, layer in enumerate(_tables(cue.get("layer"))):
            for change in _layer(layer):
                yield f"cue {i + 1}, layer {j + 1}: {change}"


def _layer(layer: Any) -> Iterator[str]:
    effect = str(layer.get("effect", ""))
    if (new := renamed.EFFECTS.get(effect)) is not None:
        _set(layer, "effect", "effect", new)
        yield f'the effect "{effect}" is now "{new}"'
        effect = new
    for (of, old), to in renamed.OPTIONS.items():
        if of != effect or old not in layer or to.name in layer:
            continue
        value = layer[old]
        try:
            _set(layer, old, to.name, _one_minus(value) if to.value == "1 - x" else value)
        except (TypeError, ValueError):
            raise InputError(f"{effect}'s {old} is {shown(value)}; expected a share") from None
        yield to.said(effect, old)
    envelope = layer.get("envelope")
    if isinstance(envelope, dict) and "level" in envelope and "to" not in envelope:
        _set(envelope, "level", "to", envelope["level"])
        yield 'envelope has "to" in place of "level"'


def _house(document: Any) -> Iterator[str]:
    for (table, old), new in renamed.HOUSE_KEYS.items():
        for i, found in enumerate(_tables(document.get(table))):
            if old in found and new not in found:
                _set(found, old, new, found[old])
                yield f'{table} {i + 1}: "{new}" in place of "{old}"'


def _has_clock(document: Any) -> bool:
    defaults = document.get("defaults")
    return isinstance(defaults, dict) and "clock" in defaults


def _starts_late(document: Any) -> bool:
    return any(cue.get("start", 0) not in (0, "0 s", "0") for cue in _tables(document.get("cue")))


def _on_the_shows_clock(document: Any) -> str:
    """Return the file with ``clock = "show"`` for every layer."""
    if isinstance(document.get("defaults"), dict):
        document["defaults"].setdefault("clock", "show")
        return str(tomlkit.dumps(document))
    lines = str(tomlkit.dumps(document)).splitlines(keepends=True)
    heads = [i for i, line in enumerate(lines) if re.match(r"\s*\[\[\s*cue\s*\]\]", line)]
    place = heads[0] if heads else len(lines)
    while place and lines[place - 1].lstrip().startswith("#"):  # what is said about the cue
        place -= 1
    return "".join([*lines[:place], '[defaults]\nclock = "show"\n\n', *lines[place:]])


def _tables(value: Any) -> list[Any]:
    return [one for one in value if isinstance(one, dict)] if isinstance(value, list) else []


def _set(table: Any, old: str, new: str, value: Any) -> None:
    """Give a key another name and value where it stands, with the comment after it."""
    item = tomlkit.item(value) if not isinstance(value, Item) else value
    before = table[old]
    if isinstance(before, Item) and item is not before:
        item.trivia.comment, item.trivia.comment_ws = (
            before.trivia.comment,
            before.trivia.comment_ws,
        )
    table.value._replace(old, new, item)  # the library has no public way that keeps the place


def _one_minus(value: Any) -> Any:
    """Return 1 minus a share, or each share of a ramp."""
    if isinstance(value, dict):
        return _ramp(value, _one_minus)
    if isinstance(value, list):
        return [_one_minus(one) for one in value]
    if isinstance(value, str):
        text = value.strip()
        if not text.endswith("%"):
            return round(1 - float(text), 9)
        return f"{round(100 - float(text[:-1]), 9):g} %"
    return round(1 - float(value), 9)


def _ramp(value: Any, change: Callable[[Any], Any]) -> Any:
    return {k: change(v) if k in ("from", "to") else v for k, v in value.items()}
