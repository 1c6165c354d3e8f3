"""The flash image: symbols coded, segments found again, everything under a CRC.

c/FORMAT.md is the format's description, c/lumenmap_flash.c its reference decoder.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import chain

import numpy as np
from numpy.typing import NDArray

from lumenmap.controller.files.frameset import FrameSet
from lumenmap.controller.flash.caps import Caps, caps_of
from lumenmap.controller.flash.huffman import canonical_codes, code_lengths, merge_tables
from lumenmap.controller.flash.labels import KINDS, Labels, labels
from lumenmap.controller.flash.symbols import (
    A_RESIDUAL,
    CONTEXTS,
    LENGTHS,
    RESIDUALS,
    Symbols,
    symbols_of,
)
from lumenmap.core.errors import InputError

MAGIC = b"LMFI"
VERSION = 2
#: Residual tables that the decoder has room for.
TABLES = 24
_ALPHABETS = (KINDS, LENGTHS, LENGTHS, LENGTHS, LENGTHS)
_WIDEST = max(LENGTHS, KINDS, RESIDUALS)
_HEAD = struct.Struct("<4sBBBBIIIIIIIHBBI32s")
_LINE = struct.Struct("<IIHH4s4H")
NAME_OCTETS = 32
#: Pixel-frames worked on at once: bounds memory, keeps arrays long.
_CHUNK = 400_000
#: Chunks whose labels are kept from counting to packing, about 3 MB each; others are made again.
_KEPT = 8
#: Pixels over which one predictor holds for literals; the best of these is taken.
_BLOCKS = (24, 64, 1 << 20)


@dataclass(frozen=True, slots=True, eq=False)
class _Coding:
    """Code tables of a whole image."""

    table_of: NDArray[np.int64]
    lengths: NDArray[np.uint8]
    codes: NDArray[np.int64]


def flash_image(frames: FrameSet, *, loss: int = 0, name: str = "") -> bytes:
    """Pack a show.

    Parameters
    ----------
    loss
        The most code steps that any code of ``frames`` was allowed to be off; only written down.
    name
        What the show is called, cut at 32 octets; what ``frames`` calls it if empty.

    Returns
    -------
    The image.

    Raises
    ------
    InputError
        More pixels or frames than the format has room for, or caps that contradict the frames.
    CheckError
        Frames over their own caps.
    """
    count, pixels, _ = frames.codes.shape
    if pixels > 65535 or count >= 1 << 32:
        raise InputError(f"{pixels} pixels × {count} frames; a flash image holds 65535 pixels")
    for line in frames.lines:
        if not 0 <= line.universe <= 65535:
            raise InputError(f"universe {line.universe}; expected 1 to 63999", key=line.name)
    caps = caps_of(frames)
    segment = max(1, min(65535, int(frames.fps)))
    block = _choose_block(frames.codes, segment)
    counts = np.zeros((A_RESIDUAL + CONTEXTS, _WIDEST), np.int64)
    kept: list[Labels] = []
    for chunk in _chunks(frames.codes, segment, block):
        _count(counts, symbols_of(chunk))
        if len(kept) < _KEPT:
            kept.append(chunk)
    coding = _code(counts)
    packed: list[bytes] = []
    for chunk in chain(kept, _chunks(frames.codes, segment, block, len(kept))):
        packed += _pack(symbols_of(chunk), coding, segment)
    title = short_name(name or str(frames.meta.get("show", "")))
    return _assemble(frames, caps, segment, (loss, title), coding, packed)


def short_name(name: str) -> bytes:
    """Return as much of a name as the image has room for, no character cut in two."""
    return name.encode()[:NAME_OCTETS].decode(errors="ignore").encode()


def _chunks(codes: NDArray[np.uint8], segment: int, block: int, first: int = 0) -> Iterator[Labels]:
    step = max(1, _CHUNK // (segment * codes.shape[1])) * segment
    for i in range(first * step, len(codes), step):
        yield from labels(codes[i : i + step], segment, (block,))


def _count(counts: NDArray[np.int64], part: Symbols) -> None:
    np.add.at(counts, (part.table, part.symbol), 1)


def _choose_block(codes: NDArray[np.uint8], segment: int) -> int:
    """Measure on a few segments spread over the show."""
    starts = np.arange(0, len(codes), segment)
    picked = starts[:: max(1, len(starts) // 4)][:4]
    sample = [labels(codes[i : i + segment], segment, _BLOCKS) for i in picked]

    def size(parts: Iterable[Labels]) -> float:
        counts = np.zeros((A_RESIDUAL + CONTEXTS, _WIDEST), np.int64)
        extra = 0
        for part in map(symbols_of, parts):
            _count(counts, part)
            extra += int(part.extra_bits.sum())
        lengths = np.stack([code_lengths(c) for c in counts])
        return float((counts * lengths).sum() + extra)

    sizes = [size(parts) for parts in zip(*sample, strict=True)]
    return _BLOCKS[int(np.argmin(sizes))]


def _code(counts: NDArray[np.int64]) -> _Coding:
    residual = counts[A_RESIDUAL:]
    share = merge_tables(residual, TABLES, 4 * RESIDUALS)
    merged = np.zeros((share.max() + 1, counts.shape[1]), np.int64)
    np.add.at(merged, share, residual)
    lengths = np.stack([code_lengths(c) for c in [*counts[:A_RESIDUAL], *merged]])
    table_of = np.concatenate([np.arange(A_RESIDUAL), A_RESIDUAL + share])
    return _Coding(table_of, lengths, np.stack([canonical_codes(x) for x in lengths]))


def _pack(part: Symbols, coding: _Coding, segment: int) -> list[bytes]:
    """Return the bytes of each of a chunk's segments."""
    table = coding.table_of[part.table]
    length = coding.lengths[table, part.symbol].astype(np.int64)
    value = (coding.codes[table, part.symbol] << part.extra_bits) | part.extra
    bits = length + part.extra_bits
    number = part.frame // segment
    ends = np.flatnonzero(np.diff(number, append=number[-1] + 1)) + 1
    done, start, out = np.cumsum(bits), 0, []
    for end in ends:
        first = done[start] - bits[start]
        at = done[start:end] - first
        plane = np.zeros(int(at[-1]), np.uint8)
        left, widths = value[start:end], bits[start:end]
        for b in range(int(widths.max())):
            wide = widths > b
            plane[at[wide] - 1 - b] = (left[wide] >> b) & 1
        out.append(np.packbits(plane).tobytes())
        start = int(end)
    return out


def _nibbles(values: NDArray[np.uint8]) -> bytes:
    padded = np.append(values, np.zeros(len(values) % 2, np.uint8))
    return bytes(padded[::2] | padded[1::2] << 4)


def _assemble(
    frames: FrameSet,
    caps: Caps,
    segment: int,
    about: tuple[int, bytes],
    coding: _Coding,
    packed: list[bytes],
) -> bytes:
    count, pixels, channels = frames.codes.shape
    rate = Fraction(frames.fps).limit_denominator(100_000)
    lines, tables = _lines(frames, caps), _tables(coding)
    size = _HEAD.size + len(lines) + len(tables) + 12 * len(packed) + 4
    index, data = _indexed(packed, size)
    loss, name = about
    head = (
        _HEAD.pack(
            MAGIC,
            VERSION,
            channels,
            loss,
            len(coding.lengths) - A_RESIDUAL,
            size,
            size + len(data),
            count,
            pixels,
            rate.numerator,
            rate.denominator,
            segment,
            len(frames.lines),
            len(caps.limits),
            0,
            len(caps.zones),
            name,
        )
        + lines
        + tables
        + index
    )
    return head + struct.pack("<I", zlib.crc32(head)) + data


def _tables(coding: _Coding) -> bytes:
    """Return the lengths of all codes, and which table each context of residuals has."""
    tables = b"".join(_nibbles(coding.lengths[i][:n]) for i, n in enumerate(_ALPHABETS))
    tables += bytes(coding.table_of[A_RESIDUAL:].astype(np.uint8) - A_RESIDUAL)
    return tables + b"".join(_nibbles(x[:RESIDUALS]) for x in coding.lengths[A_RESIDUAL:])


def _indexed(packed: list[bytes], first: int) -> tuple[bytes, bytes]:
    """Return where each segment is, its size and CRC; and the segments, the first at ``first``."""
    index, data, seen = [], bytearray(), dict[bytes, int]()
    for part in packed:
        if part not in seen:  # a second that comes again is kept once
            seen[part] = first + len(data)
            data += part
        index.append(struct.pack("<III", seen[part], len(part), zlib.crc32(part)))
    return b"".join(index), bytes(data)


def _lines(frames: FrameSet, caps: Caps) -> bytes:
    """Return the header's lines, limits and zones."""
    out = [
        _LINE.pack(
            line.first,
            line.count,
            line.universe,
            0,
            line.order.encode("ascii"),
            *(*weight, 0)[:4],
        )
        for line, weight in zip(frames.lines, caps.weights, strict=True)
    ]
    out += [struct.pack("<Q", limit) for limit in caps.limits]
    zones = [(z.pixels, z.share) for z in caps.zones]
    out += [struct.pack(f"<H{len(share)}H", n, *share) for n, share in zones]
    return b"".join(out)
