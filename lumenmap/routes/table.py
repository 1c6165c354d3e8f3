"""``[[route]]``: the table of a house file and of a show file, and its reading."""

from typing import Annotated, Any, Literal

from pydantic import Field, ValidationInfo

from lumenmap.core import units
from lumenmap.core.errors import InputError
from lumenmap.core.names import Title
from lumenmap.core.quantity import Quantity
from lumenmap.core.toml.tables import Table
from lumenmap.routes.route import AROUND, MOST, ROUND, Route, Stretch, checked, written


def _metres(value: Any, info: ValidationInfo) -> float:
    """Read a length in the file's unit: a house file's context has it, a show file's reading."""
    context = info.context or {}
    unit = str(context.get("unit") or getattr(context.get("reading"), "unit", "m"))
    got = float(units.length(value, unit))
    if got < 0:
        raise InputError(f'is "{value}"; it can\'t be negative')
    return got


Metres = Annotated[
    float,
    Quantity(
        "length, 0 or more",
        '"12 ft 6 in", "3.81 m"; without a unit, in that of the house',
        _metres,
    ),
]


class StretchTable(Table):
    """An item of a route's edges in full: an edge, or part of it."""

    edge: str = Field(description="The edge that the route follows here.")
    reversed: bool | None = Field(
        None,
        description="Whether it runs from the edge's end; if left out, whichever way joins the "
        "edges before and after.",
    )
    start: Metres | None = Field(None, description="Where its part begins, from the edge's start.")
    stop: Metres | None = Field(None, description="Where its part ends, from the edge's start.")


class RouteTable(Table):
    """``[[route]]``: a way along the roofline, for ``way = "along NAME"`` and for ``on``."""

    name: Title = Field(description="What the route is called.")
    edges: Literal["round"] | list[str | StretchTable] = Field(
        description='Edges in order, each run whichever way joins the others; "main/ridge '
        'reversed" runs one from its end. "round": all edges with pixels, as one walks round '
        "the house.",
    )
    closed: bool = Field(
        False, description="Whether its end leads back to its beginning, for laps."
    )
    gaps: bool = Field(
        False,
        description="Whether the distance from one edge to the next counts: light then takes "
        "its time from one to the other, unseen.",
    )


def read_routes(tables: list[RouteTable]) -> dict[str, Route]:
    """Return the routes of a file, by name.

    Raises
    ------
    InputError
        A name used twice or taken by a way, no edges, an edge used twice; the key names the route.
    """
    found: dict[str, Route] = {}
    for table in tables:
        key = f'route "{table.name}"'
        if not table.name.strip() or table.name in AROUND:
            raise InputError(f'is named "{table.name}"; choose another name', key=key)
        if table.name in found:
            raise InputError("another route has this name; each needs its own", key=key)
        try:
            found[table.name] = _route(table)
        except InputError as error:
            raise InputError(error.message, key=f"{key}, edges {error.key}".rstrip()) from None
    return found


def _route(table: RouteTable) -> Route:
    if table.edges == ROUND:
        return Route((), table.closed, table.gaps, table.name)
    return Route(listed(list(table.edges)), table.closed, table.gaps, table.name)


def listed(items: list[Any]) -> tuple[Stretch, ...]:
    """Return the edges of a list as a file has it.

    Raises
    ------
    InputError
        No edges, or too many; as `checked`.
    """
    if not 1 <= len(items) <= MOST:
        raise InputError(f"has {len(items):,} edges; expected 1 to {MOST:,}")
    return checked(
        written(i) if isinstance(i, str) else Stretch(i.edge, i.reversed, i.start, i.stop)
        for i in items
    )
