"""show.toml to Show: names of effects, palettes and blends resolved, options in SI."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from pathlib import Path
from typing import Any

from lumenmap.colour.palette import Palette
from lumenmap.core.errors import InputError, Mistakes
from lumenmap.core.files import inside
from lumenmap.core.names import LONGEST
from lumenmap.core.plain import plain
from lumenmap.core.toml.reading import load_toml
from lumenmap.core.toml.tables import build, check, located
from lumenmap.core.wording import how_long
from lumenmap.motion.reading import Reading
from lumenmap.routes.route import Route
from lumenmap.routes.table import read_routes
from lumenmap.show.defaults import blamed, with_defaults
from lumenmap.show.effects.effect import Effect
from lumenmap.show.effects.registry import effects
from lumenmap.show.file import GroupTable, ShowFile
from lumenmap.show.model import Group, Show
from lumenmap.show.reader import Reader, read_palettes
from lumenmap.show.unit import unit_of
from lumenmap.show.values import with_values
from lumenmap.sound.piece import in_piece, layers_in_beats, sound_of

#: A day at 30 frames per second; anything longer is a mistake.
MOST_FRAMES = 24 * 3600 * 30


def load_show(
    path: Path | str,
    *,
    unit: str | None = None,
    effect_folders: Iterable[Path] = (),
    values: Mapping[str, float] | None = None,
) -> Show:
    """Read a show file.

    Parameters
    ----------
    path
        The TOML file.
    unit
        Of lengths and speeds without one, if neither the show nor its own house says.
    effect_folders
        Folders of effects that the user named; their code is run.
    values
        Numbers by name, in place of those in the show's [values].

    Raises
    ------
    InputError
        Everything that is wrong in the file, each mistake with its key and what is expected.
    """
    path = Path(path)
    raw = load_toml(path, "show")
    return show_from(raw, path, unit=unit, effect_folders=effect_folders, values=values)


def show_from(
    raw: dict[str, Any],
    path: Path,
    *,
    unit: str | None = None,
    effect_folders: Iterable[Path] = (),
    values: Mapping[str, float] | None = None,
    known: Mapping[str, Effect] | None = None,
) -> Show:
    """Return the show that a file's tables say; ``path`` is named in errors.

    Parameters
    ----------
    known
        The effects, if they were found already; else the installed ones and those of the folders.

    Raises
    ------
    InputError
        As `load_show`.
    """
    found = effects(effect_folders) if known is None else known
    with located(path, raw):
        bare = with_values(raw, path, values)
        filled = with_defaults(bare, path, found)
        raw, reading, beats = in_piece(filled, path, _reading(filled, path, unit))

    def make(file: ShowFile) -> Show:
        reader = Reader(path, reading, file, found)
        reader.beats = dict.fromkeys(layers_in_beats(raw), beats)
        made = _show(path, file, reader, own_house=unit is None)
        reader.mistakes.raise_all()
        return made

    try:
        return build(ShowFile, raw, path, {"reading": reading}, make)
    except InputError as error:
        if bare is filled:
            raise
        with located(path, bare):
            raise blamed(error, bare, filled) from None


def _show(path: Path, file: ShowFile, reader: Reader, *, own_house: bool) -> Show:
    top, gathered = file.show, reader.mistakes.gathered
    frames, house, length = 1, None, top.length
    assert length is not None  # that of the sound was filled in
    routes: dict[str, Route] = {}
    with gathered(path):
        routes = read_routes(file.route)
    with gathered(path, "show.length"):
        frames = _frames(length, top.fps)
    with gathered(path, "show.cross"):
        if top.cross > length / 2:
            crossed, half = how_long(float(top.cross)), how_long(float(length / 2))
            raise InputError(f"is {crossed}; expected half the show, {half}, or less")
    with gathered(path, "show.house"):
        # Played on another house, it doesn't matter where its own lies.
        house = _inside(path, top.house) if own_house else _maybe_inside(path, top.house)
    return Show(
        name=top.name or plain(path.stem, LONGEST),
        file=path,
        house=house,
        fps=top.fps,
        frames=frames,
        seed=top.seed,
        cues=tuple(reader.cue(i, cue, length) for i, cue in enumerate(file.cue)),
        cross=float(top.cross),
        match_screen=top.match_screen,
        limit=file.limit.model_dump(),
        flashing=top.flashing,
        length=length,
        beat=reader.reading.beat,
        sound=sound_of({"show": {"sound": top.sound}}, path),
        groups={name: _group(group) for name, group in file.group.items()},
        routes=routes,
    )


def _group(table: list[str] | GroupTable) -> Group:
    if isinstance(table, list):
        return tuple(table), ()
    return tuple(table.of), tuple(table.except_)


def _frames(length: Fraction, fps: float) -> int:
    frames = round(length * Fraction(repr(fps)))
    if not 1 <= frames <= MOST_FRAMES:
        raise InputError(
            f"{float(length):g} s at {fps:g} frames/s is {frames:,} frames; "
            f"expected 1 to {MOST_FRAMES:,}"
        )
    return frames


def load_palettes(path: Path) -> dict[str, Palette]:
    """Read the palettes of a show file.

    Raises
    ------
    InputError
        Everything that is wrong in the file's tables.
    """
    raw = load_toml(path, "show")
    with located(path, raw):
        raw, reading, _ = in_piece(with_values(raw, path), path, _reading(raw, path))
    file = check(ShowFile, raw, path, {"reading": reading})
    mistakes = Mistakes()
    with located(path, raw):
        made = read_palettes(path, file, mistakes)
        mistakes.raise_all()
        return made


def _reading(raw: dict[str, Any], path: Path, unit: str | None = None) -> Reading:
    """Return how the file's quantities are read, before the rest of it is checked."""
    show = raw.get("show")
    top = show if isinstance(show, dict) else {}
    tempo, bar = top.get("tempo"), top.get("bar")
    # A tempo out of range is the file model's to refuse; here it only has to be a number.
    sound = isinstance(tempo, (int, float)) and not isinstance(tempo, bool) and 0 < tempo < 1e6
    return Reading(
        unit=unit_of(raw, path, unit),
        beat=60 / Fraction(repr(tempo)) if sound else None,
        bar=bar if isinstance(bar, int) and 1 <= bar <= 16 else 4,
        folder=path.parent,
    )


def _maybe_inside(path: Path, house: str | None) -> Path | None:
    """Return the house file's path, or None if it isn't in the show's own folder."""
    return None if house is None else inside(path.parent, house)


def _inside(path: Path, house: str | None) -> Path | None:
    """Return the house file's path, which must lie in the show's own folder."""
    found = _maybe_inside(path, house)
    if house is not None and found is None:
        raise InputError(
            f'is "{house[:80]}", outside the show\'s folder; put the house next to the show, '
            "or name it on the command line with --house"
        )
    return found
