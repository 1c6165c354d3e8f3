"""Families of rails: those whose holes stand at the same places from the datum, as far as they go.

A shorter rail of a family is drilled by the longest one's sheet and template, and cut sooner.
"""

from __future__ import annotations

from dataclasses import dataclass

from lumenmap.sheets.rails.rails import Pattern, Placed


@dataclass(frozen=True, slots=True)
class Family:
    """Rails by letter, the longest kind first."""

    kinds: dict[str, tuple[Placed, ...]]

    @property
    def name(self) -> str:
        """The letters, in words: ``rail A``, ``rails A, B and C``."""
        letters = list(self.kinds)
        if len(letters) == 1:
            return f"rail {letters[0]}"
        return f"rails {', '.join(letters[:-1])} and {letters[-1]}"

    @property
    def leader(self) -> Pattern:
        """The longest rail's pattern."""
        return self.pattern(next(iter(self.kinds)))

    def pattern(self, kind: str) -> Pattern:
        """Return the pattern of a letter."""
        return self.kinds[kind][0].pattern


def alike(placed: list[Placed]) -> dict[str, list[Placed]]:
    """Group rails by their letter."""
    groups: dict[str, list[Placed]] = {}
    for rail in placed:
        groups.setdefault(rail.kind, []).append(rail)
    return groups


def families(placed: list[Placed]) -> list[Family]:
    """Return the families, in the order the lines come to them."""
    found: dict[object, dict[str, tuple[Placed, ...]]] = {}
    for kind, rails in alike(placed).items():
        p = rails[0].pattern
        found.setdefault((p.first, p.spacing), {})[kind] = tuple(rails)
    return [
        Family(dict(sorted(kinds.items(), key=lambda item: -item[1][0].pattern.length)))
        for kinds in found.values()
    ]
