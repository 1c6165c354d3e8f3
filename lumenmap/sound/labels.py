"""Beats as a text of times and labels, which audio editors read and write as a label track.

A line is ``start<TAB>end<TAB>label``, times in seconds. A beat's label is its place in the bar: 1,
2, 3, 4. Whoever moves, adds or deletes labels in an editor changes the beats of the show.

The last label, at the end of the sound, names the recording by a checksum. Where another has taken
the file's place, its beats are found anew, and the ones before are put aside. Whoever deletes that
label keeps the others for good.
"""

from __future__ import annotations

import hashlib
import os
import re
from pathlib import Path

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.core.files import near_file, write_whole
from lumenmap.core.notices import notice
from lumenmap.core.regular import open_regular, read_regular
from lumenmap.motion.beats import Beats
from lumenmap.sound.beats import find_beats, tempo_guesses
from lumenmap.sound.read import read_sound

ENDING = ".beats.txt"
#: A text of half an hour of beats is far smaller.
_LARGEST = 1 << 20
#: The last label; and how much of a file's beginning and of its end are looked at to tell it from
#: another, which is soon done for the longest recording too (bytes).
_RECORDING = "end of recording"
_MARK = re.compile(rf"{_RECORDING} ([0-9a-f]{{12}})")
_LOOKED_AT = 1 << 20


def beats_file(sound: Path) -> Path:
    """Return where the beats of a sound file are kept: next to it."""
    return sound.with_name(f"{sound.stem}{ENDING}")


def beats_of(
    sound: Path, about: float | None = None, bar: int = 4, *, again: bool = False
) -> Beats:
    """Return the beats of a sound file: as kept next to it, or else found, and kept.

    Parameters
    ----------
    about, bar
        As for `find_beats`; only needed while none are kept.
    again
        Find them even if some are kept, and keep these instead.

    Raises
    ------
    InputError
        As `read_sound`, `find_beats` and `read_labels`; no tempo where one is needed.
    """
    if not sound.exists():
        raise InputError(f"no such file{near_file(sound)}", file=sound)
    kept = beats_file(sound)
    recording = recording_of(sound)
    other = False
    if kept.exists() and not again:
        found = read_labels(kept)
        other = bool(recording) and _marked(kept) not in ("", recording)
        if not other:
            return found
    heard = read_sound(sound)
    try:
        if about is None:
            slow, quick = tempo_guesses(heard)
            guess = f"perhaps {slow:.0f} or {quick:.0f} beats a minute"
            raise InputError(f"say about how fast {sound.name} is: {guess}", key="about")
        found = find_beats(heard, about, bar)
    except InputError as error:
        if error.key:  # it is a parameter, and not the sound, that is wrong
            raise
        raise error.at(file=sound) from None
    try:
        if other:
            before = kept.with_name(f"{sound.stem}.beats.old.txt")
            kept.replace(before)
            notice(
                f"{sound.name} isn't the recording that its beats were found in: they were found "
                f"anew, and those before are in {before.name}"
            )
        write_labels(kept, found, heard.seconds, recording)
    except OSError as error:
        notice(f"the beats of {sound.name} couldn't be kept: {error.strerror or error}")
    except InputError as error:  # a folder that can't be written doesn't stop the show
        notice(f"the beats of {sound.name} couldn't be kept: {error.message}")
    return found


def recording_of(sound: Path) -> str:
    """Return a checksum that tells a sound file from others; empty if it can't be read."""
    try:
        with open_regular(sound) as file:
            size = file.seek(0, os.SEEK_END)
            file.seek(0)
            begin = file.read(_LOOKED_AT)
            file.seek(max(0, size - _LOOKED_AT))
            end = file.read(_LOOKED_AT)
    except (OSError, InputError):
        return ""
    return hashlib.sha256(b"%d" % size + begin + end).hexdigest()[:12]


def write_labels(path: Path, beats: Beats, seconds: float = 0.0, recording: str = "") -> None:
    """Write beats as a label track, with the checksum of a recording of so many seconds."""
    rows: list[tuple[float, object]] = list(
        zip(beats.times.tolist(), beats.places.tolist(), strict=True)
    )
    if recording:
        rows.append((max(seconds, rows[-1][0] + 0.001), f"{_RECORDING} {recording}"))
    write_whole(path, "".join(f"{t:.3f}\t{t:.3f}\t{label}\n" for t, label in rows))


def _marked(path: Path) -> str:
    """Return the checksum of the recording that labels were found in; empty if they don't say."""
    found = _MARK.search(read_regular(path, _LARGEST, "a text of beats").decode("utf-8-sig"))
    return found[1] if found else ""


def read_labels(path: Path) -> Beats:
    """Read beats from a label track; a label that is no number goes on counting.

    Raises
    ------
    InputError
        A line of another form, times that fall, or no labels.
    """
    try:
        text = read_regular(path, _LARGEST, "a text of beats").decode("utf-8-sig")
    except (OSError, ValueError) as error:
        raise InputError(f"can't be read: {error}", file=path) from None
    times: list[float] = []
    places: list[int] = []
    for number, line in enumerate(text.splitlines(), 1):
        if not line.strip() or line.startswith("\\"):  # an editor's note on frequencies
            continue
        if _MARK.search(line):
            continue
        start, _, rest = line.partition("\t")
        label = rest.rpartition("\t")[2].strip()
        try:
            at = float(start)
        except ValueError:
            at = float("nan")
        if not 0 <= at < 1e6 or (times and at <= times[-1]):
            raise InputError(
                f'line {number} is "{line[:40]}"; expected a time after the one before, a tab, '
                "the time again, a tab, and a label",
                file=path,
            )
        times.append(at)
        counted = label.isdecimal() and 0 < int(label[:3]) < 100
        places.append(int(label[:3]) if counted else (places[-1] + 1 if places else 1))
    if len(times) < 2:
        count = "one label" if times else "no labels"
        raise InputError(f"has {count}; delete it to have the beats found again", file=path)
    return Beats(np.array(times), np.array(places))
