"""A month in minutes: clocks of the test's own, real files on a small disk, real packets on loopback.

Only the clocks and the rendering are made up: frames carry which show, version and frame they are,
so that whoever receives them can tell what they should have been.
"""

import hashlib
import json
import socket
import subprocess
from collections import Counter
from datetime import timedelta
from pathlib import Path

import numpy as np

from lumenmap.controller.e131.sender import UdpSender
from lumenmap.core.errors import InputError
from lumenmap.core.files import refused

#: Frames a second, frames, pixels.
FPS, FRAMES, PIXELS = 5.0, 25, 4
FULL = 200  # of the first pixel, by which a receiver sees how frames were dimmed as they were sent


class Killed(BaseException):
    """As kill -9 does: nothing more of the program runs."""


def sh(text):
    subprocess.run(text, shell=True, check=True, capture_output=True)


class World:
    """Wall clock and pacing clock; what is planned happens when its time has come."""

    def __init__(self, start):
        self.wall_time, self.time = start, 1000.0
        self.plan, self.ticks = [], []

    def wall(self):
        return self.wall_time

    def now(self):
        return self.time

    monotonic = now  # in the place of the module `time`

    def sleep(self, seconds):
        end = self.time + max(seconds, 1e-6)
        while self.plan and self.plan[0][0] <= end:
            when, what = self.plan.pop(0)
            self._to(max(when, self.time))
            what()
        self._to(max(end, self.time))
        for tick in self.ticks:
            tick()

    def _to(self, time):
        self.wall_time += timedelta(seconds=time - self.time)
        self.time = time

    def at(self, time, what):
        self.plan.append((time, what))
        self.plan.sort(key=lambda item: item[0])


class Kitchen:
    """Renders ``show ID version V level L`` inside the house's ``most``."""

    def render(self, show, folder, brightness, values):
        words = show.read_text().split()
        if words[0] != "show":
            raise InputError("isn't a show", file=show)
        number, version, level = (int(words[k]) for k in (1, 3, 5))
        most = int((show.parent / "house.toml").read_text().split()[1])
        codes = np.zeros((FRAMES, PIXELS, 3), np.uint8)
        codes[:, 0] = FULL
        codes[:, 1] = (40 * number, 10 * version, 0)
        codes[:, 2] = 8 * np.arange(1, FRAMES + 1)[:, None]
        codes[:, 3] = round(min(level, most) * brightness)
        line = {"name": "a", "first": 0, "count": PIXELS, "universe": 1, "order": "RGB"}
        side = {
            "format": "lumenmap-frames",
            "version": 1,
            "frames": FRAMES,
            "fps": FPS,
            "pixels": PIXELS,
            "channels": 3,
            "lines": [line],
            "sha256": hashlib.sha256(codes.tobytes()).hexdigest(),
            "brightness": brightness,
            "house": str(show.parent / "house.toml"),
        }
        try:
            (folder / "frames.rgb").write_bytes(codes.tobytes())
            (folder / "frames.json").write_text(json.dumps(side))
        except OSError as error:
            raise refused(folder, error) from error

    def check(self, sidecar):
        side = json.loads(sidecar.read_text())
        most = int(Path(side["house"]).read_text().split()[1])
        codes = np.fromfile(sidecar.parent / "frames.rgb", np.uint8).reshape(FRAMES, PIXELS, 3)
        return ["supply garage: too much"] if codes[:, 3].max() > most else []


class Roof:
    """The controller: a socket at one of two addresses, and what came in, with the world's time."""

    def __init__(self, world):
        self.world, self.port = world, 0
        self.heard = []  # (time, wall, "light" | "dark" | "end", codes)
        self.socket = None
        self.move("127.0.0.2")

    def move(self, address):
        if self.socket is not None:
            self.socket.close()
        self.address = address
        self.socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self.socket.setblocking(False)
        self.socket.bind((address, self.port))
        self.port = self.socket.getsockname()[1]

    def look_up(self, host, port):
        if host != "roof.example":
            raise InputError("no such name", key="to")
        return (self.address, self.port)

    def take(self):
        while True:
            try:
                packet = self.socket.recv(2048)
            except BlockingIOError:
                return
            codes = np.frombuffer(packet[126:], np.uint8)
            kind = "end" if packet[112] & 0x40 else "light" if codes.any() else "dark"
            self.heard.append((self.world.time, self.world.wall_time, kind, codes))


class Wire:
    """A sender whose packets are taken in at once."""

    def __init__(self, roof):
        self.roof, self.sender = roof, UdpSender()
        self.lost: Counter = self.sender.lost

    def send(self, packet, address):
        done = self.sender.send(packet, address)
        self.roof.take()
        return done

    def close(self):
        self.sender.close()


class Lender:
    """The house's wire, borrowed from time to time."""

    def __init__(self):
        self.asked = self.away = False

    def release(self):
        self.away = True

    def take(self):
        self.away = self.asked
        return not self.asked
