"""Shows composed in Python, with the words of a show file and the same checks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from lumenmap.show.load import show_from
from lumenmap.show.model import Show

#: A quantity as a show file has it: a number in the show's unit, or a string with its own.
Quantity = float | str
#: A ``[[cue.layer]]`` and a ``[[cue]]``, as `layer` and `cue` make them.
LayerContent = dict[str, Any]
CueContent = dict[str, Any]


#: Tables of a show file next to ``[show]``, its palettes and cues.
_TABLES = ("defaults", "group", "limit", "route", "values")


def layer(
    effect: str,
    palette: str | Sequence[str] = "",
    on: str | Sequence[str] = (),
    **keys: object,
) -> LayerContent:
    """Return a layer: one effect, for `cue`.

    Parameters
    ----------
    effect, palette
        Names, as ``lumenmap effects`` and ``lumenmap palette list`` show them; for a palette also
        one that `compose` is given, a colour, or a list of colours.
    on
        Edges, masses, kinds, groups, routes or patterns; the whole house if empty.
    **keys
        The effect's options and a layer's other keys, as in a show file: ``opacity=0.5``, or a
        ramp as a dictionary, ``opacity={"from": 0, "to": 1, "over": "10 s"}``;
        ``turns={"parts": 8, "every": "1 s"}``; ``except_`` for places that it leaves
        alone.
    """
    places = [on] if isinstance(on, str) else list(on)
    content: LayerContent = {"effect": effect, **keys}
    if places:
        content["on"] = places
    colours = palette if isinstance(palette, str) else list(palette)
    return content | ({"palette": colours} if colours else {})


def cue(*layers: LayerContent, **keys: object) -> CueContent:
    """Return a cue: layers that play together, for `compose`.

    Parameters
    ----------
    *layers
        From `layer`, the lowest first.
    **keys
        ``name``, ``start``, ``length``, ``fade``, ``fade_in``, ``fade_out``, ``easing`` and
        ``even``, as in a show file.
    """
    return {**keys, "layer": list(layers)}


def compose(
    *cues: CueContent,
    length: Quantity | None = None,
    palettes: Mapping[str, Sequence[str] | Mapping[str, object]] | None = None,
    folder: Path | str = ".",
    effect_folders: Iterable[Path] = (),
    **keys: object,
) -> Show:
    """Return a show of cues, checked as a show file is.

    Parameters
    ----------
    *cues
        From `cue`.
    length
        How long the loop is: s, or a string such as "12 s"; with a ``sound``, as long as that if
        left out.
    palettes
        The show's own, by name: CSS colours, or a table as in a show file.
    folder
        Where pictures that layers name, and the sound, are found.
    effect_folders
        Folders of effects of your own; their code is run.
    **keys
        Others of the ``[show]`` table: ``name``, ``unit``, ``fps``, ``tempo``, ``bar``, ``sound``,
        ``cross``, ``match_screen``, ``seed``, ``flashing``; and the tables ``values``,
        ``defaults``, ``limit``, ``group`` and ``route``.

    Raises
    ------
    InputError
        Anything wrong, with the show's name in place of the file, and its key.
    """
    tables = {name: keys.pop(name) for name in _TABLES if name in keys}
    content: dict[str, Any] = {
        "show": keys if length is None else {"length": length, **keys},
        "palette": {name: _palette(given) for name, given in (palettes or {}).items()},
        "cue": list(cues),
        **tables,
    }
    title = str(keys.get("name") or "composed show")
    return show_from(content, Path(folder) / title, effect_folders=effect_folders)


def _palette(given: Sequence[str] | Mapping[str, object]) -> dict[str, object]:
    return dict(given) if isinstance(given, Mapping) else {"stops": list(given)}
