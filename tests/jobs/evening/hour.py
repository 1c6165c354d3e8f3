"""Pacing and memory of `lumenmap run`: ``python -m tests.jobs.evening.hour [SECONDS] [EDITS]``.

It plays an example on loopback, at 30 frames/s, and prints how far the periods between frames are
from theirs, by the kernel's own timestamps of what arrives (socket(7), SO_TIMESTAMPNS), and the
memory of the process, a line a minute. With EDITS, so many edits a minute are made meanwhile; the
first half is always without, for comparison.
"""

import shutil
import socket
import struct
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

import numpy as np
import psutil

ROOT = Path(__file__).resolve().parents[3]
FPS = 30.0
_SO_TIMESTAMPNS = 35  # asm-generic/socket.h [M]
BOOK = """[almanac]
house = "house.toml"
[[rule]]
show = "first-frost.toml"
on = "every day"
from = "00:00"
to = "24:00"
brightness = {brightness}
"""


class Roof:
    """Takes packets in, and notes when each frame's first one arrived (s)."""

    def __init__(self):
        self.socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self.socket.setsockopt(socket.SOL_SOCKET, _SO_TIMESTAMPNS, 1)
        self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 8 << 20)
        self.socket.bind(("127.0.0.1", 0))
        self.port = self.socket.getsockname()[1]
        self.times, self.dark = [], 0
        threading.Thread(target=self.listen, daemon=True).start()

    def listen(self):
        first = None
        while True:
            packet, extra, *_ = self.socket.recvmsg(2048, 64)
            universe = packet[113:115]
            first = first or universe
            if universe == first and extra:
                seconds, nano = struct.unpack("qq", extra[0][2][:16])
                self.times.append(seconds + nano / 1e9)
                self.dark += not any(packet[126:])


def periods(times):
    """Error of the period between frames, p50, p99 and worst, ms; and frames that are missing."""
    gaps = np.diff(times)
    error = np.abs(gaps - 1 / FPS) * 1000
    p50, p99 = np.percentile(error, [50, 99])
    return f"period error p50 {p50:.3f} p99 {p99:.3f} worst {error.max():.1f} ms; " + (
        f"{int((np.rint(gaps * FPS) - 1).clip(0).sum())} frames missing"
    )


def main(seconds, edits):
    roof = Roof()
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        for name in ("house.toml", "first-frost.toml", "first-frost.png"):
            shutil.copy(ROOT / "examples" / "alder-cottage" / name, folder)
        book = folder / "almanac.toml"
        book.write_text(BOOK.format(brightness=1.0))
        process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "lumenmap",
                "run",
                book,
                "--to",
                f"127.0.0.1:{roof.port}",
                "--steady",
            ]
        )
        try:
            while len(roof.times) < 60:
                time.sleep(0.1)
            watch(process, roof, book, seconds, edits)
        finally:
            process.terminate()
            process.wait(20)


def watch(process, roof, book, seconds, edits):
    """Print a line a minute, or a tenth of the time if that is shorter."""
    memory, began = psutil.Process(process.pid), time.monotonic()
    every, made = min(60.0, seconds / 10), 0
    mark = len(roof.times)
    for line in range(1, round(seconds / every) + 1):
        while (now := time.monotonic() - began) < line * every:
            if now > seconds / 2 and edits and (now - seconds / 2) * edits / 60 > made:
                made += 1
                book.write_text(BOOK.format(brightness=1.0 if made % 2 else 0.9))
            time.sleep(0.2)
        here, mark = roof.times[mark:], len(roof.times)
        used, busy = memory.memory_info().rss / 1e6, memory.cpu_times()
        print(
            f"{line * every:6.0f} s: {used:6.1f} MB, {busy.user + busy.system:6.1f} s of CPU; "
            f"{periods(here)}; {made} edits",
            flush=True,
        )
    print(f"all: {periods(roof.times[60:])}; {roof.dark} dark frames (each loop begins with one)")


if __name__ == "__main__":
    words = sys.argv[1:]
    main(float(words[0]) if words else 3600.0, float(words[1]) if len(words) > 1 else 0.0)
