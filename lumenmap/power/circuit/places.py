"""`LinePlaces`: where things are on a line, along it and along the string's own wire.

Strategy: a place has two coordinates. ``along`` is how far it is from the line's start as the line
runs, jumpers included, which is what people measure. ``wire`` is how much of the string's own wire
lies before it, which is what resists: a string's wire may be longer than its holes are apart.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.lengths import show_about, show_length
from lumenmap.house.model import House
from lumenmap.house.positions import position
from lumenmap.pixels.pixelmap import LineSpan, PixelMap

F = NDArray[np.float64]

#: Places on a line nearer to each other than this (m) are one place.
SAME_POSITION = 1e-6


class Place(NamedTuple):
    """A place on a line: m along it, m of string wire before it, and its connector's number."""

    along: float
    wire: float
    connector: int | None = None


class LinePlaces:
    """The places of a line: its pixels, its connectors, and any other that a file names.

    Parameters
    ----------
    house
        For its strings and its unit.
    span
        The line.
    along
        (N,) m along the line of each of its pixels.
    """

    def __init__(self, house: House, span: LineSpan, along: F) -> None:
        self.span, self.unit, self.along = span, house.unit, along
        self._file = house.file
        self._string, self._holes = house.string, float(house.rail.hole_spacing)
        between = self._between()
        first = max(float(along[0]), self._string.tail)
        last = max(span.length - float(along[-1]), self._string.tail)
        #: (N,) m of string wire before each pixel, and before the line's end.
        self.wire: F = first + np.concatenate([[0.0], np.cumsum(between)])
        self.wire_length = float(self.wire[-1]) + last
        self._knots = np.concatenate([[0.0], along, [span.length]])
        self._wires = np.concatenate([[0.0], self.wire, [self.wire_length]])
        self.connectors = self._connectors()
        self._joined = np.array([c.along for c in self.connectors])

    def _joins(self) -> NDArray[np.intp]:
        """Return how many pixels lie before each connector that joins two strings."""
        size = self._string.pixels or self.span.count
        return np.arange(size, self.span.count, size)

    def _between(self) -> F:
        """Return m of string wire (N - 1,) from each pixel to the next."""
        apart = np.diff(self.along)
        own = self._string.spacing or 0.0
        # Hidden pixels lie at one place; their wire is as long as anywhere else.
        least = np.where(apart < SAME_POSITION, own or self._holes, own)
        least[self._joins() - 1] = np.maximum(least[self._joins() - 1], 2 * self._string.tail)
        longest: F = np.maximum(apart, least)
        return longest

    def _connectors(self) -> tuple[Place, ...]:
        """Return the connectors in order; the first is the start, the last the end."""
        k = self._joins()
        along = (self.along[k - 1] + self.along[k]) / 2
        wire = (self.wire[k - 1] + self.wire[k]) / 2
        rows = [(0.0, 0.0), *zip(along.tolist(), wire.tolist(), strict=True)]
        rows.append((self.span.length, self.wire_length))
        return tuple(Place(x, w, n) for n, (x, w) in enumerate(rows, 1))

    def place(self, text: str, key: str) -> Place:
        """Return a place as a file writes it.

        Raises
        ------
        InputError
            Not a place, or one that this line doesn't have.
        """
        try:
            return self._place(text, key)
        except InputError as error:  # asked by the wiring, by what judges it, by maps and sheets
            raise error.at(file=self._file) from None

    def _place(self, text: str, key: str) -> Place:
        found = position(text, self.unit, key)
        if found.kind == "start":
            return self.connectors[0]
        if found.kind == "end":
            return self.connectors[-1]
        if found.kind == "connector":
            return self._connector(found.number, key)
        if found.kind == "pixel":
            k = self._pixel(found.number, self.span.count, text, key)
            return Place(float(self.along[k]), float(self.wire[k]))
        if found.kind == "middle":
            return self.nearby(self.span.length / 2)
        if not 0 <= found.metres <= self.span.length + 1e-3:
            long = show_length(self.span.length, self.unit)
            raise InputError(f'is "{text[:40]}", but the line is {long} long', key=key)
        return self.nearby(min(found.metres, self.span.length))

    def at(self, text: str, key: str) -> float:
        """Return m along the line of a place as a file writes it; raises as `place`."""
        return self.place(text, key).along

    def cut(self, text: str, key: str) -> float:
        """Return m of string wire to a cut, which removes the stretch that ends or goes on there.

        Raises
        ------
        InputError
            Not a cut, or not on this line.
        """
        found = position(text, self.unit, key, cut=True)
        if found.kind != "after pixel":
            return self.place(text, key).wire
        k = self._pixel(found.number, self.span.count - 1, text, key)
        return float(self.wire[k]) + SAME_POSITION / 2

    def nearby(self, along: float) -> Place:
        """Return the place so many m along the line; the first of several hidden pixels."""
        k = int(np.searchsorted(self._knots, along - SAME_POSITION))
        if k == len(self._knots) or abs(self._knots[k] - along) <= SAME_POSITION:
            k = min(k, len(self._knots) - 1)
            number = {0: 1, len(self._knots) - 1: len(self.connectors)}.get(k)
            return Place(float(self._knots[k]), float(self._wires[k]), number)
        part = (along - self._knots[k - 1]) / (self._knots[k] - self._knots[k - 1])
        wire = float(self._wires[k - 1] + part * (self._wires[k] - self._wires[k - 1]))
        c = self.nearest_connector(along)
        return c if abs(c.wire - wire) <= SAME_POSITION else Place(along, wire)

    def nearest_connector(self, along: float) -> Place:
        """Return the connector nearest to a place, the earlier one of two."""
        k = int(np.searchsorted(self._joined, along))
        near = self.connectors[max(0, k - 1) : k + 1]
        return min(near, key=lambda c: abs(c.along - along))

    def along_at(self, wire: float | F) -> F:
        """Return m along the line where so many m of string wire lie before."""
        return np.asarray(np.interp(wire, self._wires, self._knots))

    def pixel_before(self, wire: float) -> int:
        """Return the number, from 1, of the last pixel up to there; 0 before the first."""
        return int(np.searchsorted(self.wire, wire + SAME_POSITION))

    def _connector(self, number: int, key: str) -> Place:
        if self._string.pixels is None:
            raise InputError(
                f'is "connector {number}", but how many pixels a string has isn\'t known; write '
                "[string] pixels, or start or end",
                key=key,
            )
        if not 1 <= number <= len(self.connectors):
            raise InputError(
                f'is "connector {number}"; line "{self.span.name}" has connectors 1 to '
                f"{len(self.connectors)}, its start and end among them",
                key=key,
            )
        return self.connectors[number - 1]

    def _pixel(self, number: int, most: int, text: str, key: str) -> int:
        if not 1 <= number <= most:
            raise InputError(
                f'is "{text[:40]}"; expected 1 to {most} on line "{self.span.name}"', key=key
            )
        return number - 1


def line_places(house: House, pixelmap: PixelMap) -> dict[str, LinePlaces]:
    """Return the places of each line by its name."""
    return {s.name: LinePlaces(house, s, pixelmap.along_line[s.slice]) for s in pixelmap.lines}


def show_pixels(places: LinePlaces, wire: float) -> str:
    """Say a place by its pixels and its distance: ``between pixels 80 and 81, 26 ft 8 in``."""
    along = show_about(float(places.along_at(wire)), places.unit)
    before = places.pixel_before(wire)
    if before and wire - places.wire[before - 1] <= SAME_POSITION:
        return f"at pixel {before}, {along}"
    if before == 0:
        return "before pixel 1"
    if before == places.span.count:
        return f"after pixel {before}, the last"
    return f"between pixels {before} and {before + 1}, {along}"
