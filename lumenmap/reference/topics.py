"""The topics of `lumenmap help`, and the page of each."""

from __future__ import annotations

from collections.abc import Callable

from lumenmap.core.errors import InputError, unknown
from lumenmap.reference import pages
from lumenmap.reference.page import Page

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
        raise InputError(unknown("topic", topic, LISTING))
    if unit not in ("ft", "m"):
        raise InputError(f'is "{unit[:40]}"; expected ft or m', key="--unit")
    return TOPICS[topic](unit)
