"""What phones and streets do to a film besides shake and noise: each by a name, all from a seed.

Kinds and sizes are from memory; the curve of HDR films is that of ITU-R BT.2100 [P].
"""

from __future__ import annotations

import subprocess
from contextlib import nullcontext
from fractions import Fraction

import av
import cv2
import numpy as np

#: What a film may have; `Troubles` says how much of it.
NAMES = (
    "breathing",
    "pan",
    "drops",
    "mains",
    "traffic",
    "bloom",
    "leaves",
    "white balance",
    "hdr",
    "upside down",
)

#: The lens hunts for focus: the picture grows and shrinks by so much.
BREATHES = 0.01
#: The hand swings so far (pixels), in so many seconds.
SWINGS, SWING = 60.0, 17.0
#: Frames that are missing, and that show the one before again; and the rate in the dark (Hz).
MISSING, DOUBLED, SLOWER = 0.06, 0.04, 24.0
#: Lamps on the mains: twice 50 Hz, and how much of their light swings.
MAINS, DEPTH = 100.0, 0.8
#: Overexposed lamps are so much brighter and wider.
GLARE, WIDE = 8.0, 1.8
#: Part of the lamps behind leaves, and how quickly these move (Hz).
BEHIND, RUSTLE = 0.15, 1.1
#: The white balance drifts by so much.
TINT = 0.12


def hlg(light):
    """HLG signal of scene light, 1 being white in an ordinary picture (ITU-R BT.2100-2, table 5).

    White is at 75 % of the signal (BT.2408), which is 0.265 of its light.
    """
    e = np.clip(0.265 * light, 0, 1)
    a, b, c = 0.17883277, 0.28466892, 0.55991073
    low = cv2.sqrt(3 * e)
    high = a * np.log(np.maximum(12 * e - b, 1e-6)) + c
    return np.where(e <= 1 / 12, low, high).astype(np.float32)


class Troubles:
    """What happens in a film; ``names`` of `NAMES`."""

    def __init__(self, names, take, lamps):
        unknown = set(names) - set(NAMES)
        assert not unknown, unknown
        self.names, self.take = frozenset(names), take
        rng = np.random.default_rng(take.seed + 7)
        self.phase = rng.uniform(0, 2 * np.pi, 4)
        self.rng = rng
        self.leaf = np.where(rng.random(lamps) < BEHIND, 1.0, 0.0)
        self.rustle = rng.uniform(0, 2 * np.pi, lamps)
        self.late = rng.uniform(8, 16)  # when the phone takes fewer frames
        self.cars = rng.uniform(6, 24, 2)
        self.walks = rng.uniform(8, 16)

    def has(self, name):
        return name in self.names

    def times(self, seconds):
        """The frames: when each is taken, and when the film says that it is (s)."""
        fps = self.take.fps
        if not self.has("drops"):
            times = np.arange(int(seconds * fps)) / fps
            return times, times
        slow = np.arange(self.late, seconds, 1 / SLOWER)
        told = np.concatenate([np.arange(0, self.late - 0.5 / fps, 1 / fps), slow])
        told = told[self.rng.random(len(told)) > MISSING]
        taken = told.copy()
        again = np.flatnonzero(self.rng.random(len(told) - 1) < DOUBLED) + 1
        taken[again] = taken[again - 1]
        return taken, told

    def move(self, time):
        """(3, 3): how the picture is moved further."""
        w, h = self.take.width / 2, self.take.height / 2
        a, b, c, _ = self.phase
        out = np.eye(3)
        if self.has("breathing"):  # a quick hunt now and then
            scale = 1 + BREATHES * np.tanh(3 * np.sin(2 * np.pi * 0.11 * time + a))
            out = np.array([[scale, 0, w - scale * w], [0, scale, h - scale * h], [0, 0, 1]])
        if self.has("pan"):
            way = np.sin(2 * np.pi * time / SWING + b), 0.4 * np.sin(4 * np.pi * time / SWING + c)
            out = np.array([[1, 0, SWINGS * way[0]], [0, 1, SWINGS * way[1]], [0, 0, 1]]) @ out
        return out

    def shown(self, image, plain, time):
        """The lit scene (H, W) with what else is in the street; ``plain`` is the unlit one."""
        take = self.take
        y = np.arange(take.height)
        if self.has("mains"):
            x = np.pi * MAINS * take.exposure
            begun = time + y / take.height * take.rolling
            swing = DEPTH * np.sin(x) / x * np.sin(2 * np.pi * MAINS * begun + self.phase[3])
            image = image + plain * swing[:, None].astype(np.float32)
        if self.has("traffic"):
            image = self._traffic(image, y, time)
        return image

    def _traffic(self, image, y, time):
        take = self.take
        x = np.arange(take.width)
        for begun in self.cars:
            part = (time - begun) / 3.0
            if 0 < part < 1:
                at = (part * 1.4 - 0.2) * take.width, 0.8 * take.height
                reach = np.exp(-(((x - at[0]) / 90) ** 2)), np.exp(-(((y - at[1]) / 50) ** 2))
                image = image + np.float32(1.5) * np.outer(reach[1], reach[0]).astype(np.float32)
                image *= np.float32(1 - 0.3 * np.sin(np.pi * part))  # the phone exposes less
        part = (time - self.walks) / 5.0
        if 0 < part < 1:
            left = int((part * 1.2 - 0.2) * take.width)
            image = image.copy()
            image[take.height // 3 :, max(0, left) : max(0, left + take.width // 9)] = 0.004
        return image

    def levels(self, own, time):
        """Light (S, 3) of the lamps behind what moves."""
        if not self.has("leaves"):
            return own
        share = 0.5 + 0.5 * np.sin(2 * np.pi * RUSTLE * time + self.rustle)
        return own * (1 - self.leaf * (1 - share))[: len(own), None]

    def tint(self, k, time):
        """What the white balance multiplies a colour's light with."""
        if not self.has("white balance"):
            return 1.0
        return 1 + TINT * float(np.sin(2 * np.pi * 0.05 * time + self.phase[k]))

    def film(self, path, told, frames):
        """Write frames (yuv420p bytes), which the film says were taken at times ``told`` (s)."""
        take = self.take
        size = f"{take.width}x{take.height}"
        raw = ["-f", "rawvideo", "-pix_fmt", "yuv420p", "-s", size, "-r", str(take.fps), "-i", "-"]
        own = [*self._encoding(), "-crf", str(take.crf), "-threads", "1"]
        with Timed(told, path) if self.has("drops") else nullcontext(path) as file:
            command = ["ffmpeg", "-v", "error", "-y", *raw, *own, str(file)]
            with subprocess.Popen(command, stdin=subprocess.PIPE) as encoder:
                for frame in frames:
                    encoder.stdin.write(self._turned(frame))
                encoder.stdin.close()
            assert encoder.returncode == 0
        if self.has("upside down"):
            noted = path.with_suffix(".noted.mp4")
            note = ["-c", "copy", "-metadata:s:v", "rotate=180", str(noted)]
            subprocess.run(["ffmpeg", "-v", "error", "-y", "-i", str(path), *note], check=True)
            noted.replace(path)

    def _turned(self, frame):
        if not self.has("upside down"):
            return frame
        y = self.take.width * self.take.height
        planes = frame[:y], frame[y : y + y // 4], frame[y + y // 4 :]
        return b"".join(plane[::-1] for plane in planes)

    def _encoding(self):
        """Return ffmpeg's options for the film."""
        if not self.has("hdr"):
            return ["-c:v", "libx264", "-preset", "veryfast", "-pix_fmt", "yuv420p"]
        colours = ["-color_primaries", "bt2020", "-color_trc", "arib-std-b67"]
        colours += ["-colorspace", "bt2020nc"]
        quiet = ["-x265-params", "log-level=error:pools=1:frame-threads=1"]
        ten = ["-preset", "ultrafast", "-pix_fmt", "yuv420p10le"]
        return ["-c:v", "libx265", *ten, *colours, *quiet]


class Timed:
    """A file to write a film into, whose frames then get their times (s) in another."""

    def __init__(self, told, path):
        self.told, self.path = told, path
        self.even = path.with_suffix(".even.mp4")

    def __enter__(self):
        return self.even

    def __exit__(self, *error):
        if error[0] is not None:
            return
        with av.open(str(self.even)) as given, av.open(str(self.path), "w") as made:
            one = given.streams.video[0]
            two = made.add_stream_from_template(one)
            two.time_base = Fraction(1, 90000)
            ticks = np.round(self.told * 90000).astype(int)
            packets = [p for p in given.demux(one) if p.pts is not None]
            order = np.argsort(np.argsort([p.pts for p in packets]))
            lag = max(0, int(max(k - o for k, o in enumerate(order))))
            for k, (packet, number) in enumerate(zip(packets, order, strict=True)):
                packet.stream = two
                packet.time_base = Fraction(1, 90000)
                packet.pts = int(ticks[number])
                packet.dts = int(ticks[k - lag]) if k >= lag else int(ticks[0]) - 3000 * (lag - k)
                made.mux(packet)
        self.even.unlink()
