"""The player on a made-up board, compiled from the very C that is shipped."""

import ctypes
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest

import lumenmap.controller
from lumenmap.controller.files.frameset import FrameLine, FrameSet

HERE = Path(__file__).parent
ROOM = Path(lumenmap.controller.__file__).parent
DECODER, PLAYER = ROOM / "c", ROOM / "board" / "c"
#: Everything that runs on the board; the simulator and glue are for one kind of machine each.
SOURCES = [
    *(DECODER / f"lumenmap_{n}.c" for n in ("flash", "decode", "bits")),
    *(
        PLAYER / f"{n}.c"
        for n in ("caps", "state", "player", "change", "evening", "year", "live", "serial", "wire")
    ),
]
STRICT = ["-std=c99", "-pedantic", "-Wall", "-Wextra", "-Wconversion", "-Wshadow", "-Werror"]
SANE = ["-fsanitize=address,undefined", "-fno-sanitize-recover=all", "-g", "-O1"]
INCLUDE = [f"-I{DECODER}", f"-I{PLAYER}", f"-I{HERE}"]
CC = shutil.which("cc") or shutil.which("gcc")
TABLE = 0x7FFE
DARK, OPENING, PLAYING, LIVE, ERROR = range(5)


def compile_c(out: Path, *arguments) -> Path:
    """Compile with every warning an error."""
    if CC is None:
        pytest.skip("there is no C compiler")
    command = [CC, *STRICT, *INCLUDE, "-o", out, *arguments]
    subprocess.run([str(c) for c in command], check=True)
    return out


@dataclass
class Shown:
    """A frame that left the board."""

    ms: int
    state: int
    codes: bytes


class Board:
    """A board whose flash, clock and wire are the test's."""

    def __init__(self, library, memory=20_000, lines=1, now=0, log=1 << 22):
        self._c = library
        self._c.bench_new.restype = ctypes.c_void_p
        self._b = ctypes.c_void_p(self._c.bench_new(memory, lines, now & 0xFFFFFFFF, log))
        self._kept = {}
        self.memory = memory

    def __getattr__(self, name):
        function = getattr(self._c, f"bench_{name}")
        return lambda *a: function(self._b, *a)

    def file(self, number, data):
        self._kept[number] = kept = (ctypes.c_uint8 * len(data)).from_buffer_copy(data)
        self._c.bench_set_file(self._b, number, kept, len(data))

    def run(self, ms, step=1):
        self._c.bench_run(self._b, ms, step)
        return self

    def jump(self, ms, steps=60):
        self._c.bench_jump(self._b, ms & 0xFFFFFFFF, steps)
        return self

    def octets(self, data):
        self._c.bench_octets(self._b, bytes(data), len(data))

    def packet(self, data):
        return self._c.bench_packet(self._b, bytes(data), len(data))

    @property
    def utc(self):
        return ctypes.c_uint32(self._c.bench_utc(self._b)).value

    def wire(self, size):
        self._c.bench_wire.restype = ctypes.c_void_p
        return ctypes.string_at(self._c.bench_wire(self._b), size)

    def shown(self):
        """All frames since the last call."""
        self._c.bench_log.restype = ctypes.c_void_p
        log = ctypes.string_at(self._c.bench_log(self._b), self._c.bench_used(self._b))
        self._c.bench_forget(self._b)
        out, at = [], 0
        while at < len(log):
            ms, state, size = np.frombuffer(log, "<u4", 3, at).tolist()
            out.append(Shown(ms, state, log[at + 12 : at + 12 + size]))
            at += 12 + size
        return out

    def close(self):
        self._c.bench_free(self._b)


@pytest.fixture(scope="session")
def library(once):
    words = ["-O1", "-shared", "-fPIC", HERE / "bench.c", *SOURCES]
    return ctypes.CDLL(str(once("bench.so", lambda out: compile_c(out, *words))))


@pytest.fixture(scope="session")
def fuzz_program(once):
    """fuzz.c with the player under AddressSanitizer and UBSan."""
    words = [*SANE, HERE / "fuzz.c", HERE / "bench.c", *SOURCES]
    return once("fuzz", lambda out: compile_c(out, *words))


@pytest.fixture
def board(library):
    made = []

    def make(**options):
        made.append(Board(library, **options))
        return made[-1]

    yield make
    for one in made:
        one.close()


@pytest.fixture
def make_frames():
    from tests.controller.conftest import frame_set

    return frame_set


def show_of(frames=100, counts=(30, 20), *, fps=40.0, channels=3, seed=1, caps=None, name="Porch"):
    """Smooth random light on lines of so many pixels, with caps if they are given."""
    rng = np.random.default_rng(seed)
    n = sum(counts)
    t, x = np.arange(frames)[:, None, None] / fps, np.arange(n)[None, :, None]
    phase = rng.random(channels) * 6
    codes = (np.sin(x / 9 - 2 * t + phase) * 100 + 120).astype(np.uint8)
    codes[rng.random((frames, n)) < 0.02] = 255
    codes[:, 0] = seed & 255  # no two shows share a frame
    lines, at, universe = [], 0, 1
    for i, count in enumerate(counts):
        lines.append(FrameLine(f"line-{i}", at, count, universe, "GRBW"[:channels]))
        at += count
        universe += -(-count // (512 // channels))
    meta = {"show": name, **({"caps": caps} if caps else {})}
    return FrameSet(codes, fps, tuple(lines), meta=meta)


def one_cap(limit, frames):
    """A single budget over all pixels."""
    return {
        "names": ["all"],
        "limits": [limit],
        "weights": [[1] * frames.channels] * len(frames.lines),
        "zones": [{"pixels": int(frames.codes.shape[1]), "share": [4096]}],
    }
