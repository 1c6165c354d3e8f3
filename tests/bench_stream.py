"""Pacing and speed of the stream next to the sacn library, in one run: ``python -m tests.bench_stream``.

40 frames a second on 60 universes for 20 s over loopback, each packet received and looked at; and
packets/s without pacing, prebuilt packets next to that library's ``flush``.
"""

from __future__ import annotations

import argparse
import multiprocessing
import resource
import socket
import struct
import time
from typing import Any
from uuid import UUID

import numpy as np

from lumenmap.controller.e131.blocks import PacketBlocks
from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.routes import Destination, Routes
from lumenmap.controller.e131.sender import UdpSender
from lumenmap.controller.e131.stream import Stream
from lumenmap.controller.files.frameset import FrameLine, FrameSet
from lumenmap.pixels.universes import plan_universes

UNIVERSES, FPS = 60, 40.0
SOURCE = Source(UUID(int=1), "bench")
#: What is no E1.31 packet: a frame of the bare loop, and the word to the receiver to end.
BARE, END = b"x", b"end"
SO_TIMESTAMPNS = 35  # Linux, asm-generic/socket.h: the kernel notes when it took a packet in


def receive(port: Any, ready: Any, out: Any) -> None:
    """Take packets in until told to end; note when the kernel had each frame's first.

    The kernel's own times are used and packets are fetched in bundles, so that this process is
    neither blamed for a late frame nor keeps the sender from its core.
    """
    taken = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    taken.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4 << 20)
    taken.setsockopt(socket.SOL_SOCKET, SO_TIMESTAMPNS, 1)
    taken.bind(("127.0.0.1", 0))
    taken.setblocking(False)
    port.value = taken.getsockname()[1]
    ready.set()
    last: dict[int, int] = {}
    times: list[float] = []
    bare: list[float] = []
    lost = count = 0
    while True:
        try:
            packet, notes, _, _ = taken.recvmsg(2048, 64)
        except BlockingIOError:
            time.sleep(0.02)
            continue
        if packet == END:
            break
        seconds, nanos = struct.unpack("@ll", notes[0][2])
        if packet == BARE:
            bare.append(seconds + nanos / 1e9)
            continue
        count += 1
        universe, number = packet[113] << 8 | packet[114], packet[111]
        lost += (number - last.get(universe, number - 1) - 1) & 255
        last[universe] = number
        if universe == 1:
            times.append(seconds + nanos / 1e9)
    out.put((count, lost, times[:-6], bare))  # the last six are the closing's


def bare_loop(sender: UdpSender, address: Any, seconds: float) -> None:
    """Send one octet at each frame's time and only sleep between: what this machine can do."""
    begun = time.perf_counter()
    for i in range(round(seconds * FPS)):
        time.sleep(max(0.0, begun + i / FPS - time.perf_counter()))
        sender.send(BARE, address)


def regularity(times: list[float]) -> str:
    """Say how regular the times are at which frames came."""
    off = np.abs(np.diff(times) - 1 / FPS) * 1e3
    off = off[off < 1000]  # between the bare loop's two runs lies the stream's
    p50, p99, most = np.percentile(off, (50, 99, 100))
    return f"|period - 25 ms|: p50 {p50:.3f}, p99 {p99:.3f}, max {most:.3f} ms"


def paced(frames: FrameSet, seconds: float) -> None:
    """Print what a paced run gave, beside a bare loop that ran before and after it."""
    port, ready = multiprocessing.Value("i", 0), multiprocessing.Event()
    out: Any = multiprocessing.Queue()
    taker = multiprocessing.Process(target=receive, args=(port, ready, out), daemon=True)
    taker.start()
    ready.wait()
    universes = plan_universes(frames.lines, 3)
    where = Destination(("127.0.0.1",), port=port.value).routes(universes)
    sender, address = UdpSender(), where.data[0][0]
    stream = Stream(SOURCE, where, sender)
    bare_loop(sender, address, seconds / 2)
    before = resource.getrusage(resource.RUSAGE_SELF)
    begun = time.perf_counter()
    report = stream.play(frames, loop=True, stop=lambda: time.perf_counter() >= begun + seconds)
    took = time.perf_counter() - begun
    after = resource.getrusage(resource.RUSAGE_SELF)
    bare_loop(sender, address, seconds / 2)
    time.sleep(0.1)
    sender.send(END, address)
    count, lost, times, bare = out.get(timeout=10)
    late = (np.array(times) - times[0] - np.arange(len(times)) / FPS) * 1e3
    drift = np.median(late[-20:]) - np.median(late[:20])
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    print(
        f"paced {FPS:g} frames/s × {len(universes)} universes, {took:.1f} s: "
        f"{report.frames} frames, {report.dropped} dropped, "
        f"{report.packets} packets sent, {count} received, {lost} lost"
    )
    print(
        f"  stream     {regularity(times)}; drift {drift:+.3f} ms; "
        f"{100 * cpu / took:.1f} % of a core"
    )
    print(f"  bare loop  {regularity(bare)}; sleeps and sends one octet, before and after")


def unpaced(frames: FrameSet, seconds: float = 2.0) -> tuple[float, float]:
    """Return packets/s of sending prebuilt blocks, and of building and sending them."""
    universes = plan_universes(frames.lines, 3)
    blocks = PacketBlocks(SOURCE, Routes(universes, ()), FPS, StreamOptions(steady=True), length=20)
    sender, sink = UdpSender(), socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    sink.bind(("127.0.0.1", 0))
    address = sink.getsockname()
    flat = frames.flat()
    spent = {"send": 0.0, "all": 0.0}
    packets, i, begun = 0, 0, time.perf_counter()
    while time.perf_counter() - begun < seconds:
        start = time.perf_counter()
        block = blocks.build(flat[np.arange(i, i + 20) % len(flat)])
        built = time.perf_counter()
        for row in block:
            for _, packet in row:
                sender.send(packet, address)
                packets += 1
        done = time.perf_counter()
        spent["send"] += done - built
        spent["all"] += done - start
        i += 20
    return packets / spent["send"], packets / spent["all"]


def library(frames: FrameSet, seconds: float = 2.0) -> float:
    """Return packets/s of the sacn library: set each universe's data, then flush."""
    import sacn

    sender = sacn.sACNsender(bind_address="127.0.0.1", bind_port=0, universeDiscovery=False)
    sender.start()
    sender.manual_flush = True
    universes = plan_universes(frames.lines, 3)
    for u in universes:
        sender.activate_output(u.number)
        sender[u.number].destination = "127.0.0.1"
    flat = [[tuple(f[u.octets].tolist()) for u in universes] for f in frames.flat()[:20]]
    packets, begun = 0, time.perf_counter()
    try:
        while time.perf_counter() - begun < seconds:
            for row in flat:
                for u, slots in zip(universes, row, strict=True):
                    sender[u.number].dmx_data = slots
                sender.flush()
                packets += len(universes)
        return packets / (time.perf_counter() - begun)
    finally:
        sender.stop()


def main() -> None:
    """Run all and print it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=20.0, help="of the paced stream")
    seconds = parser.parse_args().seconds
    rng = np.random.default_rng(3)
    codes = rng.integers(0, 256, (200, UNIVERSES * 170, 3), dtype=np.uint8)
    frames = FrameSet(codes, FPS, (FrameLine("all", 0, codes.shape[1], 1, "RGB"),))
    paced(frames, seconds)
    rounds = [(*unpaced(frames), library(frames)) for _ in range(3)]
    send, both, theirs = (float(np.median([r[k] for r in rounds])) for k in range(3))
    print(
        f"unpaced: {send:,.0f} packets/s sending, {both:,.0f} building and sending; "
        f"sacn library {theirs:,.0f}: {send / theirs:.1f} × and {both / theirs:.1f} ×"
    )


if __name__ == "__main__":
    main()
