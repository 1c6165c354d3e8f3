"""`Route`: a way along the roofline, as a house file and a show file write it.

A route names edges in order. Where they are, and which pixels lie on them, is worked out on a
house, by `lumenmap.pixels.walk`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from lumenmap.core.errors import InputError, unknown

#: What ``edges`` says for all edges, as one walks round the house.
ROUND = "round"
#: What people write to an edge's name for running it from its end.
_BACKWARDS = re.compile(r"[\s,(_-]*\b(?:revers\w*|backwards?)\b\W*", re.IGNORECASE)
#: More edges than any house has.
MOST = 2000


class Stretch(NamedTuple):
    """An edge of a route, or part of it.

    Attributes
    ----------
    edge
        Its name.
    reversed
        Whether the route runs it from its end; None: whichever way joins the others.
    start, stop
        The part of it, in m from the edge's own start; None: to its end.
    """

    edge: str
    reversed: bool | None = None
    start: float | None = None
    stop: float | None = None


@dataclass(frozen=True, slots=True)
class Route:
    """An ordered list of edges.

    Attributes
    ----------
    edges
        In order; empty: all edges with pixels, as one walks round the house.
    closed
        Whether its end leads back to its beginning.
    gaps
        Whether the distance from one edge to the next counts.
    name
        What it is called; empty if it stands where it is used.
    """

    edges: tuple[Stretch, ...] = ()
    closed: bool = False
    gaps: bool = False
    name: str = ""

    def __str__(self) -> str:
        return f"along {self.name}" if self.name else "along its own list of edges"


#: Ways along each edge with pixels, with no time lost between them: laps, or from end to end.
AROUND = {
    ROUND: Route((), closed=True, name=ROUND),
    f"once {ROUND}": Route((), name=f"once {ROUND}"),
}


def written(text: str) -> Stretch:
    """Return the edge that an item of a list says: ``"main/ridge"``, ``"main/ridge reversed"``."""
    name = text.strip()
    if name.endswith(" reversed"):
        return Stretch(name.removesuffix(" reversed").strip(), reversed=True)
    return Stretch(name)


def no_edge(name: str, edges: Iterable[str], *, table: bool = False) -> str:
    """Return a message about an unknown edge; how to say that it is run from its end, if that is.

    Parameters
    ----------
    table
        Whether the name stands in a table, ``edge = "main/ridge"``, and not in a list.

    >>> no_edge("main/ridge reversed", ["main/ridge"], table=True)
    'no edge "main/ridge reversed"; write edge = "main/ridge", reversed = true'
    """
    edges, bare = list(edges), _BACKWARDS.sub("", name).strip()
    if bare in ("", name):
        return unknown("edge", name, edges)
    right = r'edge = "\1", reversed = true' if table else r'"\1 reversed"'
    if bare in edges:
        return f'no edge "{name[:80]}"; write ' + right.replace(r"\1", bare)
    return re.sub(r'(?<=did you mean )"(.*?)"(?=\?)', right, unknown("edge", bare, edges), count=1)


def no_edge_of_route(one: Stretch, edges: Iterable[str]) -> str:
    """Return the same about an item of a route: a list's has had ``reversed`` taken off."""
    return no_edge(one.edge, edges, table=one.edge.endswith(" reversed"))


def checked(stretches: Iterable[Stretch]) -> tuple[Stretch, ...]:
    """Return the edges of a route if they make sense without a house.

    Raises
    ------
    InputError
        A part that ends before it starts, or part of an edge that is there twice; the key is the
        item's: ``item 2``.
    """
    used: dict[str, list[tuple[float, float]]] = {}
    found = []
    for i, one in enumerate(stretches):
        low, high = one.start or 0.0, one.stop if one.stop is not None else float("inf")
        if high <= low:
            raise InputError(
                "its part of the edge ends before it starts. Both count from the edge's own "
                "start: give the smaller one as start, and reversed = true",
                key=f"item {i + 1}",
            )
        if any(low < stop and start < high for start, stop in used.get(one.edge, ())):
            raise InputError(
                f'edge "{one.edge[:80]}" is there twice; a route passes a place once',
                key=f"item {i + 1}",
            )
        used.setdefault(one.edge, []).append((low, high))
        found.append(one)
    return tuple(found)
