"""A call from one side of the house, and the answer from the other."""

from __future__ import annotations

from typing import Annotated

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.motion import chance
from lumenmap.motion.at import At, F
from lumenmap.motion.options import Count, Duration, Seed, Share, Way
from lumenmap.motion.shapes import bump, smooth
from lumenmap.motion.varying import Varying, now
from lumenmap.motion.ways import measure


def antiphon(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    note: Annotated[float, Duration("how long a note lasts", low=0.4, high=10)] = 0.6,
    notes: Annotated[int, Count("notes of a call", low=1, high=12)] = 5,
    breadth: Annotated[Varying, Share("width of a note, as a fraction of a side", low=0.05)] = 0.6,
    least: Annotated[Varying, Share("light where no note sounds")] = 0.1,
    way: Annotated[str, Way("what the two sides are halves of")] = "across",
    seed: Annotated[int, Seed("chooses the melodies")] = 0,
) -> Light:
    """Call from one side of the house and answer from the other, then both sing together.

    Found by: call and answer, duet, conversation, echo, dialogue, music, left and right,
    question.
    """
    distance = measure(at, way)
    place = 2 * distance.metres / distance.whole - 1  # -1 to 0 calls, 0 to 1 answers
    answers = place > 0
    # A round: the call, a breath, its answer, a breath, and the last note of both.
    phrase = notes + 1
    beats = t / note
    turn = np.floor(beats / (2 * phrase + 2))
    beat = beats - turn * (2 * phrase + 2)
    melody = chance.key(seed, turn.astype(np.int64))
    total = np.zeros((len(t), len(at.xyz)))
    for n in range(notes):
        # The answer mirrors the call: its notes go inwards where those went inwards.
        high = 0.12 + 0.76 * chance.share(chance.key(melody, n))
        off = (np.abs(place) - high) / now(breadth)
        begins = n + phrase * answers
        # A note of two beats' length now and then; it dies away as a struck string does.
        age = (beat - begins) / (1 + (chance.share(chance.key(melody, n, 7)) > 0.7))
        level = smooth(age / 0.18) * np.clip(1 - (age - 0.2) / 1.3, 0, 1) ** 2
        total = np.maximum(total, level * bump(off))
    both = beat - 2 * phrase
    chord = smooth(both / 0.3) * np.clip(1 - (both - 0.4) / 1.6, 0, 1) ** 2
    total = np.maximum(total, 0.85 * chord)
    # Each side keeps its colour through a round, and takes the next one then.
    light = palette.stop(turn + np.where(answers, 1, 0))
    return dim(light, now(least) + (1 - now(least)) * total)
