"""A show of one effect, from the command line instead of a file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from lumenmap.colour.palette import Palette
from lumenmap.core.errors import InputError
from lumenmap.motion.reading import Reading
from lumenmap.show.effects.effect import Effect
from lumenmap.show.model import Cue, Layer, Show
from lumenmap.show.suggest import no_effect

#: The file name in errors about the command line.
_HERE = Path("command line")
#: Frames a second of a trial.
_FPS = 30.0


def quick(
    effect: Effect,
    palette: Palette,
    given: Iterable[str],
    *,
    unit: str,
    seconds: float = 12.0,
) -> Show:
    """Return a show that plays one effect on the whole house.

    Parameters
    ----------
    given
        Options as ``name=value``; pictures are read from the working directory.
    unit
        The length unit of a bare number.

    Raises
    ------
    InputError
        Not written as ``name=value``, or not an option or a value of this effect.
    """
    options = effect.read(dict(_split(text) for text in given), Reading(unit, folder=Path()))
    layer = Layer(effect, options, palette, (), "normal", 1.0, effect.name)
    frames = max(1, round(seconds * _FPS))
    cue = Cue(effect.name, 0.0, frames / _FPS, 0.0, 0.0, (layer,))
    return Show(f"{effect.name}, {palette.name}", _HERE, None, _FPS, frames, 1, (cue,))


def _split(text: str) -> tuple[str, object]:
    name, equals, value = text.partition("=")
    if not equals or not name.strip() or not value.strip():
        raise InputError(
            f'"{text[:60]}" isn\'t an option; expected name=value, such as speed="6 ft/s"'
        )
    return name.strip(), _value(value.strip())


def _value(text: str) -> Any:
    """Return a number if the text is one, as in a file."""
    for number in (int, float):
        try:
            return number(text)
        except ValueError:
            continue
    return text


def find(known: Mapping[str, Effect], name: str) -> Effect:
    """Return the effect of a name.

    Raises
    ------
    InputError
        There is none; suggests the nearest.
    """
    if name not in known:
        raise InputError(no_effect(name, known))
    return known[name]
