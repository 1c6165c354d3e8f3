"""Kinds of option that are written as words: choices, ways along the house, corners, pictures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.plain import shown
from lumenmap.motion import raster, ways
from lumenmap.motion.at import At
from lumenmap.motion.kind import Kind
from lumenmap.motion.reading import Reading
from lumenmap.routes.route import MOST, Route, checked, written


@dataclass(frozen=True, slots=True)
class Word(Kind):
    """The base of options that aren't numbers."""

    by_frames: ClassVar[bool] = False
    gradual: ClassVar[bool] = False

    def read(self, value: object, reading: Reading) -> Any:
        """Return the word.

        Raises
        ------
        InputError
            Not a string, or not one of the words; suggests the nearest.
        """
        if not isinstance(value, str) or not 0 < len(value) < 200:
            raise InputError(f"is {shown(value)}; expected {self.expected(reading.unit)}")
        return self._find(value, reading)

    def contains(self, value: Any) -> bool:
        """Return whether a value is a word that may be written."""
        return isinstance(value, str)

    def text(self, value: Any, unit: str = "m") -> str:
        """Return the word itself."""
        return str(value)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema: a string."""
        return {"type": "string"}

    def _find(self, value: str, reading: Reading) -> Any:
        return value


@dataclass(frozen=True, slots=True)
class Choice(Word):
    """One word of ``names``."""

    names: tuple[str, ...] = ()

    def expected(self, unit: str = "m") -> str:
        """List the words."""
        return ", ".join(self.names)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema: one of the words."""
        return {"enum": list(self.names)}

    def contains(self, value: Any) -> bool:
        """Return whether it is one of the words."""
        return value in self.names

    def _find(self, value: str, reading: Reading) -> str:
        if value not in self.names:
            raise InputError(unknown("choice", value, self.names))
        return value


class Way(Word):
    """The path that the effect follows: a word of `lumenmap.motion.ways`, or a list of edges."""

    def read(self, value: object, reading: Reading) -> Any:
        """Return the way: a word, or the `Route` along a list of edges.

        Raises
        ------
        InputError
            Not a way; suggests the nearest. A list with anything but names, or the same edge twice.
        """
        if not isinstance(value, list):
            return Word.read(self, value, reading)
        if not 0 < len(value) <= MOST or not all(isinstance(v, str) for v in value):
            raise InputError(f"isn't a list of edges such as {ways.LISTED}; one has 1 to {MOST:,}")
        return Route(checked(map(written, value)))

    def contains(self, value: Any) -> bool:
        """Return whether a value is a word that may be written, or a route."""
        return isinstance(value, (str, Route))

    def expected(self, unit: str = "m") -> str:
        """List the ways."""
        return ", ".join([*ways.WAYS, *ways.OTHER_WAYS])

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema: one of the ways, a corner to start from, a route, or edges."""
        return {
            "anyOf": [
                {"enum": list(ways.WAYS)},
                {"type": "string", "pattern": "^(from|along) .+"},
                {"type": "array", "items": {"type": "string"}, "minItems": 1, "maxItems": MOST},
            ]
        }

    def _find(self, value: str, reading: Reading) -> str | Route:
        return ways.check(value)

    def check_on(self, value: Any, at: At) -> None:
        """Check that the house has the corner that the way starts from."""
        if isinstance(value, str) and value.startswith("from "):
            ways.point(at, value.removeprefix("from "))


class Corner(Word):
    """A named corner of the house, or a place that any house has; see `ways.point`."""

    def check_on(self, value: Any, at: At) -> None:
        """Check that the house has the corner."""
        ways.point(at, value)

    def expected(self, unit: str = "m") -> str:
        """List the places of any house."""
        return f"a corner of the house, or {', '.join(ways.PLACES)}"


class Picture(Word):
    """A picture, still or animated, in the show's folder; read to a `raster.Raster`."""

    def expected(self, unit: str = "m") -> str:
        """Return which files can be read."""
        return "a picture file in the show's folder (PNG, JPEG, GIF, WebP)"

    def _find(self, value: str, reading: Reading) -> raster.Raster:
        return raster.load(value, reading.folder)
