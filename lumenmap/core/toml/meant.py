"""What was meant by a key, or a word, that isn't known."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import get_origin

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from lumenmap.core.errors import near
from lumenmap.core.toml.keys import keys_at, models_in

#: Words that people use for keys which have another name here [C], the likeliest first.
_ALSO = {
    "pitch": ("slope", "hole_spacing"),
    "height": ("eave",),
    "gauge": ("wire",),
    "voltage": ("volts",),
    "current": ("label_amps",),
    "watts": ("label_amps",),
    "type": ("kind", "roof"),
    "duration": ("length",),
    "begin": ("start",),
    "end": ("length", "stop"),
    "at": ("start", "position"),
    "title": ("name",),
    **dict.fromkeys(("colour", "color", "colours", "colors"), ("stops", "palette")),
    "brightness": ("opacity",),
}
#: Likewise words for what a key may say.
_ALSO_SAID = {"add": "plus-lighter", "random": "by lot"}
#: So many keys are listed though a near one is named.
_FEW = 8


def no_such_key(loc: Sequence[int | str], model: type[BaseModel]) -> str:
    """Return what to say of an unknown key: the one that was meant, and those that there are."""
    known, word = keys_at(model, loc[:-1]), str(loc[-1])
    hint = (_inner(word, model) if len(loc) == 1 else "") or meant(word, known)
    if not known or (hint and len(known) > _FEW):
        return f"no such key{hint}"
    return f"no such key{hint or '.'} Keys here: {', '.join(known)}"


def meant(word: str, known: Iterable[str]) -> str:
    """Return ``; did you mean "x"?`` for the key that a word stands for, or the empty string."""
    keys = list(known)
    also = next((key for key in _ALSO.get(word, ()) if key in keys), "")
    return f'; did you mean "{also}"?' if also else near(word, keys)


def _inner(word: str, model: type[BaseModel]) -> str:
    """Return where a key of another table belongs: ``; did you mean [[cue.layer]]?``."""
    for name, field in model.model_fields.items():
        table = field.alias or name
        for inner in models_in(field.annotation):
            found = inner.model_fields.get(word)
            if found and get_origin(found.annotation) is list and models_in(found.annotation):
                return f"; did you mean [[{table}.{word}]]?"
            if found and inner is field.annotation:
                return f"; it belongs in [{table}]."
    return ""


def near_choice(detail: ErrorDetails) -> str:
    """Return a suggestion for a word that should be one of a few."""
    if detail["type"] != "literal_error" or not isinstance(detail["input"], str):
        return ""
    word, choices = detail["input"], re.findall("'([^']+)'", detail["ctx"]["expected"])
    if (also := _ALSO_SAID.get(word)) in choices:
        return f'; did you mean "{also}"?'
    return near(word, choices)
