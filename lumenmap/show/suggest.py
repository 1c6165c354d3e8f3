"""Suggestions for unknown names: by plain words, by spelling, by what things do or are for."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Iterable, Mapping

from lumenmap.colour.names import NAMED
from lumenmap.colour.palettes import rows
from lumenmap.core.errors import near, unknown
from lumenmap.show.effects.effect import Effect
from lumenmap.show.effects.renamed import EFFECTS
from lumenmap.show.palette_words import PALETTE_WORDS

_DULL = frozenset(
    ("the", "and", "its", "that", "each", "with", "for", "all", "over", "day", "light", "lights")
)
#: So many names are suggested.
_MOST = 3
#: So many palettes of somebody's own are listed.
_MOST_OWN = 12
#: Endings that make other forms of a word: snows, snowing, flickered, sparkly.
_ENDINGS = ("ing", "es", "s", "ed", "er", "y", "e")


def effects_for(word: str, known: Mapping[str, Effect]) -> list[str]:
    """Return the effects that a plain word leads to, the likeliest first; none if it isn't listed.

    An effect lists its words itself; see `Effect.words`.
    """
    return _listing(word, {name: (*e.words, name) for name, e in known.items()})


def palettes_for(word: str, known: Iterable[str]) -> list[str]:
    """Return the palettes that a plain word leads to, the likeliest first."""
    found = {row.name: row for row in rows()}
    listed: dict[str, tuple[str, ...]] = {}
    for name in known:
        row = found.get(name)
        own = () if row is None else (row.occasion.lower(), *row.words.split())
        listed[name] = (*PALETTE_WORDS.get(name, own), *own[:1], name)
    return _listing(word, listed)


def no_effect(name: str, known: Mapping[str, Effect]) -> str:
    """Return a message about an unknown effect: the likely ones, and where to look."""
    if (new := EFFECTS.get(name)) in known:
        return f'the effect "{name}" is now called "{new}"'
    likely = effects_for(name, known) or _misspelt(name, known)
    if not likely and (near(name, known) or not known):
        said = unknown("effect", name, known)
    else:
        likely = likely or _likely(name, {e.name: f"{e.name} {e.summary}" for e in known.values()})
        listed = "; ".join(f"{n}: {known[n].summary}" for n in likely[:_MOST])
        said = f'no effect "{name[:80]}"; ' + (f"perhaps {listed}" if likely else "")
        said = f"{said.rstrip('; .')}. lumenmap effects lists them all"
    return f"{said}; one of your own needs --effects FOLDER"


def _misspelt(name: str, known: Mapping[str, Effect]) -> list[str]:
    """Return the effects of the plain word that was meant, if a word is nearly one: twinkel."""
    words = sorted({word for effect in known.values() for word in effect.words})
    near_name = bool(near(name, known))
    hits = [] if near_name else difflib.get_close_matches(name.lower(), words, n=1, cutoff=0.8)
    return effects_for(hits[0], known) if hits else []


def no_palette(name: str, known: Iterable[str]) -> str:
    """Return a message about an unknown palette: the likely ones, and where to look."""
    names = set(known)
    likely = palettes_for(name, names)
    if (joined := "".join(name.lower().split())) in NAMED:  # a palette may be a colour: dark red
        likely.insert(0, joined)
    # A name of one's own first, then a colour's: of 90 palettes one is always rather near.
    hint = "" if likely else near(name, names) or near(name, NAMED)
    if not likely and not hint:
        likely = _likely(name, {r.name: r.text for r in rows()})
        likely = [n for n in likely if n in names]
    if likely:
        listed = " or ".join(f'"{n}"' for n in likely[:_MOST])
        hint = f"; did you mean {listed}?"
    if not hint and (own := sorted(names - {row.name for row in rows()})):
        hint = f"; your own: {', '.join(own[:_MOST_OWN])}{' …' if len(own) > _MOST_OWN else ''};"
    said = f'no palette "{name[:80]}"{hint or ";"}'
    return f"{said} lumenmap palette list shows them all"


def search(word: str, texts: Mapping[str, str]) -> list[str]:
    """Return the names whose texts have all words that were asked for, or else most of them."""
    asked = [w for w in re.findall(r"\w+", word.lower()) if w]
    whole = [k for k, text in texts.items() if all(w in text.lower() for w in asked)]
    return whole or _likely(word, texts)


def _listing(word: str, listed: Mapping[str, Iterable[str]]) -> list[str]:
    """Return the names that list a word: itself, another form of it, or part of what they list."""
    text = " ".join(_letters(word))
    if not text:
        return []
    scores = {name: max(map(_alikeness(text), words)) for name, words in listed.items()}
    most = max(scores.values(), default=0)
    found = [name for name, score in scores.items() if score == most > 0]
    return sorted(found)[: 2 * _MOST]


def _alikeness(text: str) -> Callable[[str], float]:
    """Return a function that says how well a listed word fits: 3 the same, 2 a form, 1 a part.

    Of several words the last says what the thing is: a waving flag is a flag.
    """
    form, parts = _form(text), {_form(part) for part in text.split() if part not in _DULL}
    last = _form(text.split()[-1])

    def score(listed: str) -> float:
        other = " ".join(_letters(listed))
        if other == text:
            return 3
        if _form(other) == form or other.replace(" ", "") == text.replace(" ", ""):
            return 2
        words = {_form(part) for part in other.split() if part not in _DULL}
        part = bool(words) and bool(parts) and (parts <= words or words <= parts)
        return part * (1.5 if last in words else 1.0)

    return score


def _letters(text: str) -> list[str]:
    plain = text[:300].lower().replace("color", "colour")
    return re.findall(r"[a-z0-9]+", plain)


def _form(word: str) -> str:
    """Return a word without its endings: snowing and snow are one, and so are drop and dropping."""
    shorter = _without_ending(word)
    return word if shorter == word else _form(shorter)


def _without_ending(word: str) -> str:
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            stem = word[: -len(ending)]
            twice = ending in ("ing", "ed", "er", "y") and stem[-1] == stem[-2]
            return stem[:-1] if twice else stem
    return word


def _likely(name: str, texts: Mapping[str, str]) -> list[str]:
    """Return the names whose texts share words with ``name``, those that share most first."""
    given = _words(name)
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
