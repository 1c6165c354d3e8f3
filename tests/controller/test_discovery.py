"""Finding controllers by Art-Net polls: the packets, and a network of the test's own."""

import json
import shutil
import socket
import struct
import subprocess
import sys
import textwrap
import threading
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.controller import discovery
from lumenmap.controller.artnet.poll import SHORTEST, Node, artpoll, read_reply
from lumenmap.controller.discovery import Asker, find, read_network
from lumenmap.controller.presence import Presence
from lumenmap.core.errors import InputError

TSHARK = shutil.which("tshark")


def reply(
    name=b"Porch controller",
    short=b"Porch",
    net=1,
    sub=2,
    outputs=(3, 4),
    address=b"\x0a\x09\x00\x28",
):
    """An ArtPollReply, written field by field (from memory; `tshark` reads it below)."""
    packet = bytearray(239)
    packet[:8] = b"Art-Net\0"
    struct.pack_into("<H", packet, 8, 0x2100)
    packet[10:14] = address
    struct.pack_into("<H", packet, 14, 0x1936)
    packet[18], packet[19] = net, sub
    packet[26 : 26 + len(short)] = short
    packet[44 : 44 + len(name)] = name
    struct.pack_into(">H", packet, 172, len(outputs))
    for i, number in enumerate(outputs):
        packet[174 + i], packet[190 + i] = 0x80, number
    return bytes(packet)


def test_a_poll_is_fourteen_octets():
    assert artpoll() == b"Art-Net\0" + bytes([0x00, 0x20, 0, 14, 0, 0])


def test_a_reply_is_read():
    got = read_reply(reply(), "10.9.0.40")
    assert got == Node("10.9.0.40", "Porch controller", (0x123, 0x124))
    assert read_reply(reply(name=b""), "10.9.0.40").name == "Porch"
    assert read_reply(reply(name=b"", short=b""), "x").name == "a controller without a name"
    assert read_reply(reply(outputs=()), "x").port_addresses == ()
    # It is where the packet came from, whatever stands in it.
    assert read_reply(reply(address=b"\x08\x08\x08\x08"), "10.9.0.40").address == "10.9.0.40"


def test_what_a_reply_says_is_shown_on_one_line():
    name = read_reply(reply(name="\x1b[2J\nroof‮ ".encode()), "x").name
    assert "\x1b" not in name and "\n" not in name and "‮" not in name


@pytest.mark.parametrize(
    "packet",
    [
        b"",
        artpoll(),
        reply()[: SHORTEST - 1],
        b"x" + reply()[1:],
        reply()[:8] + b"\0\x50" + reply()[10:],
    ],
)
def test_anything_else_is_no_reply(packet):
    assert read_reply(packet, "x") is None


@given(st.binary(max_size=300))
def test_no_packet_does_harm(packet):
    read_reply(packet, "x")
    read_reply(reply()[:10] + packet, "x")


@pytest.fixture
def capture(tmp_path):
    """Both packets in a capture file, as they would be on the wire."""

    def frame(payload):
        udp = struct.pack(">HHHH", 6454, 6454, 8 + len(payload), 0) + payload
        ip = struct.pack(
            ">BBHHHBBH4s4s", 0x45, 0, 20 + len(udp), 0, 0, 64, 17, 0, *2 * (b"\n\t\0\1",)
        )
        return bytes(12) + b"\x08\0" + ip + udp

    file = tmp_path / "polls.pcap"
    head = struct.pack("<IHHiIII", 0xA1B2C3D4, 2, 4, 0, 0, 65535, 1)
    rows = [frame(artpoll()), frame(reply())]
    file.write_bytes(head + b"".join(struct.pack("<IIII", 0, 0, len(r), len(r)) + r for r in rows))
    return file


@pytest.mark.skipif(TSHARK is None, reason="tshark is not installed")
def test_a_dissector_reads_the_same_fields(capture):
    """tshark's own Art-Net dissector (Debian's tshark)."""
    got = subprocess.run(
        [TSHARK, "-r", str(capture), "-V"], capture_output=True, text=True, check=True
    ).stdout
    assert "OpCode: ArtPoll (0x2000)" in got and "ProtVer: 14" in got
    assert "OpCode: ArtPollReply (0x2100)" in got and "Malformed" not in got
    assert "Long Name: Porch controller" in got and "Short Name: Porch" in got
    assert "IP Address: 10.9.0.40" in got and "Port number: 6454" in got
    assert "[Universe of output port 1: 291]" in got and 291 == 0x123


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "isn't a network; expected a network such as 192.168.1.0/24"),
        ("my network", "isn't a network"),
        ("8.8.8.0/24", "isn't a home network"),
        ("224.0.0.0/24", "isn't a home network"),
        ("0.0.0.0", "isn't a home network"),
        ("10.0.0.0/8", "has 16,777,216 addresses"),
        ("192.168.1.0/33", "isn't a network"),
        ("fe80::/64", "isn't a network"),
    ],
)
def test_a_network_is_one_of_a_home(text, why):
    with pytest.raises(InputError, match=why):
        read_network(text)


def test_a_home_network_is_read():
    assert str(read_network(" 192.168.1.40/24 ")) == "192.168.1.0/24"
    assert str(read_network("10.0.0.7").broadcast_address) == "10.0.0.7"


class Roof:
    """A controller on loopback, invented: it answers polls from where they came."""

    def __init__(self, *replies):
        self.heard, self.replies = [], replies or (reply(),)
        self.socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self.socket.bind(("127.0.0.1", 0))
        self.port = self.socket.getsockname()[1]
        threading.Thread(target=self.run, daemon=True).start()

    def run(self):
        try:
            while True:
                packet, sender = self.socket.recvfrom(2000)
                self.heard.append(packet)
                for one in self.replies:
                    self.socket.sendto(one, sender)
        except OSError:
            return

    def close(self):
        self.socket.shutdown(socket.SHUT_RDWR) if sys.platform == "x" else None
        self.socket.close()


@pytest.fixture
def roof():
    made = Roof()
    yield made
    made.close()


def test_a_controller_is_found(roof):
    (found,) = find("127.0.0.1", seconds=0.5, port=roof.port, own=0)
    assert found == Node("127.0.0.1", "Porch controller", (0x123, 0x124))
    assert roof.heard == [artpoll()], "asked once"


def test_answers_of_one_controller_are_put_together():
    roof = Roof(reply(outputs=(1, 2)), b"noise", reply(outputs=(2, 5)))
    (found,) = find("127.0.0.1", seconds=0.5, port=roof.port, own=0)
    assert found.port_addresses == (0x121, 0x122, 0x125)
    roof.close()


def test_who_isnt_of_the_network_isnt_heard(roof):
    asker = Asker(read_network("192.168.7.0/24"), own=0)
    port = asker._socket.getsockname()[1]
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as stranger:
        stranger.sendto(reply(), ("127.0.0.1", port))
    assert asker.heard(0.3) == {}
    asker.close()


def test_a_port_in_use_is_said():
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as taken:
        taken.bind(("", 0))
        port = taken.getsockname()[1]
        with pytest.raises(InputError, match=f"UDP port {port} can't be listened on: .*end it"):
            Asker(read_network("127.0.0.1"), own=port)


def test_the_evening_hears_that_a_controller_is_there(roof, monkeypatch):
    class Target:
        given, address, why, sent, lost = ("127.0.0.1", 5568), ("127.0.0.1", 5568), "", 3, 0
        away = 0.0

    said = []
    asker = Asker(read_network("127.0.0.1"), port=roof.port, own=0)
    seen = Presence(lambda: [Target], said.append, lambda: datetime.now(UTC), asker)
    monkeypatch.setattr(seen._echo, "ask", lambda hosts: set())
    seen.look()
    (row,) = seen.rows()
    assert (row["state"], row["why"]) == ("there", "answers Art-Net polls")
    assert row["name"] == "Porch controller" and said == ["127.0.0.1 answers: Porch controller"]
    seen.look()
    assert len(said) == 1, "said once"
    # It goes away.
    asker._port = 9
    monkeypatch.setattr("lumenmap.controller.seen._MISSED", 0.0)
    seen.look()
    assert seen.rows()[0]["why"] == "no longer answers Art-Net polls"
    assert said[-1].startswith("no sign of 127.0.0.1")
    seen.close()


#: A street with two houses' controllers, in a namespace of its own; the real port, and a broadcast.
STREET = """
import os, socket, subprocess, sys, threading, time
sys.path.insert(0, {root!r})
from tests.controller.test_discovery import reply
def sh(text):
    subprocess.run(text, shell=True, check=True)
sh("ip link set lo up; ip link add desk type veth peer name street")
sh("ip address add 10.9.0.1/24 dev desk; ip link set desk up")
roof = subprocess.Popen(["unshare", "-n", sys.executable, "-c", '''
import socket, sys, time
sys.path.insert(0, {root!r})
from tests.controller.test_discovery import reply
sys.stdin.readline()
one = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
one.bind(("", 6454))
print("ready", flush=True)
while True:
    packet, sender = one.recvfrom(2000)
    assert packet[8:10] == bytes([0, 0x20]) and sender == ("10.9.0.1", 6454), sender
    one.sendto(reply(), sender)
'''], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
own = os.readlink("/proc/self/ns/net")
while os.readlink(f"/proc/{{roof.pid}}/ns/net") == own:  # until it has a network of its own
    time.sleep(0.01)
sh(f"ip link set street netns {{roof.pid}}")
inside = f"nsenter -n -t {{roof.pid}} "
sh(inside + "ip address add 10.9.0.40/24 dev street")
sh(inside + "ip link set street up")
print(file=roof.stdin, flush=True)
assert roof.stdout.readline() == "ready\\n"
from lumenmap.cli import main
try:
    sys.argv = ["lumenmap", "find", "10.9.0.0/24", "--json"]
    main()
finally:
    roof.kill()
    roof.wait()
"""


@pytest.mark.skipif(shutil.which("unshare") is None, reason="no unshare: not Linux")
def test_a_broadcast_on_a_real_network():
    from pathlib import Path

    root = str(Path(__file__).parents[2])
    script = textwrap.dedent(STREET).format(root=root)
    done = subprocess.run(
        ["unshare", "-rn", sys.executable, "-c", script], capture_output=True, text=True, timeout=60
    )
    if "Operation not permitted" in done.stderr:
        pytest.skip("this system allows no network namespaces")
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["controllers"] == [
        {"address": "10.9.0.40", "name": "Porch controller", "port_addresses": [0x123, 0x124]}
    ]


def test_nobody_answers(capsys, monkeypatch):
    from lumenmap.cli import main

    monkeypatch.setattr(discovery, "PATIENCE", 0.1)
    monkeypatch.setattr(discovery, "find", lambda network: [])
    monkeypatch.setattr("sys.argv", ["lumenmap", "find", "192.168.1.0/24"])
    with pytest.raises(SystemExit) as ended:
        main()
    assert ended.value.code == 1
    assert "no controller on 192.168.1.0/24 answered" in capsys.readouterr().out
