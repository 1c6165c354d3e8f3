"""Bit patterns against the timing tables of the parts, with a clock that is off by one percent."""

import csv
import ctypes
import shutil
import subprocess
from itertools import groupby
from pathlib import Path

import numpy as np
import pytest

from lumenmap.parts.kinds import PIXEL_KINDS
from tests.controller.board.conftest import DECODER, HERE, PLAYER
from tests.controller.board.targets import FLAGS, TARGETS

TABLE = Path(__file__).parents[2] / "tables" / "pulses.csv"
ROWS = list(csv.DictReader(x for x in TABLE.read_text().splitlines() if not x.startswith("#")))
ONE_WIRE = list(dict.fromkeys(r["kind"] for r in ROWS))


class Kind(ctypes.Structure):
    _fields_ = [
        ("name", ctypes.c_char_p),
        ("hertz", ctypes.c_uint32),
        ("zero", ctypes.c_uint8),
        ("one", ctypes.c_uint8),
        ("reset_us", ctypes.c_uint16),
    ]


@pytest.fixture
def wire(library):
    library.lmw_find.restype = ctypes.POINTER(Kind)
    library.lmw_at.restype = ctypes.POINTER(Kind)
    return library


def pattern(wire, how, kind, codes):
    out = (ctypes.c_uint8 * (4 * len(codes)))()
    getattr(wire, how)(kind, bytes(codes), len(codes), out)
    return bytes(out)


def bits_of_spi(octets):
    """Highest bit first."""
    return np.unpackbits(np.frombuffer(octets, np.uint8)).tolist()


def bits_of_uart(octets):
    """An inverted 6N1 transmitter: start bit, six data bits with the lowest first, stop bit."""
    line = []
    for octet in octets:
        assert octet < 64
        frame = [0, *((octet >> i) & 1 for i in range(6)), 1]
        line += [1 - bit for bit in frame]
    return line


def pulses(bits, hertz):
    """(high, low) in microseconds of each pulse; the line is low before and after."""
    runs = [(level, len(list(group)) / hertz * 1e6) for level, group in groupby(bits)]
    assert runs[0][0] == 1 and len(runs) % 2 == 0
    return [(runs[i][1], runs[i + 1][1]) for i in range(0, len(runs), 2)]


@pytest.mark.parametrize("error", [0.99, 1.0, 1.01])
@pytest.mark.parametrize("how", ["lmw_spi", "lmw_uart"])
@pytest.mark.parametrize("name", ONE_WIRE)
def test_every_pulse_is_inside_every_revisions_window(wire, name, how, error):
    kind = wire.lmw_find(name.encode())
    codes = [*range(256), 0, 255, 0xAA, 0x55]
    octets = pattern(wire, how, kind, codes)
    bits = bits_of_spi(octets) if how == "lmw_spi" else bits_of_uart(octets)
    got = pulses(bits, kind.contents.hertz * error)
    true = np.unpackbits(np.array(codes, np.uint8)).tolist()
    assert len(got) == len(true) == 8 * len(codes)
    for row in (r for r in ROWS if r["kind"] == name):
        low = {k: float(v) for k, v in row.items() if k not in ("kind", "source")}
        for bit, (high_us, low_us) in zip(true, got, strict=True):
            t = f"t{bit}"
            assert low[f"{t}h_min"] <= high_us <= low[f"{t}h_max"], (row, bit, high_us)
            assert low[f"{t}l_min"] <= low_us <= low[f"{t}l_max"], (row, bit, low_us)
        rate = 1e6 / sum(map(sum, got)) * len(got)
        assert rate == pytest.approx(1e6 / PIXEL_KINDS[name].bit_us, rel=0.011)


@pytest.mark.parametrize("name", ONE_WIRE)
def test_reset_is_long_enough_with_a_fast_clock(wire, name):
    kind = wire.lmw_find(name.encode())
    low_us = wire.lmw_reset_octets(kind) * 8 / (kind.contents.hertz * 1.01) * 1e6
    for row in (r for r in ROWS if r["kind"] == name):
        assert float(row["reset"]) <= low_us
    assert PIXEL_KINDS[name].reset_us <= low_us <= PIXEL_KINDS[name].reset_us + 20


def test_kinds_are_those_of_the_table_of_kinds(wire):
    names = []
    while kind := wire.lmw_at(len(names)):
        names.append(kind.contents.name.decode())
    assert names == list(PIXEL_KINDS)
    assert set(ONE_WIRE) == {n for n in names if PIXEL_KINDS[n].wire_bits is None}
    assert not wire.lmw_find(b"ws2815")


@pytest.mark.parametrize("pixels", [1, 16, 250, 999])
def test_two_wire_frames(wire, pixels):
    """32 zeros; 111 and a 5-bit level, then the codes; half a clock for each pixel at the end.

    Framing by published descriptions of the APA102 [P]; the end frame's length from memory [M].
    """
    rng = np.random.default_rng(pixels)
    codes = rng.integers(0, 256, (pixels, 3), dtype=np.uint8)
    out = (ctypes.c_uint8 * wire.lmw_two_wire_size(pixels))()
    n = wire.lmw_two_wire(codes.tobytes(), pixels, out)
    assert n == len(out)
    got = bytes(out)
    assert got[:4] == bytes(4)
    body = np.frombuffer(got[4 : 4 + 4 * pixels], np.uint8).reshape(-1, 4)
    assert (body[:, 0] == 0xFF).all() and (body[:, 1:] == codes).all()
    end = got[4 + 4 * pixels :]
    assert not any(end) and 8 * len(end) >= 32 + pixels / 2
    assert wire.lmw_find(b"apa102").contents.hertz == 1e6 / PIXEL_KINDS["apa102"].bit_us


@pytest.mark.parametrize("glue", ["uart_8266.c", "spi_32.c"])
def test_glue_compiles_against_stubs(tmp_path, glue):
    """Not run on hardware: the compiler only says that the calls fit the stub headers."""
    (tmp_path / "board.h").write_text(
        "#define BOARD_LINES 1u\n#define BOARD_LONGEST 50u\n#define BOARD_CHANNELS 3u\n"
        '#define BOARD_MEMORY 400u\n#define BOARD_KIND "ws2812b"\n'
    )
    xtensa = next(t for t in TARGETS if t.name == "Xtensa LX106")
    compiler = f"{xtensa.prefix}gcc" if xtensa.there else shutil.which("cc")
    if compiler is None:
        pytest.skip("there is no C compiler")
    include = [f"-I{p}" for p in (tmp_path, DECODER, PLAYER, HERE / "stubs")]
    source = PLAYER / "glue" / glue
    command = [compiler, *FLAGS, *include, "-c", source, "-o", tmp_path / "a.o"]
    subprocess.run(command, check=True)
    assert "not run on hardware here" in source.read_text()[:200]
