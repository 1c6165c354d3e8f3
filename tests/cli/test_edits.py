"""`lumenmap run` as a process: edits while it plays, broken ones, restarts, borrowers, a full disk."""

import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import threading
import time
from itertools import pairwise

import pytest

SHOW = """
[show]
name = "{title}"
house = "house.toml"
fps = 20
length = "2 s"
[palette.one]
stops = ["{colour}", "{colour}"]
[[cue]]
start = "0 s"
length = "2 s"
[[cue.layer]]
effect = "still"
palette = "one"
"""
BOOK = '[almanac]\nhouse = "house.toml"\n[[rule]]\nshow = "a.toml"\non = "every day"\nfrom = "00:00"\nto = "24:00"\n'


class Roof:
    """A receiver on loopback: the first pixel of each packet, when, and whether it was dark."""

    def __init__(self):
        self.socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4 << 20)
        self.socket.bind(("127.0.0.1", 0))
        self.socket.settimeout(0.2)
        self.port = self.socket.getsockname()[1]
        self.heard, self.over = [], False
        self.thread = threading.Thread(target=self.listen)
        self.thread.start()

    def listen(self):
        while not self.over:
            try:
                packet = self.socket.recv(2048)
            except TimeoutError:
                continue
            kind = "end" if packet[112] & 0x40 else "light" if any(packet[126:]) else "dark"
            self.heard.append((time.monotonic(), kind, packet[126:129], packet[22:38]))

    def until(self, done, seconds=60):
        """Wait until the newest packet is as asked; return how long it took."""
        began = time.monotonic()
        while time.monotonic() - began < seconds:
            if self.heard and done(self.heard[-1]):
                return time.monotonic() - began
            time.sleep(0.02)
        raise AssertionError(self.heard[-3:])

    def close(self):
        self.over = True
        self.thread.join()
        self.socket.close()


@pytest.fixture
def roof():
    made = Roof()
    yield made
    made.close()


@pytest.fixture
def house(examples, tmp_path):
    folder = tmp_path / "house"
    folder.mkdir()
    shutil.copy(examples / "alder-cottage" / "house.toml", folder)
    for name, colour in (("a", "#ff0000"), ("b", "#00ff00")):
        (folder / f"{name}.toml").write_text(SHOW.format(title=name.upper(), colour=colour))
    (folder / "almanac.toml").write_text(BOOK)
    return folder


def begin(folder, roof, *words):
    return subprocess.Popen(
        [
            sys.executable,
            "-m",
            "lumenmap",
            "run",
            folder / "almanac.toml",
            "--to",
            f"127.0.0.1:{roof.port}",
            "--steady",
            *words,
        ],
        stderr=subprocess.PIPE,
        text=True,
    )


def status(folder):
    return json.loads((folder / ".lumenmap" / "status.json").read_text())


def red(heard):
    return heard[1] == "light" and heard[2][0] > heard[2][1]


def green(heard):
    return heard[1] == "light" and heard[2][1] > heard[2][0]


#: How long an edit may take to be seen (s); the machine of the tests may be busy.
SOON = 10 * float(os.environ.get("LUMENMAP_SLOW", "3"))


def test_edits_are_taken_up_while_it_plays_and_broken_ones_change_nothing(house, roof):
    process = begin(house, roof)
    try:
        roof.until(red)
        mark = len(roof.heard)
        book, full = house / "almanac.toml", roof.heard[-1][2][0]
        # Another show for these evenings, half as bright, by the almanac.
        book.write_text(BOOK.replace("a.toml", "b.toml") + "brightness = 0.5\n")
        assert roof.until(green) < SOON
        assert roof.heard[-1][2][1] <= 0.6 * full
        # The show itself.
        (house / "b.toml").write_text(SHOW.format(title="B", colour="#0000ff"))
        assert roof.until(lambda h: h[1] == "light" and h[2][2] > max(h[2][:2])) < SOON
        # A broken show and a broken almanac: the light stays, the status says why.
        (house / "b.toml").write_text(SHOW.format(title="B", colour="no colour at all"))
        book.write_text("[almanac\n")
        end = time.monotonic() + SOON
        while len(status(house)["problems"]) < 2 and time.monotonic() < end:
            time.sleep(0.2)
        problems = " ".join(status(house)["problems"])
        assert "previous almanac stays in use" in problems, problems
        assert "b.toml: " in problems and "playing its previous good version" in problems
        seen = roof.heard[mark:]
        assert all(kind == "light" for _, kind, *_ in seen), "not a dark frame in all this"
        gaps = [b[0] - a[0] for a, b in pairwise(seen)]
        assert max(gaps) < 1.0, max(gaps)
        # Killed and started again, the last good almanac and show play on, and it is still said.
        process.send_signal(signal.SIGKILL)
        process.communicate()
        process = begin(house, roof)
        mark = len(roof.heard)
        roof.until(lambda h: len(roof.heard) > mark and h[1] == "light" and h[2][2] > 0)
        end = time.monotonic() + SOON
        while len(status(house)["problems"]) < 2 and time.monotonic() < end:
            time.sleep(0.2)
        assert "previous almanac stays in use" in " ".join(status(house)["problems"])
    finally:
        process.terminate()
        _, err = process.communicate(timeout=20)
    assert process.returncode == 0 and "Traceback" not in err, err


def test_locate_borrows_the_wire_and_gives_it_back(house, roof, lumenmap):
    """Two voices, each its own CID; the evening goes on without a dark frame."""
    process = begin(house, roof)
    try:
        roof.until(red)
        first = roof.heard[-1][3]
        mark = len(roof.heard)
        pattern = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "lumenmap",
                "locate",
                house / "house.toml",
                "edges",
                "--to",
                f"127.0.0.1:{roof.port}",
            ],
            stdout=subprocess.DEVNULL,
        )
        roof.until(lambda h: h[3] != first)
        end = time.monotonic() + SOON
        while "lumenmap locate (process " not in status(house)["wire"] and time.monotonic() < end:
            time.sleep(0.2)
        told = lumenmap("status", house / "almanac.toml")
        assert told.out.startswith("waiting while lumenmap locate (process "), told
        pattern.terminate()
        assert pattern.wait(20) == 0
        roof.until(lambda h: h[3] == first and red(h))
        voices = [cid for _, _, _, cid in roof.heard[mark:]]
        changes = [k for k in range(1, len(voices)) if voices[k] != voices[k - 1]]
        assert len(changes) == 2 and len(set(voices)) == 2, "one voice at a time"
        assert "dark" not in {kind for _, kind, *_ in roof.heard[mark : mark + changes[0]]}
    finally:
        process.terminate()
        process.communicate(timeout=20)


def test_stream_exits_with_1_if_nobody_is_there(house, lumenmap):
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    got = lumenmap("stream", house / "a.toml", "--to", f"127.0.0.1:{port}")
    assert got.code == 1, got
    assert f"nothing answered at 127.0.0.1:{port}: no receiver on that port" in got.err
    assert "packets lost" in got.out and " 0 packets lost" not in got.out


def test_a_service_waits_for_its_adapter_and_a_person_is_told(house, tmp_path, lumenmap):
    """An adapter that isn't plugged in when the machine starts."""
    words = ["run", house / "almanac.toml", "--multicast", "--interface", "eth99"]
    lumenmap(*words).fails(2, '--interface: is "eth99"; expected one of')
    words = [sys.executable, "-m", "lumenmap", *words]
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(tmp_path / "manager"))
        manager.settimeout(30)
        env = {**os.environ, "NOTIFY_SOCKET": str(tmp_path / "manager")}
        process = subprocess.Popen(words, stderr=subprocess.PIPE, text=True, env=env)
        assert manager.recv(99) == b"READY=1"
        time.sleep(1.5)
        assert process.poll() is None
        process.terminate()
        _, err = process.communicate(timeout=20)
    assert err.count("waiting for it") == 1


#: In a mount namespace: the house lies on a small disk, which fills up and is then only read.
FULL_DISK = """
set -e
mount -t tmpfs -o size=6m none "$1"
cp "$2"/* "$1"
exec "$3" -c "$4" "$1"
"""
DISK_PROGRAM = """
import json, socket, subprocess, sys, time
from pathlib import Path
folder = Path(sys.argv[1])
roof = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
roof.bind(("127.0.0.1", 0)); roof.settimeout(60)
def begin():
    return subprocess.Popen([sys.executable, "-m", "lumenmap", "run", str(folder / "almanac.toml"),
        "--to", f"127.0.0.1:{roof.getsockname()[1]}", "--steady"], stderr=subprocess.PIPE, text=True)
def until(done, what):
    end = time.monotonic() + 60
    while time.monotonic() < end:
        packet = roof.recv(2048)
        if packet[112] == 0 and done(packet[126:129]): return
    raise AssertionError(what)
red, green, blue = (lambda p, k=k: p[k] > 0 and p[k] == max(p) for k in range(3))
first = begin()
until(red, "red")
with (folder / "full").open("wb") as file:
    try:
        while True: file.write(bytes(65536)); file.flush()
    except OSError as error: pass
book = (folder / "almanac.toml").read_text()
# A full disk takes no new almanac; the show's file is changed in place instead.
with (folder / "a.toml").open("r+") as file:
    text = file.read().replace("#ff0000", "#00ff00"); file.seek(0); file.write(text)
until(green, "green, with the disk full")
first.kill(); first.communicate()
second = begin()
until(green, "green, begun with the disk full")
second.kill(); said = second.communicate()[1]
assert "Traceback" not in said, said
(folder / "full").unlink()
with (folder / "a.toml").open("r+") as file:
    text = file.read().replace("#00ff00", "#0000ff"); file.seek(0); file.write(text)
subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)
third = begin()
until(blue, "blue, begun on a disk that is only read")
time.sleep(3)
third.terminate(); said = third.communicate(timeout=20)[1]
assert third.returncode == 0 and "Traceback" not in said, said
assert "Read-only file system" in said, said
print(said)
"""


def test_a_full_disk_and_one_that_is_only_read(house, tmp_path):
    unshare = shutil.which("unshare")
    if not unshare or subprocess.run([unshare, "-rm", "true"], capture_output=True).returncode:
        pytest.skip("mount namespaces can't be made here")
    (tmp_path / "disk").mkdir()
    command = ["bash", "-c", FULL_DISK, "-", tmp_path / "disk", house, sys.executable, DISK_PROGRAM]
    got = subprocess.run(
        [unshare, "-rm", *command], capture_output=True, text=True, timeout=300, check=False
    )
    assert got.returncode == 0, got.stderr + got.stdout
    lines = got.stdout.splitlines()
    assert len(lines) == len(set(lines)), "each thing is told once"
