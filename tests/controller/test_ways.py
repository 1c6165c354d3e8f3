"""Other ways to feed a controller: packets octet by octet, the stream's rules, tshark."""

import io
import os
import select
import shutil
import struct
import subprocess
import threading
import uuid
import zlib

import numpy as np
import pytest

from lumenmap.controller.artnet.packets import ARTNET, artdmx, artsync
from lumenmap.controller.ddp.packets import DDP, ddp_packet
from lumenmap.controller.e131.capture import Capture, VirtualClock
from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.stream import Stream
from lumenmap.controller.e131.way import E131
from lumenmap.controller.serial.framing import END, SERIAL, serial_frame
from lumenmap.controller.serial.port import SerialSender, check_speed
from lumenmap.controller.ways import feed
from lumenmap.core.errors import InputError

A = Source(uuid.UUID(int=5), "Test source")


def play(frames, sender, clock, to, **options):
    """Stream frames by the way that ``to`` names."""
    given = feed(to)
    given.check()
    routed = given.routes(given.way.plan(frames.lines, frames.channels))
    return Stream(A, routed, sender, StreamOptions(**options), clock=clock).play(frames)


def test_artdmx_octet_by_octet():
    """Field table of Art-Net 4, ArtDmx [P2]: little-endian OpCode 0x5000, big-endian the rest."""
    assert artdmx(0x1234, bytes([255, 0, 7]), 9) == bytes.fromhex(
        "4172742d4e657400"  # "Art-Net", 0
        "0050"  # OpDmx, low octet first
        "000e"  # protocol version 14
        "09"  # sequence
        "00"  # physical port
        "34"  # SubUni
        "12"  # Net
        "0004"  # length: even, high octet first
        "ff000700"
    )
    assert artsync() == bytes.fromhex("4172742d4e6574000052000e0000")


def test_ddp_octet_by_octet():
    """Header as remembered [M]: version 1 and push, sequence, type, output 1, offset, length."""
    assert ddp_packet(1440, bytes([1, 2, 3]), push=True, sequence=15) == bytes.fromhex(
        "410f0b01000005a00003010203"
    )
    assert ddp_packet(0, bytes(4), channels=4)[:4] == bytes.fromhex("40001b01")


def test_serial_frame_octet_by_octet():
    """PROTOCOL.md; the CRC is zlib's."""
    body = bytes.fromhex("01 07 03000000 0a0b0c")
    assert serial_frame(b"\x0a\x0b\x0c", sequence=7) == b"LM" + body + struct.pack(
        "<I", zlib.crc32(body)
    )


def test_artnet_stream_is_the_frames(sender, clock, make_frames):
    frames = make_frames(300, (200, 31), first_universe=1)
    report = play(frames, sender, clock, ["artnet:127.0.0.1"], steady=True)
    packets = [(a, p) for _, a, p in sender.sent]
    assert {a for a, _ in packets} == {("127.0.0.1", 6454)}
    by = {n: [p for _, p in packets if p[14] == n] for n in (1, 2, 3)}
    assert sum(map(len, by.values())) == len(packets) == report.packets == 3 * 303
    spans = {1: slice(0, 510), 2: slice(510, 600), 3: slice(600, 693)}
    for n, got in by.items():
        span = spans[n]
        size = span.stop - span.start
        assert [p[18 : 18 + size] for p in got[:300]] == [f[span].tobytes() for f in frames.flat()]
        assert all(p == artdmx(n, p[18 : 18 + size], p[12]) for p in got)
        assert [p[12] for p in got] == [1 + i % 255 for i in range(303)], "1 to 255, never 0"
        assert not any(any(p[18:]) for p in got[300:]), "black at the end"


def test_artnet_sync_follows_each_frame(sender, clock, make_frames):
    play(make_frames(4, (200,)), sender, clock, ["artnet:127.0.0.1"], sync=1, steady=True)
    kinds = [p[8:10] for _, _, p in sender.sent]
    assert kinds == [b"\0\x50", b"\0\x50", b"\0\x52"] * 7


def test_artnet_still_scene_is_sent_again(sender, clock, make_frames):
    """800 to 1000 ms, as recommended for nodes shared with E1.31 [P2]."""
    frames = make_frames(200)
    frames.codes[:] = frames.codes[0]
    play(frames, sender, clock, ["artnet:127.0.0.1"])
    times = np.array([t for t, *_ in sender.sent[:-3]])
    gaps = np.diff(times[2:])
    assert len(times) == 3 + 5 and ((gaps >= 0.8) & (gaps <= 1.0)).all()


@pytest.mark.parametrize("channels", [3, 4])
def test_ddp_stream_is_the_frames(sender, clock, make_frames, channels):
    frames = make_frames(40, (500, 30), channels=channels)
    play(frames, sender, clock, ["ddp:127.0.0.1"])
    display = np.zeros(frames.flat().shape[1], np.uint8)
    shown, numbers = [], []
    for _, address, p in sender.sent:
        flags, number, kind, output, offset, size = struct.unpack_from(">BBBBIH", p)
        assert address == ("127.0.0.1", 4048) and len(p) == 10 + size <= 1450
        assert (kind, output) == (0x0B if channels == 3 else 0x1B, 1)
        display[offset : offset + size] = list(p[10:])
        numbers.append(number)
        if flags == 0x41:
            shown.append(display.copy())
        else:
            assert flags == 0x40
    assert (np.array(shown[:40]) == frames.flat()).all() and not np.array(shown[40:]).any()
    assert set(numbers) == set(range(1, 16)), "1 to 15"


def test_ddp_displays_apart_begin_at_0(sender, clock, make_frames):
    frames = make_frames(3, (10, 20))
    play(frames, sender, clock, ["line-0=ddp:127.0.0.1", "line-1=ddp:127.0.0.2"], steady=True)
    for address, span in (("127.0.0.1", slice(0, 30)), ("127.0.0.2", slice(30, 90))):
        got = [p for _, a, p in sender.sent if a[0] == address]
        assert {p[0] for p in got} == {0x41} and {p[4:8] for p in got} == {bytes(4)}
        assert [p[10:] for p in got[:3]] == [f[span].tobytes() for f in frames.flat()]


def test_ddp_sends_the_push_though_its_packet_has_not_changed(sender, clock, make_frames):
    frames = make_frames(12, (600,))
    frames.codes[:, 480:] = 9  # the second packet stays as it is
    play(frames, sender, clock, ["ddp:127.0.0.1"])
    assert sum(p[0] == 0x41 for *_, p in sender.sent) == 12 + 3


def read_all(fd, done=None):
    """What comes until nothing does; not before ``done`` is set, if there is one."""
    out = b""
    while select.select([fd], [], [], 0.3)[0] or (done is not None and not done.is_set()):
        if select.select([fd], [], [], 0)[0]:
            out += os.read(fd, 65536)
    return out


def test_serial_stream_through_a_port(clock, make_frames):
    """Over a pseudo-terminal: octets arrive as they were sent, whatever they are."""
    frames = make_frames(30, (40, 9))
    ours, theirs = os.openpty()
    got, done = [], threading.Event()
    reader = threading.Thread(target=lambda: got.append(read_all(ours, done)))
    sender = SerialSender(os.ttyname(theirs), 921600)
    reader.start()
    routed = feed(["serial:x"]).routes(SERIAL.plan(frames.lines, 3))

    class Brisk(VirtualClock):
        def sleep(self, seconds):
            super().sleep(seconds)
            threading.Event().wait(0.005)

    report = Stream(A, routed, sender, clock=Brisk()).play(frames)
    done.set()
    reader.join()
    sender.close()
    os.close(ours)
    os.close(theirs)
    flat = frames.flat()
    expected = [serial_frame(f.tobytes(), sequence=i) for i, f in enumerate(flat)]
    black = bytes(flat.shape[1])
    expected += [serial_frame(black, sequence=30 + i) for i in range(3)]
    expected += [serial_frame(black, sequence=33 + i, kind=END) for i in range(3)]
    assert got[0] == b"".join(expected) and not report.lost


def test_serial_line_too_slow_loses_whole_frames_only():
    ours, theirs = os.openpty()
    sender = SerialSender(os.ttyname(theirs))
    packet = serial_frame(bytes(range(256)) * 40)
    sent = sum(sender.send(packet, ("", 0)) for _ in range(20))
    assert 0 < sent < 20 and sender.lost["serial line too slow"] == 20 - sent
    got = read_all(ours)
    sender.send(packet, ("", 0))
    got += read_all(ours)
    assert got == packet * (len(got) // len(packet)) + packet[: len(got) % len(packet)]
    sender.close()
    os.close(ours)
    os.close(theirs)


@pytest.mark.parametrize(
    ("to", "options", "message"),
    [
        (["artnet:127.0.0.1", "127.0.0.1"], {}, "names artnet and e131; expected one way"),
        (["artnet:127.0.0.1"], {"multicast": True}, "is E1.31's; artnet goes to addresses"),
        (["ddp:nope nope"], {}, "nope nope"),
        (["ddp:239.1.2.3"], {}, "more than one"),
        (["serial:/dev/a", "serial:/dev/b"], {}, "give one serial:PORT"),
        (["front=serial:/dev/a"], {}, "give one serial:PORT"),
        (["serial:/dev/a,fast"], {}, '"fast" isn.t a speed'),
    ],
)
def test_what_can_not_be_sent_is_refused(to, options, message):
    with pytest.raises(InputError, match=message):
        feed(to, **options).check()


def test_ports_and_speeds_that_are_not_there(tmp_path):
    with pytest.raises(InputError, match="can't be opened: No such file"):
        SerialSender(str(tmp_path / "no"))
    with pytest.raises(InputError, match="isn't a serial port"):
        SerialSender("/dev/null")
    with pytest.raises(InputError, match="12345 baud; expected one of 9600"):
        SerialSender("/dev/null", 12345)
    with pytest.raises(InputError, match=r"are 604,800 baud; the line has 115,200"):
        check_speed(1512, 40.0, 115_200)
    check_speed(1512, 40.0, 921_600)


def test_universes_that_artnet_has_not(make_frames):
    frames = make_frames(1, first_universe=32768)
    with pytest.raises(InputError, match="universe 32768; Art-Net has port-addresses up to 32767"):
        ARTNET.plan(frames.lines, 3)
    DDP.plan(frames.lines, 3)


def test_addresses_without_a_word_are_e131s():
    assert feed(["192.168.1.40"]).way is E131
    assert feed(["fd00::1"]).way is E131 and feed(["fd00::1"]).destination.to == ("fd00::1",)
    assert feed(["front=ddp:10.0.0.1"]).destination.to == ("front=10.0.0.1",)
    assert feed(["ddp:10.0.0.1"], port=5000).destination.port == 5000


def test_tshark_dissects_artnet(tmp_path, make_frames):
    """Its dissector, on port 6454, without a mark of malformed or expert."""
    tshark = shutil.which("tshark")
    if tshark is None:
        pytest.skip("tshark is not installed")
    frames = make_frames(10, (171,), first_universe=300)
    file, clock = io.BytesIO(), VirtualClock()
    play(frames, Capture(file, clock), clock, ["artnet:192.0.2.9"], sync=1, steady=True)
    (tmp_path / "a.pcap").write_bytes(file.getvalue())
    fields = ("udp.dstport", "artnet.header.opcode", "artnet.header.protver")
    fields += ("artnet.output.sequence", "artnet.output.universe", "artnet.output.length")
    fields += ("udp.payload", "_ws.expert", "_ws.malformed")
    command = [tshark, "-r", tmp_path / "a.pcap", "-T", "fields", "-E", "separator=|"]
    for field in fields:
        command += ["-e", field]
    got = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    rows = [line.split("|") for line in got.splitlines()]
    assert len(rows) == 3 * 13 and {r[0] for r in rows} == {"6454"}
    assert not any(r[7] or r[8] for r in rows)
    assert [int(r[1], 0) for r in rows] == [0x5000, 0x5000, 0x5200] * 13
    data = [r for r in rows if int(r[1], 0) == 0x5000]
    assert {int(r[2]) for r in data} == {14}
    assert [int(r[4]) for r in data[:2]] == [300, 301]
    assert [int(r[5]) for r in data[:2]] == [510, 4], "3 slots made even"
    first = bytes.fromhex(data[0][6])[18:] + bytes.fromhex(data[1][6])[18:21]
    assert first == frames.flat()[0].tobytes()
    assert [int(r[3]) for r in data[::2]] == list(range(1, 14))


def test_stream_command_by_another_way(lumenmap, examples):
    import socket

    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as catch:
        catch.bind(("127.0.0.1", 0))
        catch.settimeout(5)
        show = examples / "kelder-studio" / "lantern-walk.toml"
        done = lumenmap("stream", show, "--to", "ddp:127.0.0.1", "--dry-run")
        assert done.code == 0 and "127.0.0.1" in done.out
        done = lumenmap("stream", show, "--to", "serial:/dev/null,9600")
        done.fails(2, "isn't a serial port")


def test_serial_port_that_is_unplugged_and_plugged_in_again(tmp_path, monkeypatch):
    """Losing it is counted, and its path is opened again, by whatever device is there then."""
    clock = [100.0]
    monkeypatch.setattr("lumenmap.controller.serial.port.time.monotonic", lambda: clock[0])
    ends = [os.openpty() for _ in range(2)]
    path = tmp_path / "port"
    path.symlink_to(os.ttyname(ends[0][1]))
    sender = SerialSender(str(path))
    assert sender.send(b"one", ("x", 0)) and os.read(ends[0][0], 9) == b"one"
    for fd in ends[0]:
        os.close(fd)
    path.unlink()
    for _ in range(3):
        assert not sender.send(b"lost", ("x", 0))
        clock[0] += 1.5
    assert sender.lost == {"serial port gone": 3}
    path.symlink_to(os.ttyname(ends[1][1]))
    assert sender.send(b"two", ("x", 0)) and os.read(ends[1][0], 9) == b"two"
    sender.close()
    sender.close()
    for fd in ends[1]:
        os.close(fd)
