"""Films and pages play with the sound of their show, in step."""

import shutil
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile

from lumenmap.jobs.preview import preview
from lumenmap.jobs.project import load
from lumenmap.pictures.options import PreviewOptions

HOUSE = Path(__file__).resolve().parents[2] / "examples" / "alder-cottage" / "house.toml"
RATE, FPS = 44_100, 30
#: Clicks of a made-up track (s); on each the house flashes.
CLICKS = (0.61, 1.52, 2.1, 2.95)
SHOW = """
[show]
house = "house.toml"
sound = "clicks.wav"
fps = 30
"""
FLASH = """
[[cue]]
start = "beat {}"
length = "0.2 s"
layer = [{{ effect = "still", palette = "white" }}]
"""


@pytest.fixture(scope="module")
def work(tmp_path_factory):
    """A click track of 3.5 s with its labels, and a show that flashes on each."""
    folder = tmp_path_factory.mktemp("clicks")
    samples = np.zeros((int(3.5 * RATE), 2))
    for at in CLICKS:
        i = round(at * RATE)
        t = np.arange(2000) / RATE
        samples[i : i + 2000, 0] = 0.8 * np.cos(2 * np.pi * 900 * t) * np.exp(-t / 0.01)
    soundfile.write(folder / "clicks.wav", samples, RATE)
    labels = "".join(f"{t}\t{t}\t{i}\n" for i, t in enumerate(CLICKS, 1))
    (folder / "clicks.beats.txt").write_text(labels)
    shutil.copy(HOUSE, folder)
    text = SHOW + "".join(FLASH.format(i + 1) for i in range(len(CLICKS)))
    (folder / "show.toml").write_text(text)
    return load(folder / "show.toml")


def heard(film):
    """When clicks begin in a film's sound, s."""
    with av.open(str(film)) as opened:
        level = 0.0
        times, last = [], -1.0
        for frame in opened.decode(audio=0):
            samples = frame.to_ndarray().astype(float)
            samples = samples if samples.shape[0] == frame.layout.nb_channels else samples.T
            loud = np.abs(samples[0])
            for i in np.flatnonzero(loud > 0.25):
                t = frame.time + i / frame.sample_rate
                if t - last > 0.2:
                    times.append(t)
                last = t
            level = max(level, loud.max())
    assert level > 0.25
    return times


def seen(film):
    """When flashes begin in a film's frames, s."""
    with av.open(str(film)) as opened:
        frames = [(f.time, f.to_ndarray(format="gray").mean()) for f in opened.decode(video=0)]
    times, light = (np.array(one) for one in zip(*frames, strict=True))
    lit = light > (light.min() + light.max()) / 2
    return times[1:][lit[1:] & ~lit[:-1]].tolist()


@pytest.mark.parametrize("ending", ["mp4", "webm"])
def test_flashes_in_a_film_are_on_the_clicks_of_its_sound(work, tmp_path, ending):
    """Read by libav, which didn't write it: each flash within a frame of its click."""
    film = tmp_path / f"show.{ending}"
    preview(work, film, PreviewOptions(width=160, fps=FPS))
    assert heard(film) == pytest.approx(CLICKS, abs=0.005)
    assert np.abs(np.subtract(seen(film), heard(film))).max() <= 1 / FPS + 0.005
    assert [p.name for p in tmp_path.iterdir()] == [film.name]
