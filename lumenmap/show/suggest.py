"""Suggestions for unknown names: by their letters, and by what things do or are for."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from lumenmap.colour.palettes import rows
from lumenmap.core.errors import near, unknown
from lumenmap.show.registry import Effect

#: Words that people use, to words of the summaries and occasions.
_SAME = {
    "firework": "burst sparks",
    "explosion": "burst",
    "rocket": "launch",
    "snow": "flecks",
    "rain": "fall",
    "fire": "flame",
    "candle": "flame",
    "sea": "water",
    "ocean": "water",
    "star": "moments",
    "sparkle": "flash",
    "aurora": "northern",
    "circle": "rings",
    "checkerboard": "neighbouring",
    "breathing": "breathing fade",
    "xmas": "christmas",
    "july": "independence",
    "4th": "independence",
    "nye": "eve",
}
_DULL = frozenset(
    ("the", "and", "its", "that", "each", "with", "for", "all", "over", "day", "light", "lights")
)
_MOST = 3
#: Effects that had another name in earlier versions.
_RENAMED = {"streak": "brightwake"}


def no_effect(name: str, known: Mapping[str, Effect]) -> str:
    """Return a message about an unknown effect: the likely ones, and where to look."""
    if (new := _RENAMED.get(name)) in known:
        return f'the effect "{name}" is now called "{new}"'
    if near(name, known) or not known:
        said = unknown("effect", name, known)
    else:
        likely = _likely(name, {e.name: f"{e.name} {e.summary}" for e in known.values()})
        listed = "; ".join(f"{n}: {known[n].summary}" for n in likely)
        said = f'no effect "{name[:80]}"; ' + (f"perhaps {listed}" if likely else "")
        said = f"{said.rstrip('; .')}. lumenmap effects lists them all"
    return f"{said}; one of your own needs --effects FOLDER"


def no_palette(name: str, known: Iterable[str]) -> str:
    """Return a message about an unknown palette: the likely ones, and where to look."""
    names = set(known)
    likely = _likely(name, {r.palette.name: r.text for r in rows()})
    likely = [n for n in likely if n in names]
    if near(name, names) or not likely:
        return f"{unknown('palette', name, names)}; lumenmap palette list shows them all"
    listed = " or ".join(f'"{n}"' for n in likely)
    return f'no palette "{name[:80]}"; did you mean {listed}? lumenmap palette list shows them all'


def search(word: str, texts: Mapping[str, str]) -> list[str]:
    """Return the names whose texts have all words that were asked for, or else most of them."""
    asked = [w for w in re.findall(r"\w+", word.lower()) if w]
    whole = [k for k, text in texts.items() if all(w in text.lower() for w in asked)]
    return whole or _likely(word, texts)


def _likely(name: str, texts: Mapping[str, str]) -> list[str]:
    """Return the names whose texts share words with ``name``, those that share most first."""
    given = _words(name)
    for word in sorted(given):
        given |= {w for k, more in _SAME.items() if _alike(word, k) for w in more.split()}
    scores = {
        key: sum(any(_alike(word, other) for other in _words(text)) for word in given)
        for key, text in texts.items()
    }
    most = max(scores.values(), default=0)
    return [key for key, score in scores.items() if score == most > 0][:_MOST]


def _words(text: str) -> set[str]:
    return {w for w in re.findall(r"[a-z0-9]{3,}", text[:300].lower()) if w not in _DULL}


def _alike(a: str, b: str) -> bool:
    """Return whether words are forms of one: spark, sparks, sparkling."""
    short, long = sorted((a, b), key=len)
    return short == long or (len(short) >= 4 and long.startswith(short))
