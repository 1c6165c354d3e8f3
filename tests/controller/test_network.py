"""Packets on a real network stack: loopback only, multicast in a network namespace of its own."""

import shutil
import socket
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import numpy as np
import pytest

from lumenmap.controller.e131.capture import VirtualClock
from lumenmap.controller.e131.routes import Destination
from lumenmap.controller.e131.sender import UdpSender
from lumenmap.controller.e131.stream import Stream
from lumenmap.controller.files.registry import format_named
from lumenmap.pixels.universes import plan_universes

TSHARK = shutil.which("tshark")


def lines_of_tshark(capture, *fields):
    """The data packets as tshark's own dissector reads them."""
    command = [
        TSHARK,
        "--enable-heuristic",
        "acn",
        "-o",
        "acn.dmx_enable:TRUE",
        "-o",
        "ip.check_checksum:TRUE",
        "-o",
        "udp.check_checksum:TRUE",
        "-r",
        str(capture),
        "-T",
        "fields",
        "-E",
        "separator=|",
    ]
    for field in fields:
        command += ["-e", field]
    got = subprocess.run(command, capture_output=True, text=True, check=True)
    return [line.split("|") for line in got.stdout.splitlines()]


@pytest.fixture
def capture(make_frames, tmp_path):
    if TSHARK is None:
        pytest.skip("tshark is not installed")
    frames = make_frames(80, (400, 30), first_universe=299)
    format_named("pcap").write(frames, tmp_path / "show.pcap", {"steady": "yes"})
    return frames, tmp_path / "show.pcap"


def test_tshark_decodes_the_capture_without_a_warning(capture):
    frames, file = capture
    rows = lines_of_tshark(
        file,
        "frame.time_epoch",
        "ip.dst",
        "acn.dmx.universe",
        "acn.dmx.priority",
        "acn.dmx.seq_number",
        "acn.dmx.start_code2",
        "acn.pdu.length",
        "udp.payload",
        "ip.checksum.status",
        "udp.checksum.status",
        "_ws.expert",
        "_ws.malformed",
        "acn.dmx.source_name",
        "acn.dmx.options",
    )
    seen = {}
    for row in rows:
        assert row[8:12] == ["1", "1", "", ""], "checksums good, no expert or malformed marks"
        if row[2]:
            seen.setdefault(int(row[2]), []).append(row)
    assert sorted(seen) == [299, 300, 301, 302]
    for u in plan_universes(frames.lines, 3):
        got = seen[u.number]
        n = u.slots
        assert {r[1] for r in got} == {f"239.255.{u.number >> 8}.{u.number & 255}"}
        assert {r[6] for r in got} == {f"{110 + n},{88 + n},{11 + n}"}
        assert {(r[3], int(r[5], 0), r[12]) for r in got} == {("100", 0, "lumenmap")}
        assert [int(r[4]) for r in got] == list(range(86))
        assert [float(r[0]) for r in got[:80]] == pytest.approx([i / 40 for i in range(80)])
        slots = np.array([list(bytes.fromhex(r[7])[126:]) for r in got[:80]])
        assert (slots == frames.flat()[:, u.octets]).all()
        assert [int(r[13], 0) for r in got[-3:]] == [0x40] * 3


class Catch:
    """A receiver on a free loopback port."""

    def __init__(self):
        self.socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4 << 20)
        self.socket.bind(("127.0.0.1", 0))
        self.socket.settimeout(0.5)
        self.port = self.socket.getsockname()[1]

    def all(self):
        got = []
        try:
            while True:
                got.append(self.socket.recv(2048))
        except TimeoutError:
            self.socket.close()
        return got


def stream(frames, source, port):
    """Send a show to loopback, paced by a clock that no busy machine makes late."""
    universes = plan_universes(frames.lines, frames.channels)
    where = Destination(("127.0.0.1",), port=port).routes(universes)
    sender = UdpSender()
    try:
        return Stream(source, where, sender, clock=VirtualClock()).play(frames)
    finally:
        sender.close()


def test_colours_that_arrive_are_the_frames_of_a_whole_show(source, make_frames):
    frames = make_frames(40, (400, 30))
    catch = Catch()
    report = stream(frames, source, catch.port)
    packets = catch.all()
    assert report.packets == len(packets) == 46 * 4 and not report.lost
    arrived = np.zeros_like(frames.flat())
    count = dict.fromkeys(range(1, 5), 0)
    where = {u.number: u.octets for u in plan_universes(frames.lines, 3)}
    for packet in packets:
        universe = int.from_bytes(packet[113:115], "big")
        if count[universe] < 40:
            arrived[count[universe], where[universe]] = list(packet[126:])
        count[universe] += 1
    assert (arrived == frames.flat()).all()


def test_nobody_listening_is_no_reason_to_stop(source, make_frames):
    catch = Catch()
    catch.socket.close()
    assert stream(make_frames(10), source, catch.port).frames == 10


@pytest.mark.parametrize("address", [("127.0.0.1", 9), ("239.255.0.1", 5568)])
def test_full_socket_buffer_and_dead_network_are_counted(monkeypatch, address):
    import errno

    sender = UdpSender()
    for number, words in (
        (errno.EAGAIN, "send buffer full"),
        (errno.ENETUNREACH, "network unre"),
        (errno.EHOSTUNREACH, "host unreachable"),
        (errno.ENOBUFS, "send buffer"),
        (errno.EIO, "Input/output error"),
    ):

        class Broken:
            def send(self, packet, number=number):
                raise OSError(number, "Input/output error")

            def sendto(self, packet, address):
                self.send(packet)

            def close(self):
                pass

        monkeypatch.setattr(sender, "_socket", lambda family, broken=Broken: broken())
        monkeypatch.setattr(
            "lumenmap.controller.e131.target.connected", lambda address, broken=Broken: broken()
        )
        sender.targets.clear()
        assert not sender.send(b"x", address)
        assert any(why.startswith(words) for why in sender.lost)


OF_IPV6 = """
import socket, struct, sys
from uuid import UUID
sys.path.insert(0, {here!r})
from conftest import frame_set
from lumenmap.controller.e131.capture import VirtualClock
from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.routes import Destination
from lumenmap.controller.e131.sender import UdpSender
from lumenmap.controller.e131.stream import Stream
from lumenmap.pixels.universes import plan_universes

taken = socket.socket(socket.AF_INET6, socket.SOCK_DGRAM)
taken.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4 << 20)
taken.bind(("::", 5568))
index = socket.if_nametoindex("street")
for group in ("ff18::8300:1", "ff18::8300:2"):
    joined = socket.inet_pton(socket.AF_INET6, group) + struct.pack("@I", index)
    taken.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_JOIN_GROUP, joined)
taken.setsockopt(socket.IPPROTO_IPV6, socket.IPV6_RECVPKTINFO, 1)
frames = frame_set(20, (170, 20))
universes = plan_universes(frames.lines, 3)
sender = UdpSender(interface="porch", ipv6=True)
where = Destination(multicast=True, ipv6=True).routes(universes)
report = Stream(Source(UUID(int=9), "lumenmap test"), where, sender,
                clock=VirtualClock()).play(frames)
sender.close()
assert not report.lost, report.lost
got = {{1: [], 2: []}}
taken.settimeout(0.5)
try:
    while True:
        packet, extra, _, _ = taken.recvmsg(2048, 256)
        universe = int.from_bytes(packet[113:115], "big")
        group = socket.inet_ntop(socket.AF_INET6, extra[0][2][:16])
        assert group == f"ff18::8300:{{universe}}", group
        got[universe].append(packet[126:])
except TimeoutError:
    pass
for u in universes:
    assert got[u.number][:20] == [f[u.octets].tobytes() for f in frames.flat()]
    assert len(got[u.number]) == 26
print("arrived")
"""

SACN_UNICAST = """
import sacn, sys, time
from uuid import UUID
import numpy as np
sys.path.insert(0, {here!r})
from conftest import frame_set
from lumenmap.controller.e131.capture import VirtualClock
from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.routes import Destination
from lumenmap.controller.e131.sender import UdpSender
from lumenmap.controller.e131.stream import Stream
from lumenmap.pixels.universes import plan_universes

multicast = {multicast}
receiver = sacn.sACNreceiver(bind_address="127.0.0.1")
got, ends = {{}}, []
receiver.start()
for u in (1, 2):
    receiver.register_listener("universe", lambda p: got.setdefault(p.universe, []).append(
        (p.sequence, bytes(p.dmxData))), universe=u)
    if multicast:
        receiver.join_multicast(u)
receiver.register_listener("availability", lambda universe, changed: ends.append((universe, changed)))
frames = frame_set(30, (170, 20))
class Brisk(VirtualClock):
    def sleep(self, seconds):  # paced by itself, so that a busy machine drops no frame
        super().sleep(seconds)
        time.sleep(0.003)

universes = plan_universes(frames.lines, 3)
where = Destination(() if multicast else ("127.0.0.1",), multicast=multicast).routes(universes)
sender = UdpSender(interface={interface!r})
report = Stream(Source(UUID(int=9), "lumenmap test"), where, sender, clock=Brisk()).play(frames)
time.sleep(0.3)
receiver.stop()
sender.close()
assert not report.lost, report.lost
for u in universes:
    slots = [d[: u.slots] for _, d in got[u.number]]
    wanted = [f[u.octets].tobytes() for f in frames.flat()]
    assert slots[:30] == wanted, (u.number, len(slots))
    assert (u.number, "timeout") in ends, ends
print("arrived")
"""


def sacn_program(tmp_path, interface):
    file = tmp_path / "program.py"
    file.write_text(
        SACN_UNICAST.format(
            here=str(Path(__file__).parent), multicast=bool(interface), interface=interface
        )
    )
    return [sys.executable, str(file)]


def own_network():
    """Whether this test may make a network namespace."""
    unshare = shutil.which("unshare")
    return unshare and not subprocess.run([unshare, "-rn", "true"], capture_output=True).returncode


@pytest.mark.parametrize("interface", ["", "127.0.0.1", "lo"])
def test_sacn_library_receives_it(tmp_path, interface):
    """Unicast, and multicast by an interface's address and its name.

    In a namespace with loopback alone, so that port 5568 is free and nothing leaves.
    """
    if not own_network():
        pytest.skip("network namespaces can't be made here")
    script = textwrap.dedent(
        """
        set -e
        ip link set lo up 2>/dev/null || ifconfig lo up
        exec "$@"
        """
    )
    command = ["unshare", "-rn", "bash", "-c", script, "-", *sacn_program(tmp_path, interface)]
    got = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert got.stdout == "arrived\n", got.stderr


def test_multicast_of_ipv6_arrives_in_its_groups(tmp_path):
    """In a namespace with two ends of a cable of its own, chosen by name; loopback carries none.

    Groups by E1.31-2018, 9.3.2.
    """
    if not own_network():
        pytest.skip("network namespaces can't be made here")
    file = tmp_path / "program.py"
    file.write_text(OF_IPV6.format(here=str(Path(__file__).parent)))
    script = textwrap.dedent(
        """
        set -e
        ip link add porch type veth peer name street
        ip address add fd00::1/64 dev porch nodad
        ip link set street up
        ip link set porch up
        exec "$@"
        """
    )
    command = ["unshare", "-rn", "bash", "-c", script, "-", sys.executable, str(file)]
    got = subprocess.run(command, capture_output=True, text=True, timeout=60)
    assert got.stdout == "arrived\n", got.stderr


def test_interface_that_comes_back_is_found_again(monkeypatch):
    """An adapter pulled and put back has another number: the socket is made anew."""
    import errno

    sender = UdpSender()
    gone = iter([OSError(errno.ENODEV, "No such device"), None])
    made = []

    class Adapter:
        def __init__(self, *_):
            made.append(self)

        def setblocking(self, _):
            pass

        def setsockopt(self, *_):
            pass

        def sendto(self, packet, address):
            if error := next(gone):
                raise error

        def close(self):
            pass

    monkeypatch.setattr(socket, "socket", Adapter)
    assert not sender.send(b"x", ("239.255.0.1", 5568))
    assert sender.send(b"x", ("239.255.0.1", 5568))
    assert len(made) == 2 and sender.lost == {"interface gone": 1}


def test_stream_command_ends_with_terminated_packets_on_sigterm(examples, tmp_path):
    """A person's own way: the command line, stopped by a signal."""
    folder = examples / "alder-cottage"
    catch = Catch()
    process = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "lumenmap",
            "stream",
            folder / "first-frost.toml",
            "--loop",
            "--to",
            "127.0.0.1",
            "--port",
            str(catch.port),
        ],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    catch.socket.settimeout(30)
    catch.socket.recv(2048)
    time.sleep(0.3)
    process.terminate()
    out, err = process.communicate(timeout=20)
    assert process.returncode == 0, err
    catch.socket.settimeout(0.5)
    packets = catch.all()
    assert packets[-1][112] == 0x40 and "frames in" in out
    universes = {int.from_bytes(p[113:115], "big") for p in packets}
    for u in universes:
        mine = [p for p in packets if int.from_bytes(p[113:115], "big") == u]
        assert [p[112] for p in mine[-4:]] == [0, 0x40, 0x40, 0x40]
        assert not any(mine[-4][126:]), "dark before the end"
