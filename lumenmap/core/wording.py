"""Words of sentences that are put together from parts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def listed(items: Sequence[str]) -> str:
    """Return items as a sentence lists them.

    >>> listed(["roof"]), listed(["roof", "porch"]), listed(["roof", "porch", "gate"])
    ('roof', 'roof and porch', 'roof, porch and gate')
    """
    *most, last = items or [""]
    return f"{', '.join(most)} and {last}" if most else last


_MANY = {
    "bus": "buses",
    "mass": "masses",
    "stretch": "stretches",
    "supply": "supplies",
    "tie of bus": "ties of buses",
}


def several(kind: str, names: Sequence[str]) -> str:
    """Return things of one kind with their names.

    >>> several("feed", ["1"]), several("supply", ["attic", "hall"])
    ('feed 1', 'supplies attic and hall')
    """
    many = kind if len(names) == 1 else _MANY.get(kind, f"{kind}s")
    return f"{many} {listed(names)}"


def some(count: int, kind: str) -> str:
    """Return a number of things of one kind.

    >>> some(1, "universe"), some(1200, "packet"), some(2, "bus")
    ('1 universe', '1,200 packets', '2 buses')
    """
    return f"{count:,} {kind if count == 1 else _MANY.get(kind, f'{kind}s')}"


def gathered(remarks: Iterable[tuple[str, str, str]]) -> list[str]:
    """Return remarks as text, those that say the same of several things as one.

    Parameters
    ----------
    remarks
        The kind of thing, its name in the text, and what is said of it.

    >>> gathered([("mass", "barn", "too low"), ("mass", "shed", "too low")])
    ['masses barn and shed: too low']
    """
    found: dict[tuple[str, str], list[str]] = {}
    for kind, name, says in remarks:
        found.setdefault((kind, says), []).append(name)
    return [f"{several(kind, names)}: {says}" for (kind, says), names in found.items()]


def how_long(seconds: float, digits: int = 2) -> str:
    """Return a time as people say it: from two minutes on in minutes and whole seconds.

    From two hours on it is in hours and whole minutes.

    >>> how_long(12), how_long(7.0667), how_long(1015.4), how_long(1200), how_long(32_390)
    ('12 s', '7.07 s', '16 min 55 s', '20 min', '9 h')
    """
    if seconds < 120:
        return f"{round(seconds, digits):g} s"
    if seconds >= 7200:
        hours, rest = divmod(round(seconds / 60), 60)
        return f"{hours} h" + (f" {rest} min" if rest else "")
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes} min" + (f" {rest} s" if rest else "")


def then(text: str, outcome: str) -> str:
    """Return what happened, and what comes of it: below what has lines of its own.

    >>> then("no such show", "another plays")
    'no such show; another plays'
    """
    return f"{text}\n{outcome}" if "\n" in text else f"{text}; {outcome}"


def sentence(text: str) -> str:
    """Return text that begins with a capital.

    >>> sentence("feed 1"), sentence("")
    ('Feed 1', '')
    """
    return text[:1].upper() + text[1:]
