"""Words of sentences that are put together from parts."""

from __future__ import annotations

from collections.abc import Sequence


def listed(items: Sequence[str]) -> str:
    """Return items as a sentence lists them.

    >>> listed(["roof"]), listed(["roof", "porch"]), listed(["roof", "porch", "gate"])
    ('roof', 'roof and porch', 'roof, porch and gate')
    """
    *most, last = items or [""]
    return f"{', '.join(most)} and {last}" if most else last


_MANY = {"bus": "buses", "supply": "supplies", "tie of bus": "ties of buses"}


def several(kind: str, names: Sequence[str]) -> str:
    """Return things of one kind with their names.

    >>> several("feed", ["1"]), several("supply", ["attic", "hall"])
    ('feed 1', 'supplies attic and hall')
    """
    many = kind if len(names) == 1 else _MANY.get(kind, f"{kind}s")
    return f"{many} {listed(names)}"


def sentence(text: str) -> str:
    """Return text that begins with a capital.

    >>> sentence("feed 1"), sentence("")
    ('Feed 1', '')
    """
    return text[:1].upper() + text[1:]
