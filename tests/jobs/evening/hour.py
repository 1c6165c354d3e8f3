"""Pacing and memory of `lumenmap run`: ``python -m tests.jobs.evening.hour``.

With ``--desk`` two run at the same time, each with a controller and a folder of its own, and the
desk of one is open in browsers; the other is the control, since any other program of the machine
disturbs both alike.

It plays an example on loopback, at 30 frames/s, and prints how far the periods between frames are
from theirs, by the kernel's own timestamps of what arrives (socket(7), SO_TIMESTAMPNS), and the
memory of the process, a line a minute. With ``--edits``, so many edits a minute are made meanwhile;
the first half is always without, for comparison.
"""

import argparse
import contextlib
import os
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
#: Light browsers at the desk.
LOOKING = 5
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


class Evening:
    """One `lumenmap run` with a controller of its own, and what is measured of it."""

    def __init__(self, name, folder):
        self.name, self.folder, self.roof = name, folder, Roof()
        folder.mkdir()
        for file in ("house.toml", "first-frost.toml"):
            shutil.copy(ROOT / "examples" / "alder-cottage" / file, folder)
        self.book = folder / "almanac.toml"
        self.edit(0)
        command = [sys.executable, "-m", "lumenmap", "run", self.book, "--steady"]
        self.process = subprocess.Popen([*command, "--to", f"127.0.0.1:{self.roof.port}"])
        self.memory, self.used = psutil.Process(self.process.pid), []

    def edit(self, number):
        self.book.write_text(BOOK.format(brightness=0.9 if number % 2 else 1.0))

    def begin(self):
        """Wait until it plays."""
        while len(self.roof.times) < 60:
            time.sleep(0.1)
        self.began = self.mark = len(self.roof.times)

    def line(self, seconds):
        """Print what the last minute was like."""
        here, self.mark = self.roof.times[self.mark :], len(self.roof.times)
        self.used.append(self.memory.memory_info().rss / 1e6)
        busy = self.memory.cpu_times()
        print(
            f"{seconds:6.0f} s {self.name:>12}: {self.used[-1]:6.1f} MB, "
            f"{busy.user + busy.system:6.1f} s of CPU; {periods(here)}",
            flush=True,
        )

    def sum(self):
        """Print what all of it was like; return the p99 of the period's error, ms."""
        times = self.roof.times[self.began :]
        settled = self.used[max(1, len(self.used) // 10) :] or self.used
        half = len(settled) // 2
        grown = np.mean(settled[half:]) - np.mean(settled[:half] or settled)
        print(
            f"all of it, {self.name}: {periods(times)}; {self.roof.dark} dark frames (each loop "
            f"begins with one); memory {settled[-1]:.1f} MB, second half {grown:+.2f} MB against "
            "the first"
        )
        return float(np.percentile(np.abs(np.diff(times) - 1 / FPS) * 1000, 99))

    def stop(self):
        self.process.terminate()
        self.process.wait(20)


@contextlib.contextmanager
def watched(folder):
    """The desk of a folder, looked at by five light browsers and, if there is one, by Chromium.

    A light browser holds the same socket, plays the show and reads all that is sent, but draws
    nothing. Chromium draws, with the processor alone.
    """
    from tests.desk.bench_desk import Server, look_on

    os.environ["XDG_STATE_HOME"] = os.environ["XDG_CACHE_HOME"] = str(folder.parent)
    server, stop = Server(folder), threading.Event()
    words = (server, stop, "first-frost.toml")
    watchers = [threading.Thread(target=look_on, args=words) for _ in range(LOOKING)]
    for watcher in watchers:
        watcher.start()
    driver, said = None, "no Chromium"
    try:
        from tests.chromium import BROWSER, DRIVER, chromium

        if BROWSER and DRIVER:
            driver, said = chromium(), "and one Chromium that draws"
            driver.get(f"http://{server.host}/")
            name, value = server.cookie.split("=", 1)
            driver.add_cookie({"name": name, "value": value})
            driver.get("about:blank")  # another hash alone doesn't load a page again
            driver.get(f"http://{server.host}/#compose")
            end = time.monotonic() + 20
            while not driver.find_elements("css selector", ".cue"):
                assert time.monotonic() < end, "the desk's page doesn't come up"
                time.sleep(0.2)
        print(f"the desk is open in {LOOKING} light browsers, {said}", flush=True)
        yield psutil.Process(server.process.pid)
    finally:
        stop.set()
        if driver is not None:
            driver.quit()
        for watcher in watchers:
            watcher.join()
        server.stop()


def main(seconds, edits, desk):
    """Run one evening; with ``desk`` two, one of them with its desk open."""
    with tempfile.TemporaryDirectory() as made, contextlib.ExitStack() as stack:
        names = ["with a desk", "without"] if desk else ["run"]
        runs = [Evening(name, Path(made, name.replace(" ", "-"))) for name in names]
        for run in runs:
            stack.callback(run.stop)
        for run in runs:
            run.begin()
        server = stack.enter_context(watched(runs[0].folder)) if desk else None
        for run in runs:
            run.began = run.mark = len(run.roof.times)
        watch(runs, server, seconds, edits)
        found = [run.sum() for run in runs]
        if desk:
            ratio = found[0] / found[1]
            print(
                f"p99 of the period's error with a desk is {ratio:.2f} times that without, in the "
                f"same {seconds:.0f} s on the same machine (load {os.getloadavg()[0]:.1f})"
            )


def watch(runs, server, seconds, edits):
    """Print a line a minute, or a tenth of the time if that is shorter."""
    began, every, made = time.monotonic(), min(60.0, seconds / 10), 0
    for line in range(1, round(seconds / every) + 1):
        while (now := time.monotonic() - began) < line * every:
            if now > seconds / 2 and edits and (now - seconds / 2) * edits / 60 > made:
                made += 1
                for run in runs:
                    run.edit(made)
            time.sleep(0.2)
        for run in runs:
            run.line(line * every)
        if server is not None:
            used, busy = server.memory_info().rss / 1e6, server.cpu_times()
            print(
                f"{'the desk itself':>21}: {used:6.1f} MB, {busy.user + busy.system:6.1f} s of CPU"
            )
    print(f"{made} edits")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=3600.0)
    parser.add_argument("--edits", type=float, default=0.0, help="edits a minute")
    parser.add_argument("--desk", action="store_true", help="play two, one under an open desk")
    asked = parser.parse_args()
    main(asked.seconds, asked.edits, asked.desk)
