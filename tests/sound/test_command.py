"""The command that finds beats, and what it says."""

import json
import shutil

import numpy as np
import pytest
import soundfile

from lumenmap.motion.beats import Beats
from lumenmap.sound.labels import read_labels
from lumenmap.sound.words import report, sentences
from tests.sound.pieces import RATE, beats_at, piece


@pytest.fixture(scope="module")
def song(tmp_path_factory):
    folder = tmp_path_factory.mktemp("song")
    samples, beats = piece(beats_at(lambda _: 100, 20))
    soundfile.write(folder / "song.flac", samples, RATE)
    return folder / "song.flac", beats


def test_found_said_kept_and_read_again(song, tmp_path, lumenmap):
    file, beats = shutil.copy(song[0], tmp_path), song[1]
    lumenmap("beats", str(file)).fails(
        2, r"--about: say about how fast song.flac is: perhaps 100 or 200 beats a minute"
    )
    done = lumenmap("beats", str(file), "--about", "100")
    assert done.code == 0
    said = done.out.splitlines()
    kept = read_labels(tmp_path / "song.beats.txt")
    assert kept.times == pytest.approx(beats, abs=0.03)
    first, last = kept.times[[0, -1]]
    assert said == [
        f"{len(beats)} beats in 8 bars, from {first:.2f} s to {last:.2f} s",
        "100 a minute",
        f"bar 1 begins at {first:.2f} s, on beat 1",
        f"kept in {tmp_path / 'song.beats.txt'}",
    ]
    (tmp_path / "song.beats.txt").write_text("1\t1\t1\n2\t2\t2\n3\t3\t1\n")
    again = lumenmap("beats", str(file), "--about", "100").out
    assert "3 beats in 2 bars, from 1.00 s to 3.00 s\n60 a minute" in again
    assert "that isn't the tempo you gave, 100 a minute: check by ear" in again
    assert again.endswith("song.beats.txt; --again finds them again\n")
    got = json.loads(lumenmap("beats", str(file), "--about", "100", "--again", "--json").out)
    assert got["beats"] == len(beats) and got["tempo"] == pytest.approx(100, abs=1)
    assert got["times"] == pytest.approx(kept.times.tolist()) and got["places"][:5] == [
        1,
        2,
        3,
        4,
        1,
    ]
    assert got["pauses"] == []


def test_what_is_no_sound_gets_a_sentence(tmp_path, lumenmap):
    (tmp_path / "no.wav").write_text("no sound")
    lumenmap("beats", str(tmp_path / "no.wav")).fails(2, "no.wav: isn't sound; expected WAV")
    lumenmap("beats", str(tmp_path / "none.wav")).fails(2, "none.wav: no such file")
    # Beats of another file of that name but for its ending were taken for its own.
    (tmp_path / "none.beats.txt").write_text("1\t1\t1\n2\t2\t2\n")
    lumenmap("beats", str(tmp_path / "none.mp3")).fails(2, "none.mp3: no such file")
    soundfile.write(tmp_path / "still.wav", np.zeros(RATE), RATE)
    lumenmap("beats", str(tmp_path / "still.wav")).fails(2, "still.wav: is silent")
    with soundfile.SoundFile(tmp_path / "long.flac", "w", 8000, 1) as file:
        for _ in range(60):
            file.write(np.zeros(60 * 8000, np.float32))
    lumenmap("beats", str(tmp_path / "long.flac")).fails(2, "long.flac: is 60 min long")


def test_a_tempo_or_bar_that_is_none_is_said_as_typed(song, lumenmap):
    file = str(song[0])
    lumenmap("beats", file, "--about", "12").fails(2, r"--about: is 12; expected 30 to 300 beats")
    lumenmap("beats", file, "--about", "99", "--bar", "0").fails(2, "--bar: is 0; expected 1 to 16")


def test_a_drift_and_a_pause_in_words():
    slow, quick = np.arange(20) * 0.75, 18 + np.arange(20) * 0.5
    found = Beats(np.concatenate([slow, quick]), np.arange(40) % 4 + 1)
    said = report(found)
    assert (said["slowest"], said["quickest"]) == (80.0, 120.0)
    assert said["pauses"] == [[14.25, 18.0]]
    assert sentences(found)[1:] == [
        f"{said['tempo']:g} a minute, from 80 to 120",
        "bar 1 begins at 0.00 s, on beat 1",
        "a pause from 14.25 s to 18.00 s",
    ]
