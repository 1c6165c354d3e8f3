"""`lumenmap run --hub`: from a hub's message to the packets on the wire, and back to the hub."""

import json
import os
import socket
import subprocess
import sys
import time

from tests.hub.test_hub import Listener

SHOW = """
[show]
name = "Ember Row"
house = "house.toml"
fps = 10
length = "2 s"
[palette.one]
stops = ["#ff8000", "#ff8000"]
[[cue]]
start = "0 s"
length = "2 s"
[[cue.layer]]
effect = "still"
palette = "one"
"""
BOOK = """[almanac]
name = "Tern Cottage"
house = "house.toml"
[[rule]]
show = "embers.toml"
on = "every day"
from = "00:00"
to = "24:00"
"""


def test_off_and_on_reach_the_wire(examples, tmp_path, server):
    (tmp_path / "house.toml").write_bytes((examples / "alder-cottage/house.toml").read_bytes())
    (tmp_path / "embers.toml").write_text(SHOW)
    (tmp_path / "almanac.toml").write_text(BOOK)
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as roof:
        roof.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 8 << 20)
        roof.bind(("127.0.0.1", 0))
        roof.settimeout(60)

        def until(done):
            end = time.monotonic() + 60
            while time.monotonic() < end:
                packet = roof.recv(2048)
                if done(packet):
                    return
            raise AssertionError

        command = [sys.executable, "-m", "lumenmap", "run", tmp_path / "almanac.toml", "--to"]
        command += [f"127.0.0.1:{roof.getsockname()[1]}", "--steady"]
        command += ["--hub", f"mqtt://127.0.0.1:{server.port}", "--hub-discovery", "find"]
        listener = Listener(server)
        process = subprocess.Popen(
            command, stderr=subprocess.PIPE, text=True, env={**os.environ, "NO_COLOR": "1"}
        )
        try:
            until(lambda p: p[112] == 0 and any(p[126:]))
            light = "lumenmap/tern-cottage/light"
            state = json.loads(listener.wait(light, lambda p: '"ON"' in p, 60))
            assert (state["brightness"], state["effect"]) == (100, "Ember Row")
            listener.send(f"{light}/set", '{"state": "OFF"}')
            until(lambda p: p[112] & 0x40)
            listener.wait(light, lambda p: '"OFF"' in p, 60)
            listener.send(f"{light}/set", '{"state": "ON", "brightness": 50}')
            until(lambda p: p[112] == 0 and any(p[126:]))
            listener.wait(light, lambda p: json.loads(p)["brightness"] == 50, 60)
            text = listener.wait("lumenmap/tern-cottage/text", lambda p: "at 50 %" in p, 60)
            assert text.startswith("playing Ember Row at 50 %, until ")
            assert "[[once]]" in (tmp_path / "almanac.toml").read_text()
        finally:
            process.terminate()
            _, err = process.communicate(timeout=20)
        listener.wait("lumenmap/tern-cottage/available", lambda p: p == "offline")
        listener.close()
        assert process.returncode == 0 and "Traceback" not in err, err
