"""The piece of music that a show plays to, and its times in the beats of that piece.

Strategy: what is written in beats at the level of the show and its cues becomes seconds before the
file is checked, by the beats that were found. A layer that counts in beats keeps them: its own time
is one in which every beat is as long, and the renderer asks it at that time.
"""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import Any

from lumenmap.core.errors import InputError, Mistakes
from lumenmap.core.files import inside, near_file
from lumenmap.core.toml.keys import key_text
from lumenmap.motion.beats import Beats
from lumenmap.motion.reading import Reading

#: "8 beats", "2 bars", "8 ft/beat", "1 / 2 beats"; "bar 3", "beat 17", "bar 3 beat 2".
_COUNTED = re.compile(r"[\d.]\s*(?:beat|bar)s?\s*(?:$|[\d,])|/\s*(?:beat|bar)s?\s*$")
_PLACE = re.compile(r"(?:bar (\d{1,6}))? ?(?:beat (\d{1,6}))?")
#: A longer text isn't a time.
_LONGEST = 60
#: Keys of a layer whose texts are names.
_NAMES = ("name", "effect", "palette", "on", "except", "way")
#: Kept beats differ from the tempo in the file by more than this part: another tempo is meant.
_APART = 0.2


def counts(node: object) -> bool:
    """Return whether any text in a file's tables is a number of beats or bars."""
    if isinstance(node, dict):
        return any(counts(value) for key, value in node.items() if key not in _NAMES)
    if isinstance(node, list):
        return any(counts(value) for value in node)
    if not isinstance(node, str) or len(node) > _LONGEST:
        return False
    return bool(_COUNTED.search(node)) or _place(node) is not None


def sound_of(raw: dict[str, Any], path: Path) -> Path | None:
    """Return the sound file that a show names, if it names one.

    Raises
    ------
    InputError
        It lies outside the show's folder, or isn't there.
    """
    name = _top(raw).get("sound")
    if not isinstance(name, str):
        return None  # what isn't a text is the model's to refuse
    found = inside(path.parent, name)
    if found is None:
        said = f'is "{name[:80]}", outside the show\'s folder; put the sound next to the show'
        raise InputError(said, file=path, key="show.sound")
    if not found.is_file():
        said = f'no file "{name[:80]}" next to the show{near_file(found)}'
        raise InputError(said, file=path, key="show.sound")
    return found


def in_piece(
    raw: dict[str, Any], path: Path, reading: Reading
) -> tuple[dict[str, Any], Reading, Beats | None]:
    """Return a show's tables with the times of its piece, how it is read, and the beats it keeps.

    Parameters
    ----------
    raw
        The show file, unchecked, its defaults and values filled in.

    Raises
    ------
    InputError
        The sound isn't there or can't be read, its beats can't be found without a tempo, or a bar
        that it doesn't have.
    """
    sound = sound_of(raw, path)
    found = None
    if sound is not None and counts([_top(raw).get("length"), raw.get("cue")]):
        found = _found(raw, path, sound, reading.bar)
        reading = reading._replace(beat=Fraction(found.beat))
    if sound is not None and "length" not in _top(raw):
        from lumenmap.sound.read import seconds_of

        raw = {**raw, "show": {**_top(raw), "length": round(seconds_of(sound), 6)}}
    times = _Times(raw, path, reading, found)
    return times.all(), reading, found


def layers_in_beats(raw: dict[str, Any]) -> set[tuple[int, int]]:
    """Return which layers count in beats: their numbers, and those of their cues, from 0."""
    cues = raw.get("cue")
    return {
        (i, j)
        for i, cue in enumerate(cues if isinstance(cues, list) else ())
        for j, layer in enumerate(cue.get("layer", ()) if isinstance(cue, dict) else ())
        if counts(layer)
    }


def _top(raw: dict[str, Any]) -> dict[str, Any]:
    show = raw.get("show")
    return show if isinstance(show, dict) else {}


def _found(raw: dict[str, Any], path: Path, sound: Path, bar: int) -> Beats:
    """Return the beats of a show's sound, as kept next to it or found now."""
    from lumenmap.sound.labels import beats_file, beats_of

    tempo = _top(raw).get("tempo")
    kept_in = beats_file(sound)
    if kept_in.exists() and inside(kept_in.parent, kept_in.name) is None:
        said = (
            f"the file of its beats, {kept_in.name}, is a link that leads outside the show's folder"
        )
        raise InputError(said, file=path, key="show.sound")
    about = float(tempo) if isinstance(tempo, (int, float)) and tempo else None
    try:
        found = beats_of(sound, about, bar)
    except InputError as error:
        if error.key not in ("about", "bar"):
            raise
        key = "tempo" if error.key == "about" else "bar"
        raise InputError(error.message, file=path, key=f"show.{key}") from None
    kept = 60 / found.beat
    if about is not None and abs(kept / about - 1) > _APART:
        raise InputError(
            f"is {about:g}, but the beats in {kept_in.name} are {kept:.0f} a minute. "
            "Delete that file to have them found again, or leave the tempo out",
            file=path,
            key="show.tempo",
        )
    return found


def _place(text: str) -> tuple[int | None, int | None] | None:
    """Return bar and beat of "bar 3", "beat 17" or "bar 3 beat 2"; None for any other text."""
    match = _PLACE.fullmatch(" ".join(text.lower().split()))
    if match is None or match[1] is match[2] is None:
        return None
    bar, beat = (None if word is None else int(word) for word in match.groups())
    return bar, beat


class _Times:
    """The times of one file's show and cues, from beats to seconds."""

    def __init__(
        self, raw: dict[str, Any], path: Path, reading: Reading, found: Beats | None
    ) -> None:
        self.raw, self.path, self.reading, self.found = raw, path, reading, found
        self.mistakes = Mistakes()

    def all(self) -> dict[str, Any]:
        """Return the file's tables with its times in seconds."""
        if self.reading.beat is None:
            return self.raw
        made, cues = dict(self.raw), self.raw.get("cue")
        if isinstance(self.raw.get("show"), dict):
            made["show"] = self._span(_top(self.raw), ("length",), 0.0)
        if isinstance(cues, list):
            total = self._seconds(_top(made).get("length"))
            made["cue"] = [self._cue(i, cue, total) for i, cue in enumerate(cues)]
        self.mistakes.raise_all()
        return made

    def _cue(self, i: int, cue: Any, total: float | None) -> Any:
        if not isinstance(cue, dict):
            return cue
        made, start = dict(cue), cue.get("start", 0)
        place = _place(start) if isinstance(start, str) else None
        with self.mistakes.gathered(self.path, key_text(("cue", i, "start"), self.raw)):
            if place is not None:
                made["start"] = self._placed(*place)
            elif self.found is not None and counts(start):
                made["start"] = self._after(start, None)
        begin = self._seconds(made.get("start", 0))
        if self.found is None or begin is None:
            return made
        made = self._span(made, ("length", "fade_in"), begin)
        length = self._seconds(made.get("length"))
        end = total if length is None else begin + length
        return made if end is None else self._fades(made, cue, begin, end)

    def _fades(self, made: dict[str, Any], cue: dict[str, Any], begin: float, end: float) -> Any:
        """Return a cue whose fades take their beats after its start and before its end."""
        fade = cue.get("fade")
        if counts(fade):
            made.setdefault("fade_in", self._after(fade, begin))
            made.setdefault("fade_out", fade)
            del made["fade"]
        if counts(made.get("fade_out")):
            made["fade_out"] = self._after(made["fade_out"], end, -1)
        return made

    def _span(self, table: dict[str, Any], keys: tuple[str, ...], begin: float) -> dict[str, Any]:
        """Return a table whose ``keys`` in found beats are seconds after ``begin``."""
        if self.found is None:
            return table
        # The show begins with its sound, so its length in beats reaches to that beat.
        since = None if table is self.raw.get("show") else begin
        return {
            k: self._after(v, since) if k in keys and counts(v) else v for k, v in table.items()
        }

    def _placed(self, bar: int | None, beat: int | None) -> Any:
        """Return when a bar, or a beat of it, or a beat of the piece begins."""
        for number in (bar, beat):
            if number == 0:
                raise InputError("bars and beats count from 1")
        ahead = (beat or 1) - 1
        if self.found is None:
            return f"{((bar or 1) - 1) * self.reading.bar + ahead} beats"
        count = (self.found.bar(bar) if bar is not None else 0) + ahead
        return round(float(self.found.moment(count)), 6)

    def _after(self, text: Any, begin: float | None, way: int = 1) -> Any:
        """Return how long beats and seconds last from ``begin`` on; from 0 to that beat if None.

        A text that isn't a time stays, for the file's model to refuse.
        """
        assert self.found is not None
        try:
            beats, seconds = self.reading.beats_and_seconds(text)
        except InputError:
            return text
        if begin is None:
            return round(max(0.0, float(self.found.moment(beats)) + seconds), 6)
        until = self.found.moment(float(self.found.count(begin)) + way * beats)
        return round(abs(float(until) - begin) + seconds, 6)

    def _seconds(self, value: Any) -> float | None:
        try:
            return None if value is None else self.reading.duration(value)
        except (InputError, TypeError):
            return None
