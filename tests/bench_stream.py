"""Pacing and speed of the stream beside the sacn library, in one run: ``python -m tests.bench_stream``.

40 frames a second on 60 universes for 20 s over loopback, each packet received and looked at; and
packets a second without pacing, prebuilt packets beside that library's ``flush``.
"""

from __future__ import annotations

import multiprocessing
import resource
import socket
import sys
import time
from typing import Any
from uuid import UUID

import numpy as np

from lumenmap.controller.blocks import PacketBlocks
from lumenmap.controller.frameset import FrameLine, FrameSet
from lumenmap.controller.packets import Source
from lumenmap.controller.routes import routes
from lumenmap.controller.sender import UdpSender
from lumenmap.controller.stream import Stream
from lumenmap.controller.universes import plan_universes

UNIVERSES, FPS = 60, 40.0
SOURCE = Source(UUID(int=1), "bench")


def receive(port: Any, ready: Any, out: Any) -> None:
    """Take everything in until the terminated packets; count what each universe lacks."""
    taken = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    taken.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4 << 20)
    taken.bind(("127.0.0.1", 0))
    port.value = taken.getsockname()[1]
    ready.set()
    last: dict[int, int] = {}
    times, lost, count = [], 0, 0
    while True:
        packet = taken.recv(2048)
        now = time.perf_counter()
        universe, number = packet[113] << 8 | packet[114], packet[111]
        if packet[112]:
            break
        count += 1
        if universe in last:
            lost += (number - last[universe] - 1) & 255
        last[universe] = number
        if universe == 1:
            times.append(now)
    out.put((count, lost, times))


class Timed(UdpSender):
    """Notes when each frame's first packet goes."""

    def __init__(self) -> None:
        super().__init__()
        self.times: list[float] = []

    def send(self, packet: bytes | memoryview, address: Any) -> bool:
        """Send, and note the time of universe 1."""
        if packet[114] == 1 and packet[113] == 0 and not packet[112]:
            self.times.append(time.perf_counter())
        return super().send(packet, address)


def paced(frames: FrameSet, seconds: float) -> None:
    """Print what a paced run gave."""
    port, ready = multiprocessing.Value("i", 0), multiprocessing.Event()
    out: Any = multiprocessing.Queue()
    taker = multiprocessing.Process(target=receive, args=(port, ready, out), daemon=True)
    taker.start()
    ready.wait()
    universes = plan_universes(frames.lines, 3)
    where = routes(universes, ["127.0.0.1"], port=port.value)
    sender = Timed()
    stream = Stream(SOURCE, universes, where, sender)
    before = resource.getrusage(resource.RUSAGE_SELF)
    begun = time.perf_counter()
    end = begun + seconds
    report = stream.play(frames, loop=True, stop=lambda: time.perf_counter() >= end)
    took = time.perf_counter() - begun
    after = resource.getrusage(resource.RUSAGE_SELF)
    count, lost, _ = out.get(timeout=10)
    times = np.array(sender.times[:-3])  # the last are the closing's
    off = np.abs(np.diff(times) - 1 / FPS) * 1e3
    late = (times - times[0] - np.arange(len(times)) / FPS) * 1e3
    drift = np.median(late[-20:]) - np.median(late[:20])
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    print(f"paced {FPS:g} frames/s × {len(universes)} universes, {took:.1f} s: "
          f"{report.frames} frames, {report.dropped} dropped, {report.packets} packets sent, "
          f"{count + 3 * len(universes)} received, {lost} lost")  # fmt: skip
    print(
        f"  |period - 25 ms|: p50 {np.percentile(off, 50):.3f}, p99 {np.percentile(off, 99):.3f}, "
        f"max {off.max():.3f} ms; drift {drift:+.3f} ms; {100 * cpu / took:.1f} % of a core"
    )


def unpaced(frames: FrameSet, seconds: float = 2.0) -> tuple[float, float]:
    """Return packets/s of sending prebuilt blocks, and of building and sending them."""
    universes = plan_universes(frames.lines, 3)
    blocks = PacketBlocks(SOURCE, universes, FPS, length=20, steady=True)
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
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 20.0
    rng = np.random.default_rng(3)
    codes = rng.integers(0, 256, (200, UNIVERSES * 170, 3), dtype=np.uint8)
    frames = FrameSet(codes, FPS, (FrameLine("all", 0, codes.shape[1], 1, "RGB"),))
    paced(frames, seconds)
    rounds = [(*unpaced(frames), library(frames)) for _ in range(3)]
    send, both, theirs = (float(np.median([r[k] for r in rounds])) for k in range(3))
    print(f"unpaced: {send:,.0f} packets/s sending, {both:,.0f} building and sending; "
          f"sacn library {theirs:,.0f}: {send / theirs:.1f} × and {both / theirs:.1f} ×")  # fmt: skip


if __name__ == "__main__":
    main()
