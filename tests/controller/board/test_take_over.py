"""A stream takes over from the board and gives back: `lumenmap stream` to the simulator.

In a network namespace with loopback alone, so that port 5568 is free and nothing leaves.
"""

import json
import re
import shutil
import subprocess
import sys
import textwrap

import numpy as np
import pytest

from lumenmap.controller.files.frameset import open_frames
from lumenmap.controller.files.registry import write_formats
from lumenmap.jobs.export import export
from lumenmap.jobs.project import load
from tests.controller.test_network import own_network

PLAY = """
set -e
ip link set lo up
ip link set lo multicast on
ip route add 239.255.0.0/16 dev lo
{house}/board/simulator {house}/board --seconds 120 --port 5568 --raw {house}/raw {listen} \\
    2>{house}/told &
simulator=$!
trap 'kill -9 $simulator $(jobs -p) 2>/dev/null || true' EXIT
wait_for() {{  # until the simulator's last words hold these
    for i in $(seq 200); do
        if tail -n 1 {house}/told | grep -q "$1"; then return; fi
        sleep 0.1
    done
    echo "waited for $1 in vain" >&2
    false
}}
start() {{  # streams a show; comes back when its packets have had time to arrive
    name=$1; shift
    XDG_STATE_HOME={house}/state-$name {lumenmap} stream --loop {house}/$name "$@" 2>{house}/$name.told &
    stream=$!
    for i in $(seq 200); do grep -q "press Ctrl-C" {house}/$name.told && break; sleep 0.1; done
    sleep 1.5
}}
wait_for playing:
{rest}
sleep 0.3
kill $simulator
wait $simulator || true
"""


@pytest.fixture(scope="module")
def house(tmp_path_factory, examples):
    """A house with its board, and three still shows to stream, each in one colour."""
    if not own_network():
        pytest.skip("network namespaces can't be made here")
    if shutil.which("make") is None:
        pytest.skip("there is no make")
    place = tmp_path_factory.mktemp("house")
    shutil.copytree(examples / "kelder-studio", place, dirs_exist_ok=True)
    for name, colour in (("red", "#f00"), ("blue", "#00f")):
        (place / f"{name}.toml").write_text(
            textwrap.dedent(f"""
            [show]
            name = "{name}"
            house = "house.toml"
            fps = 25
            length = "2 s"
            [palette.one]
            stops = ["{colour}"]
            [[cue]]
            [[cue.layer]]
            effect = "still"
            palette = "one"
            level = 0.2
            """)
        )
        export(load(place / f"{name}.toml"), place / name)
    # One house has one voice, so the second of two sources at once is a neighbour of the same plan.
    (place / "neighbour").mkdir()
    shutil.copy(place / "house.toml", place / "neighbour")
    shutil.copytree(place / "blue", place / "neighbour" / "blue")
    export(load(place / "lantern-walk.toml"), place / "board")
    write_formats(place / "board", {"board": {}})
    subprocess.run(["make", "-s", "-C", place / "board"], check=True)
    return place


def play(house, rest, listen=""):
    """Run a script beside the simulator; return the changes it told of, and its frames."""
    raw, told = house / "raw", house / "told"
    told.write_text("")
    lumenmap = f"{sys.executable} -m lumenmap"
    script = PLAY.format(house=house, lumenmap=lumenmap, listen=listen, rest=rest)
    got = subprocess.run(
        ["unshare", "-rn", "bash", "-c", script], capture_output=True, text=True, timeout=90
    )
    assert got.returncode == 0, got.stdout + got.stderr + told.read_text()
    frames = np.fromfile(raw, np.uint8)
    states = [
        m[1]
        for line in told.read_text().splitlines()
        if (m := re.match(r"\d flashes: (\w+)", line))
    ]
    return states, frames.reshape(
        -1, json.loads((house / "board" / "frames.json").read_text())["pixels"] * 3
    )


def which(house, frames):
    """Each stretch of frames by its show, and that every frame is one of them to the octet."""
    known = {"black": {bytes(frames.shape[1])}}
    for name in ("board", "red", "blue"):
        known[name] = {f.tobytes() for f in open_frames(house / name).flat()}
    out = []
    for frame in frames:
        name = next((n for n, all_ in known.items() if frame.tobytes() in all_), "?")
        if not out or out[-1] != name:
            out.append(name)
    return out


@pytest.mark.parametrize("how", ["--to 127.0.0.1", "--multicast --interface lo"])
def test_a_stream_takes_over_and_its_end_gives_back(house, how):
    """Ended politely: black, stream terminated, and the stored show again at once."""
    listen = "--multicast 127.0.0.1" if "multicast" in how else ""
    states, frames = play(house, f"start red {how}; kill $stream; wait_for playing", listen)
    assert states[-3:] == ["playing", "live", "playing"], states
    assert which(house, frames)[-4:] == ["board", "red", "black", "board"]


def test_a_stream_that_dies_is_given_up_after_the_standards_time(house):
    """2.5 s of its last frame (6.7.1), then the stored show, with no black between.

    A still scene is kept alive every 0.9 s, so 1.6 to 2.5 s are left when it is killed.
    """
    states, frames = play(
        house,
        """
        start red --to 127.0.0.1
        kill -9 $stream; gone=$(date +%s%N)
        wait_for playing
        took=$(( ($(date +%s%N) - gone) / 1000000 ))
        echo $took
        [ $took -gt 1500 ] && [ $took -lt 4000 ]
        """,
    )
    assert states[-3:] == ["playing", "live", "playing"], states
    assert which(house, frames)[-3:] == ["board", "red", "board"]


def test_the_higher_priority_wins_and_the_lower_comes_back(house):
    """6.2.3: highest priority; what it leaves goes to the lower one, then to the stored show."""
    states, frames = play(
        house,
        """
        start red --to 127.0.0.1 --priority 90; low=$stream
        start neighbour/blue --to 127.0.0.1 --priority 150
        kill $stream; wait $stream
        sleep 1.5
        kill $low
        wait_for playing
        """,
    )
    assert states[-3:] == ["playing", "live", "playing"], states
    seen = [w for w in which(house, frames) if w != "black"]
    assert seen[-5:] == ["board", "red", "blue", "red", "board"], seen
