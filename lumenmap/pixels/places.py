"""`Places`: the names that a show may use for places on a house, resolved to its pixels.

Besides what the house names, a show may have groups and routes of its own, which come first.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, unknown
from lumenmap.house.model import House
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.pixels.select import MAX_DEPTH, Mask, select
from lumenmap.pixels.walk import Walk, walk
from lumenmap.routes.route import AROUND, Route

_ALONG = "along "


class Places:
    """The places of a house, with the groups and routes of a show.

    Parameters
    ----------
    pixelmap, house
        The house.
    groups
        The show's own: places of each (all pixels if there are none), and those that don't belong
        to it.
    routes
        The show's own.
    """

    def __init__(
        self,
        pixelmap: PixelMap,
        house: House,
        groups: Mapping[str, tuple[Sequence[str], Sequence[str]]] | None = None,
        routes: Mapping[str, Route] | None = None,
    ) -> None:
        self._pixelmap, self._house = pixelmap, house
        self._groups, self._routes = groups or {}, {**house.routes, **(routes or {})}
        self._walks: dict[Route, Walk] = {}

    @property
    def edges(self) -> NDArray[np.int32]:
        """(N,) the number of each pixel's edge; -1 for a hidden pixel."""
        return self._pixelmap.edge

    def mask(self, names: Sequence[str]) -> Mask:
        """Return which pixels (N,) any of the names means.

        Raises
        ------
        InputError
            A name that means nothing here; the key is ``item 2``, or that of the show's group or
            route that holds the mistake.
        """
        return self._mask(names, ())

    def _mask(self, names: Sequence[str], above: tuple[str, ...]) -> Mask:
        found = np.zeros(len(self._pixelmap), bool)
        for i, name in enumerate(names):
            try:
                found |= self._one(name, above)
            except InputError as error:
                inner = error.key if error.key.startswith(("group.", "route ")) else ""
                raise InputError(error.message, key=inner or f"item {i + 1}") from None
        return found

    def _one(self, name: str, above: tuple[str, ...]) -> Mask:
        if name in self._groups and name not in above[-1:]:
            if name in above or len(above) > MAX_DEPTH:
                circle = " > ".join([*above, name])
                raise InputError(f"contains itself: {circle}", key=f"group.{name}")
            try:
                return self._group(name, (*above, name))
            except InputError as error:
                inside = error.key.startswith(("group.", "route "))
                key = error.key if inside else f"group.{name} {error.key}"
                raise InputError(error.message, key=key) from None
        if name in self._routes and name not in self._pixelmap.groups:
            return self.walk(self._routes[name]).on
        return select(self._pixelmap, self._house, [name], (*self._groups, *self._routes))

    def _group(self, name: str, above: tuple[str, ...]) -> Mask:
        places, without = self._groups[name]
        found = self._mask(places, above) if places else self._pixelmap.edge >= 0
        return np.asarray(found & ~self._mask(without, above))

    def route(self, way: object) -> Route | None:
        """Return the route that an option's value means; None if it is another way.

        Raises
        ------
        InputError
            ``"along NAME"`` of a route that neither the show nor the house has.
        """
        if isinstance(way, Route):
            return way
        if not isinstance(way, str):
            return None
        if way in AROUND or not way.startswith(_ALONG):
            return AROUND.get(way)
        name = way.removeprefix(_ALONG)
        if name not in self._routes:
            hint = unknown("route", name, self._routes) if self._routes else f'no route "{name}"'
            raise InputError(f"{hint}. Routes are [[route]] tables of the show or the house")
        return self._routes[name]

    def walk(self, route: Route) -> Walk:
        """Return a route laid on the house; each is laid once.

        Raises
        ------
        InputError
            An edge that the house doesn't have, or one without pixels.
        """
        if route not in self._walks:
            try:
                self._walks[route] = walk(self._pixelmap, self._house, route)
            except InputError as error:
                key = f'route "{route.name}", edges {error.key}' if route.name else error.key
                raise InputError(error.message, key=key) from None
        return self._walks[route]
