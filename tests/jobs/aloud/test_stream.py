"""Streams that are heard: by a sound device that notes what it was given, and without any.

The device is made up: a module in the place of sounddevice (its interface: python-sounddevice's
documentation, "OutputStream" [P]) that asks for a block every 20 ms and says that it is heard 50 ms
later.
"""

import json
import os
import re
import socket
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import soundfile

from lumenmap.controller.e131.clock import SystemClock
from lumenmap.controller.files.frameset import FrameSet
from lumenmap.core.errors import InputError
from lumenmap.jobs.aloud.speaker import Speaker
from lumenmap.jobs.evening.sounding import Sounding
from lumenmap.jobs.project import load
from lumenmap.jobs.sending import keep_frames, kept_frames, named_sound

HOUSE = Path(__file__).resolve().parents[3] / "examples" / "alder-cottage" / "house.toml"
RATE = 8000
DEVICE = """
import json, threading, time
from pathlib import Path
from types import SimpleNamespace

class PortAudioError(Exception): pass

def now():
    return time.clock_gettime(getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC))

class OutputStream:
    latency = 0.05
    def __init__(self, samplerate, channels, dtype, callback):
        import numpy as np
        self.out = np.zeros((round(samplerate * 0.02), channels), dtype)
        self.callback = callback
    def __enter__(self):
        threading.Thread(target=self.ask, daemon=True).start()
    def ask(self):
        with Path(__file__).with_name("heard").open("w") as heard:
            while True:
                at = now()
                times = SimpleNamespace(currentTime=7.0, outputBufferDacTime=7.0 + self.latency)
                self.callback(self.out, len(self.out), times, None)
                heard.write(json.dumps([at + self.latency, float(self.out[0, 0])]) + chr(10))
                heard.flush()
                time.sleep(0.02)
    def __exit__(self, *_): pass
"""
NO_DEVICE = """
class PortAudioError(Exception): pass
def OutputStream(**_):
    raise PortAudioError("Error querying device -1\\nand more")
"""
SHOW = """
[show]
house = "house.toml"
sound = "time.wav"
length = "2 s"
fps = 40
[[cue]]
start = "1 s"
layer = [{ effect = "still", palette = "white" }]
"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A show whose light goes on at 1 s, to a sound whose samples are their time / 10 s."""
    (tmp_path / "house.toml").write_bytes(HOUSE.read_bytes())
    (tmp_path / "show.toml").write_text(SHOW)
    soundfile.write(tmp_path / "time.wav", np.arange(3 * RATE) / RATE / 10, RATE, "FLOAT")
    (tmp_path / "device").mkdir()
    monkeypatch.setenv("PYTHONPATH", str(tmp_path / "device"))
    return tmp_path


def with_device(folder, text):
    (folder / "device" / "sounddevice.py").write_text(text)


def notes(folder):
    """What was heard: moments, and the place in the sound (s); silence left out."""
    rows = [json.loads(line) for line in (folder / "device/heard").read_text().splitlines()]
    return np.array([(at, 10 * level) for at, level in rows if level > 0])


def stream(folder, *more):
    """Stream the show to this machine; return the moments of lit frames and the error output."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as receiver:
        receiver.bind(("127.0.0.1", 0))
        receiver.settimeout(0.2)
        port = receiver.getsockname()[1]
        words = ["stream", "show.toml", "--to", f"127.0.0.1:{port}", "--steady", *more]
        process = subprocess.Popen(
            [sys.executable, "-m", "lumenmap", *words],
            cwd=folder,
            env=os.environ | {"HOME": str(folder)},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        lit, clock = [], SystemClock()
        while process.poll() is None:
            try:
                packet = receiver.recv(2000)
            except TimeoutError:
                continue
            if packet[18:22] == b"\0\0\0\4" and any(packet[126:]):
                lit.append(clock.now())
        out, err = process.communicate()
    assert process.returncode == 0, err
    return lit, out, err


def test_light_and_sound_are_in_step(folder):
    with_device(folder, DEVICE)
    lit, _, err = stream(folder, "--sound")
    assert "playing time.wav on this computer" in err
    heard = notes(folder)
    begun = heard[:, 0] - heard[:, 1]
    assert np.ptp(begun) < 0.061  # in step with itself
    # The light went on 1 s into the show; a busy machine may send that frame late.
    assert min(lit) - 1 == pytest.approx(np.median(begun), abs=0.15)
    assert heard[-1, 1] > 1.5


@pytest.mark.parametrize(
    ("device", "said"),
    [
        (NO_DEVICE, r"no sound: this computer has no sound device that can be used .*device -1\)"),
        ("import time; time.sleep(60)", ""),
    ],
)
def test_without_a_device_the_light_plays_and_it_is_said_why(folder, device, said):
    with_device(folder, device)
    _, out, err = stream(folder, "--sound")
    played, dropped = re.match(r"(\d+) frames in .* packets; (\d+) frames dropped", out).groups()
    assert int(played) + int(dropped) == 80  # those are the busy machine's
    assert re.search(said, err), err
    assert ("no sound" in err) == bool(said)


@pytest.mark.parametrize(
    ("device", "why"),
    [
        ("raise OSError('PortAudio library not found')", "no sound: PortAudio isn't installed"),
        ("raise ImportError", r"no sound: playing it needs sounddevice: .*lumenmap\[sound\]"),
        ("import os; os._exit(3)", r"no sound: what plays time.wav ended early \(exit code 3\)"),
    ],
)
def test_what_is_missing_is_said(folder, device, why):
    with_device(folder, device)
    said = []
    speaker = Speaker(said.append)
    speaker.prepare(folder / "time.wav")
    speaker.play(SystemClock().now(), 2.0, loop=False)
    end = time.monotonic() + 60
    while not said and time.monotonic() < end:
        time.sleep(0.02)
    speaker.close()
    (sentence,) = said
    assert re.match(why, sentence), sentence


def test_unless_it_is_asked_for_nothing_is_heard(folder):
    with_device(folder, DEVICE)
    _, _, err = stream(folder)
    assert "sound" not in err and not (folder / "device" / "heard").exists()


def test_shows_without_a_sound_are_told(folder):
    (folder / "show.toml").write_text(SHOW.replace('sound = "time.wav"', ""))
    with pytest.raises(InputError, match=r'names no sound; write sound = "FILE" in its \[show\]'):
        named_sound(folder / "show.toml")
    with pytest.raises(InputError, match="exported frames have no sound; give the show file"):
        named_sound(folder)


def test_frames_kept_for_the_evening_know_their_sound(folder):
    keep_frames(load(folder / "show.toml"), folder / "kept")
    assert kept_frames(folder / "kept").sound == folder / "time.wav"
    (folder / "show.toml").write_text(SHOW.replace('sound = "time.wav"', ""))
    keep_frames(load(folder / "show.toml"), folder / "silent")
    assert kept_frames(folder / "silent").sound is None


class Frames:
    """A player that notes what it was asked, and plays for a moment."""

    def play(self, frames, brightness, begun, seconds, stop, *, close):
        self.asked = brightness, begun, seconds, stop(), close()
        time.sleep(seconds)


def test_evenings_are_heard_from_where_the_show_is_in_its_loop(folder):
    """The show began 100.3 s ago and is 2 s long: it is joined 0.3 s in."""
    with_device(folder, DEVICE)
    said = []
    speaker, player, clock = Speaker(said.append), Frames(), SystemClock()
    begun = clock.now() - 100.3
    sounding = Sounding(player, speaker)
    codes = np.zeros((80, 1, 3), np.uint8)
    silent, loud = (FrameSet(codes, 40.0, (), sound=s) for s in (None, folder / "time.wav"))
    sounding.play(silent, 0.5, begun, 0.1, lambda: True, close=lambda: False)
    assert player.asked == (0.5, begun, 0.1, True, False) and not said
    sounding.play(loud, 1.0, begun, 3.0, lambda: False, close=lambda: True)
    speaker.close()
    assert said == ["playing time.wav on this computer"]
    heard = notes(folder)
    off = (heard[:, 0] - begun - heard[:, 1] + 1) % 2 - 1
    assert np.abs(off).max() < 0.035
    assert len(heard) > 20


@pytest.mark.parametrize("asked", [True, False])
def test_an_evening_is_heard_if_that_is_asked_for(folder, asked):
    """The whole command, until sound was heard or, unasked, its light was seen for a while."""
    with_device(folder, DEVICE)
    (folder / "almanac.toml").write_text(
        '[almanac]\nhouse = "house.toml"\n[[rule]]\nshow = "show.toml"\n'
        'on = "every day"\nfrom = "00:00"\nto = "24:00"\n'
    )
    heard = folder / "device" / "heard"
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as receiver:
        receiver.bind(("127.0.0.1", 0))
        receiver.settimeout(60)
        words = ["run", "almanac.toml", "--to", f"127.0.0.1:{receiver.getsockname()[1]}"]
        process = subprocess.Popen(
            [sys.executable, "-m", "lumenmap", *words, *["--sound"] * asked],
            cwd=folder,
            env=os.environ | {"HOME": str(folder)},
            stderr=subprocess.PIPE,
            text=True,
        )
        receiver.recv(2000)
        until = time.monotonic() + (60 if asked else 3)
        while time.monotonic() < until and not (heard.exists() and heard.stat().st_size):
            receiver.recv(2000)
        process.terminate()
        _, err = process.communicate(timeout=60)
    assert process.returncode == 0, err
    assert ("playing time.wav on this computer" in err) == asked
    assert heard.exists() == asked


def test_nothing_the_speaker_is_asked_waits(folder):
    """Not even for a program that never answers."""
    said = []
    speaker = Speaker(said.append, [sys.executable, "-c", "import time; time.sleep(60)"])
    began = time.monotonic()
    for _ in range(3):
        speaker.prepare(folder / "time.wav")
        speaker.play(0.0, 2.0, loop=True)
        speaker.stop()
    assert time.monotonic() - began < 0.2
    speaker.close()
    speaker = Speaker(said.append, ["/nowhere/at/all"])
    speaker.prepare(folder / "time.wav")
    speaker.play(0.0, 2.0, loop=True)
    speaker.close()
    assert said == [s for s in said if s.startswith("no sound: FileNotFoundError")] != []
