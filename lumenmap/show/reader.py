"""`Reader`: the cues and layers of one show file, with all mistakes that are in them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import TypeVar

from lumenmap.colour.palette import Palette
from lumenmap.colour.palettes import rows
from lumenmap.core.errors import InputError, Mistakes
from lumenmap.motion.beats import Beats
from lumenmap.motion.reading import Reading
from lumenmap.show.effects.effect import Effect
from lumenmap.show.file import CueTable, ShowFile
from lumenmap.show.layer_file import LAYER_KEYS, LayerTable, TurnsTable
from lumenmap.show.model import Cue, Layer, Passage, Turns
from lumenmap.show.shelf import Shelf
from lumenmap.show.shelf import made as palette_of

P = TypeVar("P")


class Reader:
    """The context in which one file's cues are read, and the mistakes found in them."""

    def __init__(
        self, path: Path, reading: Reading, file: ShowFile, known: Mapping[str, Effect]
    ) -> None:
        self.path, self.reading, self.known = path, reading, known
        self.mistakes = Mistakes()
        self.palettes = Shelf(read_palettes(path, file, self.mistakes), path.parent)
        #: The beats that were found, for each layer (cue, layer) that counts in them.
        self.beats: dict[tuple[int, int], Beats | None] = {}

    def cue(self, i: int, table: CueTable, total: Fraction) -> Cue:
        """Return a cue, ``i`` counted from 0, of a show of ``total`` s; mistakes are gathered."""
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
            layers=tuple(self._layers(key, i, table.layer)),
            easing=table.easing,
            even=table.even,
        )

    def _layers(self, key: str, cue: int, tables: Sequence[LayerTable]) -> Iterator[Layer]:
        for j, table in enumerate(tables):
            with self.mistakes.gathered(self.path, f"{key}, layer {j + 1}"):
                layer = self._layer(f"{key}, layer {j + 1}", table)
                yield replace(layer, beats=self.beats.get((cue, j)))

    def _layer(self, key: str, table: LayerTable) -> Layer:
        if table.effect not in self.known:
            from lumenmap.show.suggest import no_effect

            raise self._wrong(no_effect(table.effect, self.known), f"{key}, effect")
        effect = self.known[table.effect]
        palette = self._palette(table.palette, f"{key}, palette")
        try:
            given = dict(table.model_extra or {})
            options = effect.read(given, self.reading, beside=LAYER_KEYS)
            if table.over is not None:
                _check_over(effect, given)
        except InputError as error:
            raise self._wrong(error.message, f"{key}, {error.key}" if error.key else key) from None
        return Layer(
            effect,
            options,
            palette,
            tuple(table.on),
            table.blend,
            table.opacity,
            key,
            within=self._within(table, key),
            delay=float(table.delay),
            pace=table.pace,
            envelope=table.envelope,
            without=tuple(table.except_),
            clock=table.clock,
            palette_at=table.palette_at,
            passage=self._part(key, lambda: _passage(table)),
            turns=self._part(f"{key}, turns", lambda: self._turns(table)),
            name=table.name,
        )

    def _palette(self, wish: str | list[str], key: str) -> Palette:
        try:
            return self.palettes.find(wish)
        except InputError as error:
            if error.file is not None:  # a palette file is wrong, and says where
                raise
            inner = error.key.removeprefix("stops ") if error.key else ""
            raise self._wrong(error.message, f"{key} {inner}".rstrip()) from None

    def _turns(self, table: LayerTable) -> Turns | None:
        if table.turns is None:
            if table.clock == "turn":
                raise InputError('clock = "turn" needs turns = { … }')
            return None
        return _turns(table.turns, table.on)

    def _part(self, key: str, make: Callable[[], P]) -> P:
        """Return what a function makes of a part of a layer; its errors get the part's key."""
        try:
            return make()
        except InputError as error:
            raise self._wrong(error.message, f"{key}, {error.key}" if error.key else key) from None

    def _within(self, table: LayerTable, key: str) -> tuple[tuple[int, float, float], ...]:
        bounds = []
        for axis, name in enumerate(("across", "away", "up")):
            span = getattr(table.within, name, None)
            if span is None:
                continue
            if span[0] >= span[1]:
                raise self._wrong("expected the lower end first", f"{key}, within.{name}")
            bounds.append((axis, span[0], span[1]))
        return tuple(bounds)

    def _wrong(self, message: str, key: str) -> InputError:
        return InputError(message, file=self.path, key=key)


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
        own = [n for n in ("fade_in", "fade_out") if getattr(table, n)]
        raise InputError(
            f"the fades take {float(sum(fades)):g} s, but the cue is only {float(length):g} s long",
            key=f"{key}, {own[0] if len(own) == 1 and not table.fade else 'fade'}",
        )


def read_palettes(path: Path, file: ShowFile, mistakes: Mistakes) -> dict[str, Palette]:
    """Return the palettes of a show file by name; mistakes are gathered."""
    made = {}
    for name, table in file.palette.items():
        made[name] = rows()[0].palette  # stands in, until all mistakes are found
        with mistakes.gathered(path):
            if not name.strip():
                raise InputError("a palette needs a name", file=path, key="palette")
            made[name] = palette_of(name, table, path, f"palette.{name}")
    return made
