"""Shows that play to a piece of music: what happens on its beats, however they breathe."""

import shutil
from pathlib import Path

import numpy as np
import pytest
import soundfile

from lumenmap.frames.render import render_block
from lumenmap.jobs.project import load
from tests.sound.pieces import RATE, beats_at, piece

HOUSE = Path(__file__).resolve().parents[2] / "examples" / "alder-cottage" / "house.toml"
#: Hits within so much (s) count, as for mir_eval's F-measure.
NEAR = 0.07


def drifting(t):
    return 100 - 20 * np.cos(2 * np.pi * t / 60)


@pytest.fixture(scope="module")
def recorded(tmp_path_factory):
    """A made-up piece that drifts from 80 to 120 a minute and back, and its house."""
    folder = tmp_path_factory.mktemp("drift")
    samples, beats = piece(beats_at(drifting, 60))
    soundfile.write(folder / "song.flac", samples, RATE)
    shutil.copy(HOUSE, folder)
    return folder, beats


def written(folder, text, name="show.toml"):
    (folder / name).write_text(text)
    return folder / name


EDGES = """
[show]
house = "house.toml"
sound = "song.flac"
tempo = 100
fps = 60
[[cue]]
start = "beat 1"
[[cue.layer]]
effect = "still"
turns = { parts = "edges", every = "1 beat" }
"""


def lit_edges(work, *seconds):
    """The edges that are lit at each moment."""
    out = []
    for s in seconds:
        frame = int(np.ceil(s * work.show.fps))
        light = render_block(work.plan, frame, frame + 1)[0].max(-1)
        out.append({int(e) for e in work.site.pixels.edge[light > 0.02]})
    return out


def test_each_beat_lights_the_next_edge_of_a_piece_that_drifts(recorded):
    folder, beats = recorded
    work = load(written(folder, EDGES))
    assert work.show.seconds == pytest.approx(
        soundfile.info(folder / "song.flac").duration, abs=0.02
    )
    edge = work.site.pixels.edge
    order = list(dict.fromkeys(edge[edge >= 0].tolist()))
    assert len(beats) > 90 and len(order) > 4
    for number, beat in enumerate(beats[:-1]):
        before, after = lit_edges(work, beat - NEAR - 1 / 60, beat + NEAR)
        assert after == {order[number % len(order)]}, (number, beat)
        assert before == ({order[(number - 1) % len(order)]} if number else set())
