"""Films and pages play with the sound of their show, in step."""

import base64
import json
import re
import shutil
import sys
from pathlib import Path

import av
import numpy as np
import pytest
import soundfile

from lumenmap.core.errors import InputError
from lumenmap.jobs.preview import preview
from lumenmap.jobs.project import load
from lumenmap.pictures.options import PreviewOptions
from lumenmap.sound import carry
from lumenmap.sound.carry import for_page, write_wav

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


def test_a_film_that_is_cut_has_as_much_sound(work, tmp_path):
    film = tmp_path / "show.mp4"
    preview(work, film, PreviewOptions(width=160, fps=FPS, seconds=1.0))
    assert heard(film) == pytest.approx(CLICKS[:1], abs=0.005)
    with av.open(str(film)) as opened:
        assert opened.duration / av.time_base == pytest.approx(1.0, abs=0.05)


def test_pictures_without_sound_still_come(work, tmp_path, monkeypatch):
    """A GIF needs no sound, so it is written where soundfile isn't installed."""
    monkeypatch.setitem(sys.modules, "soundfile", None)
    preview(work, tmp_path / "show.gif", PreviewOptions(width=160, fps=5))
    assert (tmp_path / "show.gif").stat().st_size > 1000


def test_the_page_carries_the_file_itself(work, tmp_path):
    preview(work, tmp_path / "show.html", PreviewOptions(width=320))
    text = (tmp_path / "show.html").read_text()
    data = json.loads(re.search(r'id="data">(.*?)</script>', text, re.S)[1])
    assert data["sound"]["type"] == "audio/wav"
    assert base64.b64decode(data["sound"]["data"]) == work.show.sound.read_bytes()
    assert "media-src blob:" in text and "data:audio" not in text


@pytest.mark.parametrize(
    ("ending", "media"),
    [("wav", "audio/wav"), ("flac", "audio/flac"), ("ogg", "audio/ogg"), ("mp3", "audio/mpeg")],
)
def test_media_types_go_by_what_is_in_the_file(tmp_path, ending, media):
    noise = 0.1 * np.random.default_rng(1).standard_normal(8000)
    soundfile.write(tmp_path / f"x.{ending}", noise, 8000)
    renamed = (tmp_path / f"x.{ending}").rename(tmp_path / "song.bin")
    assert for_page(renamed) == (media, renamed.read_bytes())


def test_what_a_page_cannot_carry(tmp_path, monkeypatch):
    noise = 0.1 * np.random.default_rng(1).standard_normal(8000)
    soundfile.write(tmp_path / "x.aiff", noise, 8000)
    with pytest.raises(InputError, match="x.aiff: is AIFF; a page plays WAV, FLAC, Ogg or MP3"):
        for_page(tmp_path / "x.aiff")
    soundfile.write(tmp_path / "x.wav", noise, 8000)
    monkeypatch.setattr(carry, "LARGEST", 1000)
    with pytest.raises(InputError, match="x.wav: has 0 MB; a page carries 0 MB at most"):
        for_page(tmp_path / "x.wav")
    (tmp_path / "no.wav").write_text("#EXTM3U")
    with pytest.raises(InputError, match="no.wav: isn't sound"):
        write_wav(tmp_path / "no.wav", tmp_path / "out.wav", 1)


def test_a_plain_copy_is_the_same_sound(tmp_path):
    """Read back by soundfile: the same samples to 16 bits, two channels of three, cut."""
    samples = np.random.default_rng(2).uniform(-0.9, 0.9, (3000, 3))
    soundfile.write(tmp_path / "x.flac", samples, 1000, "PCM_24")
    write_wav(tmp_path / "x.flac", tmp_path / "out.wav", 2.5)
    got, rate = soundfile.read(tmp_path / "out.wav")
    assert rate == 1000 and got.shape == (2500, 2)
    assert np.abs(got - samples[:2500, :2]).max() < 2**-15
