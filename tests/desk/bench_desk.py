"""The desk's figures on the server's side: ``python -m tests.desk.bench_desk``.

Everything runs on this machine: the server as the command starts it, a client over loopback, and a
receiver of E1.31 beside them. What a browser adds (decoding, drawing) isn't in here. Nothing of
this is held by a test; figures of a busy machine say little.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.request import HTTPRedirectHandler, Request, build_opener

import numpy as np
import psutil
from websockets.sync.client import connect

from lumenmap.desk.server import page_files
from lumenmap.desk.wire.stretch import unpack
from tests.bench_stream import receive

SHOW = """\
[show]
name = "Bench"
house = "house.toml"
fps = 30
length = "30 s"

[[cue]]
length = "20 s"
fade = "2 s"
[[cue.layer]]
effect = "gradient"
way = "across"
speed = "1 m/s"
[[cue.layer]]
effect = "chase"
speed = "1 m/s"
blend = "screen"

[[cue]]
start = "15 s"
fade = "2 s"
[[cue.layer]]
effect = "swath"
palette = "lamp-white"
speed = "2 m/s"
"""


def house(pixels: int) -> str:
    """Return a house of about so many pixels, 250 or fewer to a line, each line with its supply."""
    lines = -(-pixels // 250)
    each = pixels // lines
    text = (
        '[house]\nname = "Bench"\nunit = "m"\n[rail]\nhole_spacing = "60 mm"\nlength = 100\n'
        '[pixel]\nkind = "ws2811-12v"\n[wiring]\nstring = "12 AWG"\n'
        '[[mass]]\nname = "main"\nroof = "gable"\nwidth = 16\ndepth = 10\neave = 4\nslope = "30 deg"\n'
    )
    for i in range(lines):
        z, y = 1 + i % 5, -0.5 - 0.2 * (i // 5)
        text += (
            f'[[edge]]\nname = "e{i}"\npoints = [[0, {y}, {z}], [{each * 0.06:.2f}, {y}, {z}]]\n'
        )
        text += f'[[line]]\nname = "l{i}"\npath = ["e{i}"]\nuniverse = {1 + 5 * i}\n'
        text += f'[[supply]]\nname = "s{i}"\nvolts = 12\namps = 6\n'
        for at in ("start", "end"):
            text += (
                f'[[feed]]\nsupply = "s{i}"\nto = "l{i}"\nat = "{at}"\nwire = "12 AWG"\n'
                "length = 3\nfuse = 10\n"
            )
    return text


class NoRedirect(HTTPRedirectHandler):
    """Leaves redirects to the caller."""

    def redirect_request(self, *_: Any) -> None:
        return None


class Server:
    """`lumenmap desk` in a process of its own."""

    def __init__(self, folder: Path, *words: str) -> None:
        self.begun = time.perf_counter()
        command = [sys.executable, "-m", "lumenmap", "desk", str(folder), "--no-browser"]
        self.process = subprocess.Popen(
            [*command, "--port", "0", *words], stdout=subprocess.PIPE, text=True
        )
        assert self.process.stdout is not None
        found = re.search(r"http://(\S+?)/open\?token=(\S+)", self.process.stdout.readline())
        assert found
        self.host, token = found.groups()
        try:
            build_opener(NoRedirect).open(f"http://{self.host}/open?token={token}")
        except OSError as answer:
            self.cookie = answer.headers["set-cookie"].split(";")[0]  # type: ignore[attr-defined]

    def socket(self) -> Any:
        return connect(
            f"ws://{self.host}/socket",
            origin=f"http://{self.host}",
            additional_headers={"Cookie": self.cookie},
            compression=None,
            max_size=None,
        )

    def get(self, path: str) -> bytes:
        request = Request(f"http://{self.host}{path}", headers={"Cookie": self.cookie})
        return bytes(build_opener().open(request).read())

    def stop(self) -> None:
        self.process.terminate()
        self.process.wait()


class Reader:
    """Reads a socket, and remembers the newest of everything."""

    def __init__(self, socket: Any) -> None:
        self.socket = socket
        self.told: dict[str, Any] = {}
        self.version = 0  # of the newest light

    def send(self, **message: Any) -> None:
        self.socket.send(json.dumps(message))

    def until(self, found: Callable[[], Any], seconds: float = 60) -> None:
        """Read until something holds."""
        end = time.perf_counter() + seconds
        while not found():
            got = self.socket.recv(timeout=end - time.perf_counter())
            if isinstance(got, bytes):
                self.version = max(self.version, unpack(got).version)
            else:
                message = json.loads(got)
                self.told[message["type"]] = message

    def open(self) -> int:
        """Open the show; return its version once all of it was looked at."""
        self.send(type="open", file="show.toml")
        self.until(lambda: "show" in self.told and self.complete(1))
        self.until(lambda: self.version >= self.told["show"]["version"])
        return int(self.told["show"]["version"])

    def complete(self, version: int) -> bool:
        """Whether all of a version was looked at."""
        found = self.told.get("findings", {"complete": False})
        return bool(found["complete"]) and found["version"] >= version


def show(name: str, times: list[float], unit: str = "ms", scale: float = 1e3) -> None:
    """Print the middle and the ends of some figures."""
    p50, p95, p99 = (scale * v for v in np.quantile(times, (0.5, 0.95, 0.99)))
    print(f"{name:58} p50 {p50:7.1f}  p95 {p95:7.1f}  p99 {p99:7.1f} {unit}  ({len(times)})")


def first_light(folder: Path) -> None:
    """From the command to the picture's data and the first frame's codes."""
    for what in ("never seen before", "seen before"):
        server = Server(folder)
        with server.socket() as socket:
            reader = Reader(socket)
            look_first(server, reader)
            taken = time.perf_counter() - server.begun
        server.stop()
        print(f"{'command to picture and first codes, a house ' + what:58} {taken:6.2f} s")


def look_first(server: Server, reader: Reader) -> None:
    """Do what a page does to show its first useful picture, drawing left out."""
    reader.until(lambda: "session" in reader.told)
    server.get(reader.told["session"]["house"]["picture"])
    reader.send(type="open", file="show.toml")
    reader.until(lambda: reader.version)


def moved(server: Server, pixels: int, edits: int = 100) -> None:
    """An option is moved; how long until the light at the playhead, and until it is all final."""
    first, final = [], []
    with server.socket() as socket:
        reader = Reader(socket)
        version = reader.open()
        old: Any = "1 m/s"
        for i in range(edits):
            reader.send(type="look", file="show.toml", frame=7 * i, playing=True)
            time.sleep(0.05)
            new = f"{1 + (i % 50 + 1) / 100:.2f} m/s"
            path = ["cue", 0, "layer", 1, "speed"]
            edit = {"op": "set", "path": path, "old": old, "new": new}
            words = {"file": "show.toml", "version": version, "edits": [edit], "gesture": "drag"}
            begun, before = time.perf_counter(), reader.version
            reader.send(type="edit", id=i, **words)
            reader.until(lambda before=before: reader.version > before)
            first.append(time.perf_counter() - begun)
            if i % 10 == 0:
                reader.until(lambda: reader.complete(reader.version))
                final.append(time.perf_counter() - begun)
            old, version = new, reader.told["show"]["version"]
    show(f"{pixels} pixels: option moved to light at the playhead", first)
    show(f"{pixels} pixels: … to the whole show final and checked", final)


def saved(server: Server, folder: Path, saves: int = 20) -> None:
    """An editor saves; how long until the new light at the playhead."""
    times = []
    path = folder / "show.toml"
    with server.socket() as socket:
        reader = Reader(socket)
        reader.open()
        for i in range(saves):
            time.sleep(0.3)
            reader.until(lambda: reader.complete(reader.version))
            draft = path.with_name(".draft")
            draft.write_text(SHOW.replace('speed = "2 m/s"', f'speed = "{2.01 + i / 100:.2f} m/s"'))
            begun, before = time.perf_counter(), reader.version
            draft.replace(path)
            reader.until(lambda before=before: reader.version > before)
            times.append(time.perf_counter() - begun)
    show("an editor's save to new light at the playhead", times)


def idle(server: Server, seconds: float = 10.0) -> None:
    """The server's share of a core, and its memory, while a browser looks on and nothing happens."""
    process = psutil.Process(server.process.pid)
    with server.socket() as socket:
        Reader(socket).open()
        before = sum(process.cpu_times()[:2])
        time.sleep(seconds)
        used = (sum(process.cpu_times()[:2]) - before) / seconds
    print(
        f"{'idle server, one browser':58} {100 * used:6.2f} % of a core, "
        f"{process.memory_info().rss / 1e6:.0f} MB"
    )


def pacing(folder: Path, server: Server, seconds: float = 20.0) -> None:
    """Error of the frame period of `lumenmap stream`, alone and while twenty browsers look on."""
    import multiprocessing

    made = folder / "out"
    command = [sys.executable, "-m", "lumenmap"]
    subprocess.run(
        [*command, "export", str(folder / "show.toml"), "-o", str(made)],
        check=True,
        stdout=subprocess.DEVNULL,
    )
    for browsers in (0, 20):
        context = multiprocessing.get_context("spawn")
        port, ready, out = context.Value("i", 0), context.Event(), context.Queue()
        taker = context.Process(target=receive, args=(port, ready, out))
        taker.start()
        ready.wait()
        stop = threading.Event()
        watchers = [threading.Thread(target=look_on, args=(server, stop)) for _ in range(browsers)]
        for watcher in watchers:
            watcher.start()
        time.sleep(3 if browsers else 1)
        sent = subprocess.Popen(
            [
                *command,
                "stream",
                str(made),
                "--to",
                "127.0.0.1",
                "--port",
                str(port.value),
                "--loop",
                "--steady",
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        time.sleep(seconds)
        sent.terminate()
        sent.wait()
        stop.set()
        for watcher in watchers:
            watcher.join()
        import socket

        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as end:
            end.sendto(b"end", ("127.0.0.1", port.value))
        _, lost, times, _ = out.get()
        taker.join()
        periods = np.abs(np.diff(times) - 1 / 30)
        show(f"E1.31 period error, {browsers} browsers looking on, {lost} lost", list(periods))


def look_on(server: Server, stop: threading.Event, file: str = "show.toml") -> None:
    """Be a browser that plays a show, and draws nothing."""
    with server.socket() as socket:
        socket.send(json.dumps({"type": "open", "file": file}))
        begun = time.perf_counter()
        told = 0.0
        while not stop.is_set():
            with contextlib.suppress(TimeoutError):
                socket.recv(timeout=0.5)
            now = time.perf_counter() - begun
            if now - told > 1:
                told = now
                frame = int(now * 30) % 900
                look = {"type": "look", "file": file, "frame": frame, "playing": True}
                socket.send(json.dumps(look))


def main() -> None:
    """Print the figures."""
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    weight = sum(len(f.read_bytes()) for _, f in page_files().values())
    print(f"{'page weight, all files':58} {weight / 1e3:6.1f} kB")
    for pixels in (500, 5000):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            (folder / "house.toml").write_text(house(pixels))
            (folder / "show.toml").write_text(SHOW)
            if pixels == 500:
                os.environ["XDG_CACHE_HOME"] = os.environ["XDG_STATE_HOME"] = name
                first_light(folder)
            server = Server(folder)
            moved(server, pixels)
            idle(server)
            if pixels == 500:
                saved(server, folder)
                pacing(folder, server)
            server.stop()


if __name__ == "__main__":
    main()
