"""show.toml to Show: names of effects, palettes and blends resolved, options in SI."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any, TypeVar

from lumenmap.colour.palette import Palette
from lumenmap.colour.palettes import builtin
from lumenmap.core.errors import InputError, Mistakes
from lumenmap.core.files import inside
from lumenmap.core.names import LONGEST
from lumenmap.core.plain import plain
from lumenmap.core.tables import build, check, load_toml, located
from lumenmap.motion.beats import Beats
from lumenmap.motion.reading import Reading
from lumenmap.routes.route import Route
from lumenmap.routes.table import read_routes
from lumenmap.show.defaults import with_defaults
from lumenmap.show.effects.registry import Effect, effects
from lumenmap.show.file import (
    CueTable,
    GroupTable,
    LayerTable,
    ShowFile,
    TurnsTable,
)
from lumenmap.show.model import Cue, Group, Layer, Passage, Show, Turns
from lumenmap.show.shelf import Shelf
from lumenmap.show.shelf import made as palette_of
from lumenmap.show.suggest import no_effect
from lumenmap.show.unit import unit_of
from lumenmap.show.values import with_values
from lumenmap.sound.piece import in_piece, layers_in_beats, sound_of

P = TypeVar("P")

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
    known: dict[str, Effect] | None = None,
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
        raw = with_defaults(with_values(raw, path, values), path, found)
        raw, reading, beats = in_piece(raw, path, _reading(raw, path, unit))

    def make(file: ShowFile) -> Show:
        reader = _Reader(path, reading, file, found)
        reader.beats = dict.fromkeys(layers_in_beats(raw), beats)
        made = _show(path, file, reader, own_house=unit is None)
        reader.mistakes.raise_all()
        return made

    return build(ShowFile, raw, path, {"reading": reading}, make)


def _show(path: Path, file: ShowFile, reader: _Reader, *, own_house: bool) -> Show:
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
            raise InputError("is over half the show")
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
            f"{float(length):g} s at {fps:g} frames/s is {frames} frames; "
            f"expected 1 to {MOST_FRAMES}"
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
        made = _palettes(path, file, mistakes)
        mistakes.raise_all()
        return made


def _palettes(path: Path, file: ShowFile, mistakes: Mistakes) -> dict[str, Palette]:
    made = {}
    for name, table in file.palette.items():
        made[name] = next(iter(builtin().values()))  # stands in, until all mistakes are found
        with mistakes.gathered(path):
            if not name.strip():
                raise InputError("a palette needs a name", file=path, key="palette")
            made[name] = palette_of(name, table, path, f"palette.{name}")
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


def _turns(table: TurnsTable, on: Sequence[str]) -> Turns:
    if table.parts is None and len(on) < 2:
        raise InputError(
            'needs places that take turns: list them in `on`, or write parts = 8 and way = "line"'
        )
    most = len(on) if table.parts is None else 1000 if table.parts == "edges" else table.parts
    if table.first is not None and table.first > most:
        raise InputError(f"first is {table.first}; there are {most} places")
    return Turns(
        table.every,
        table.lit,
        table.order,
        table.first,
        table.parts,
        table.way,
        float(table.fade),
        table.rounds,
        table.then,
        table.gap,
    )


def _check_over(effect: Effect, given: Mapping[str, object]) -> None:
    """Check that an effect has what ``over`` sets, and that it isn't given as well."""
    driven = effect.driven_by
    if not driven:
        raise InputError(
            f'the effect "{effect.name}" has no passage that `over` could time', key="over"
        )
    if driven in given:
        raise InputError(f"stands for `{driven}`; give one of the two", key="over")


def _passage(table: LayerTable) -> Passage | None:
    if table.over is None:
        if table.times:
            raise InputError(
                'needs `over`, the time of one passage, such as over = "6 s"', key="times"
            )
        return None
    if table.over <= 0:
        raise InputError("is 0 s; expected a time above 0", key="over")
    return Passage(float(table.over), table.times, table.then)


class _Reader:
    """The context in which one file's cues are read, and the mistakes found in them."""

    def __init__(
        self, path: Path, reading: Reading, file: ShowFile, known: dict[str, Effect]
    ) -> None:
        self.path, self.reading, self.known = path, reading, known
        self.mistakes = Mistakes()
        self.palettes = Shelf(_palettes(path, file, self.mistakes), path.parent)
        #: The beats that were found, for each layer (cue, layer) that counts in them.
        self.beats: dict[tuple[int, int], Beats | None] = {}

    def cue(self, i: int, table: CueTable, total: Fraction) -> Cue:
        key = f'cue "{table.name}"' if table.name else f"cue {i + 1}"
        length = table.length if table.length is not None else total - table.start
        fades = [f if f is not None else table.fade for f in (table.fade_in, table.fade_out)]
        with self.mistakes.gathered(self.path, key):
            _check_times(key, table, length, fades, total)
        return Cue(
            name=table.name or f"cue {i + 1}",
            start=float(table.start),
            length=float(length),
            fade_in=float(fades[0]),
            fade_out=float(fades[1]),
            layers=tuple(self.layers(key, i, table.layer)),
            easing=table.easing,
            even=table.even,
        )

    def layers(self, key: str, cue: int, tables: Sequence[LayerTable]) -> Iterator[Layer]:
        for j, table in enumerate(tables):
            with self.mistakes.gathered(self.path, f"{key}, layer {j + 1}"):
                layer = self.layer(f"{key}, layer {j + 1}", table)
                yield replace(layer, beats=self.beats.get((cue, j)))

    def layer(self, key: str, table: LayerTable) -> Layer:
        if table.effect not in self.known:
            raise self.wrong(no_effect(table.effect, self.known), f"{key}, effect")
        effect = self.known[table.effect]
        palette = self.palette(table.palette, f"{key}, palette")
        try:
            given = dict(table.model_extra or {})
            options = effect.read(given, self.reading)
            if table.over is not None:
                _check_over(effect, given)
        except InputError as error:
            raise self.wrong(error.message, f"{key}, {error.key}" if error.key else key) from None
        return Layer(
            effect,
            options,
            palette,
            tuple(table.on),
            table.blend,
            table.opacity,
            key,
            within=self.within(table, key),
            delay=float(table.delay),
            pace=table.pace,
            envelope=table.envelope,
            without=tuple(table.except_),
            clock=table.clock,
            palette_at=table.palette_at,
            passage=self.part(key, lambda: _passage(table)),
            turns=self.part(f"{key}, turns", lambda: self.turns(table)),
            name=table.name,
        )

    def palette(self, wish: str | list[str], key: str) -> Palette:
        try:
            return self.palettes.find(wish)
        except InputError as error:
            if error.file is not None:  # a palette file is wrong, and says where
                raise
            inner = error.key.removeprefix("stops ") if error.key else ""
            raise self.wrong(error.message, f"{key} {inner}".rstrip()) from None

    def turns(self, table: LayerTable) -> Turns | None:
        if table.turns is None:
            if table.clock == "turn":
                raise InputError('clock = "turn" needs turns = { … }')
            return None
        return _turns(table.turns, table.on)

    def part(self, key: str, make: Callable[[], P]) -> P:
        """Return what a function makes of a part of a layer; its errors get the part's key."""
        try:
            return make()
        except InputError as error:
            raise self.wrong(error.message, f"{key}, {error.key}" if error.key else key) from None

    def within(self, table: LayerTable, key: str) -> tuple[tuple[int, float, float], ...]:
        bounds = []
        for axis, name in enumerate(("across", "away", "up")):
            span = getattr(table.within, name, None)
            if span is None:
                continue
            if span[0] >= span[1]:
                raise self.wrong("expected the lower end first", f"{key}, within.{name}")
            bounds.append((axis, span[0], span[1]))
        return tuple(bounds)

    def wrong(self, message: str, key: str) -> InputError:
        return InputError(message, file=self.path, key=key)


def _check_times(
    key: str, table: CueTable, length: Fraction, fades: Sequence[Fraction], total: Fraction
) -> None:
    if table.start >= total:
        raise InputError(
            f"starts at {float(table.start):g} s, but the show is {float(total):g} s long",
            key=f"{key}, start",
        )
    if length <= 0:
        raise InputError("is 0 s; expected a length above 0", key=f"{key}, length")
    if sum(fades) > length:
        raise InputError(
            f"the fades take {float(sum(fades)):g} s, but the cue is only {float(length):g} s long",
            key=f"{key}, fade",
        )
