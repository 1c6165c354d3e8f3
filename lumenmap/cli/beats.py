"""lumenmap beats: find the beats and bars of a sound file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Json, print_report


def beats(
    sound: Annotated[
        Path, typer.Argument(metavar="SOUND", help="The sound file: WAV, FLAC, Ogg or MP3.")
    ],
    about: Annotated[
        float | None,
        typer.Option(help="About how many beats a minute you would tap, to within 6 %."),
    ] = None,
    bar: Annotated[int, typer.Option(help="Beats in a bar.")] = 4,
    again: Annotated[
        bool, typer.Option("--again", help="Find them again and replace those that were kept.")
    ] = False,
    as_json: Json = False,
) -> None:
    """Find the beats and bars of a sound file, for shows that play to it.

    They are kept next to the sound as a text of times and labels. Audio editors open it as a label
    track; move, add or delete labels there, and shows follow. The last label names the recording:
    if another takes the file's place, its beats are found anew, and those before are put aside.

    Example: lumenmap beats my-house/song.ogg --about 128
    """
    from lumenmap.sound.labels import beats_file, beats_of
    from lumenmap.sound.words import report, sentences

    kept = beats_file(sound)
    read = kept.exists() and not again
    found = beats_of(sound, about, bar, again=again)
    said = f"read from {kept}; --again finds them again" if read else f"kept in {kept}"
    said_file = said if kept.exists() else "not kept"
    lines = [*sentences(found, about), said_file]
    print_report({"sound": str(sound), "file": str(kept), **report(found)}, lines, as_json)
