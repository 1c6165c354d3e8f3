"""The topics of `lumenmap help`, and the page of each."""

from __future__ import annotations

import re
from collections.abc import Callable

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.wording import listed
from lumenmap.reference import pages
from lumenmap.reference.page import Page, Section

#: Topic to the function that makes its page. Commands are the command line's: see `commands`.
TOPICS: dict[str, Callable[[str], Page]] = {
    "house": pages.house,
    "show": pages.show,
    "limit": pages.limit,
    "effects": pages.effects,
    "almanac": pages.almanac,
    "kinds": pages.kinds,
    "wiring": pages.wiring,
    "marks": pages.marks,
    "formats": pages.formats,
}


#: What each topic holds, in the order to read them.
LISTING = {
    "house": "every key of house.toml",
    "show": "every key of show.toml",
    "limit": "how a show is dimmed to stay within the budgets",
    "effects": "every effect and its options",
    "almanac": "every key of almanac.toml: days, times, rules",
    "kinds": "pixel kinds: voltage, current, timing, and where the figures are from",
    "wiring": "the electrical model: nodes, resistances, what each part may carry",
    "marks": "photographs of your house, and the points marked on them",
    "formats": "the files that are written",
    "commands": "every command in a line",
}


def page(topic: str, unit: str = "ft") -> Page:
    """Return a topic's page.

    Parameters
    ----------
    unit
        ``ft`` or ``m``: the unit of lengths that have none of their own.

    Raises
    ------
    InputError
        No such topic; names the nearest. Not one of the two units.
    """
    if topic not in TOPICS:
        raise InputError(_no_topic(topic))
    if unit not in ("ft", "m"):
        raise InputError(f'is "{unit[:40]}"; expected ft or m', key="--unit")
    return TOPICS[topic](unit)


def _no_topic(word: str) -> str:
    """Return a message about a word that isn't a topic: which topics have it as a key or title."""
    stem = word.strip("[]").lower()
    forms = {stem, stem.removesuffix("s"), stem.removesuffix("es"), re.sub("ies$", "y", stem)}
    found = {
        name: titles
        for name, make in TOPICS.items()
        if (titles := [s.title for s in make("ft").sections if forms & _words(s)])
    }
    if not found:
        return unknown("topic", word, LISTING)
    where = [
        f"lumenmap help {name} (under {', '.join(titles[:3])})" for name, titles in found.items()
    ]
    return f'no topic "{word[:80]}"; it is in {listed(where)}'


def _words(section: Section) -> set[str]:
    """Return the words of a section's title, and its rows' keys."""
    keys = {row[0].lower() for row in section.rows if section.columns and row}
    return keys | set(re.findall(r"[a-z_]{3,}", section.title.lower()))
