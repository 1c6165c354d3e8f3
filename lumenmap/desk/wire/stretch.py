"""Messages as they are on the wire: stretches of codes packed in binary, and JSON read strictly."""

from __future__ import annotations

import struct
import zlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from pydantic import ValidationError

from lumenmap.core.errors import InputError
from lumenmap.desk.wire.asked import CLIENT, ClientMessage
from lumenmap.desk.wire.told import ServerMessage

#: The longest message from a browser (bytes).
LARGEST = 64 << 10
#: The messages' version; a page of another version must be loaded again.
VERSION = 3

#: kind, flags, supplies, show's number, version, first frame, frames, pixels, channels, reserved.
_HEADER = struct.Struct("<BBHIIIIIII")
#: The only kind of binary message so far, and the bits of its flags.
CODES, DEFLATED, FINAL, FLASHING = 1, 1, 2, 4


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """Some frames of a show, as the controllers get them.

    On the wire, little-endian: a header of 32 bytes (uint8 kind = 1, uint8 flags, uint16 S
    supplies, then uint32: number of the show, version, first frame, T frames, N pixels, C channels,
    0), then the body, compressed as zlib does ("deflate" for a browser) if flag 1 is set:

    ====================  =====  ========================================================
    float32 (T, S)        amps   A of each supply
    float32 (T,)          gain   what the light was multiplied by; 1 where nothing is dimmed
    float32 (T,)          load   how full the fullest budget is, 0..1
    uint16 (T,)           full   which budget that is, a number into `House.budgets`;
                                 two more bytes if T is odd
    uint8 (T, N, C)       codes  in each line's own channel order, see `House.lines`
    ====================  =====  ========================================================

    Flag 2: final; without it the dimming is a first bound, and a final stretch follows. Flag 4: the
    flash check finds more than three flashes a second in it, the codes are all 0, and the frames
    come after `AllowFlashing`.

    Codes hold every budget in either case.
    """

    show: int
    version: int
    first: int
    codes: NDArray[np.uint8]
    amps: NDArray[np.floating]
    gain: NDArray[np.floating]
    load: NDArray[np.floating]
    full: NDArray[np.integer]
    final: bool
    flashing: bool = False

    def pack(self, *, small: bool = False) -> bytes:
        """Return the message; ``small`` compresses it."""
        frames, pixels, channels = self.codes.shape
        parts = [
            np.ascontiguousarray(self.amps, "<f4").tobytes(),
            np.ascontiguousarray(self.gain, "<f4").tobytes(),
            np.ascontiguousarray(self.load, "<f4").tobytes(),
            np.ascontiguousarray(self.full, "<u2").tobytes(),
            b"\0\0" * (frames % 2),
            np.ascontiguousarray(self.codes).tobytes(),
        ]
        body = b"".join(parts)
        if small:
            body = zlib.compress(body, 1)
        flags = DEFLATED * small + FINAL * self.final + FLASHING * self.flashing
        supplies = self.amps.shape[1]
        head = (CODES, flags, supplies, self.show, self.version, self.first, frames)
        return _HEADER.pack(*head, pixels, channels, 0) + body


def unpack(message: bytes) -> Stretch:
    """Read what `Stretch.pack` wrote, as the page does.

    Raises
    ------
    ValueError
        It is cut short, or isn't a stretch.
    """
    if len(message) < _HEADER.size or message[0] != CODES:
        raise ValueError("not a stretch")
    _, flags, supplies, show, version, first, frames, pixels, channels, _ = _HEADER.unpack(
        message[: _HEADER.size]
    )
    body = message[_HEADER.size :]
    if flags & DEFLATED:
        body = zlib.decompress(body)
    at = 0

    def take(kind: str, *shape: int) -> NDArray[np.generic]:
        nonlocal at
        count = int(np.prod(shape))
        got = np.frombuffer(body, kind, count, at).reshape(shape)
        at += got.nbytes
        return got

    amps, gain, load = take("<f4", frames, supplies), take("<f4", frames), take("<f4", frames)
    full = take("<u2", frames)
    at += 2 * (frames % 2)
    codes = take("u1", frames, pixels, channels)
    if at != len(body):
        raise ValueError("a stretch of another length than it says")
    final, flashing = bool(flags & FINAL), bool(flags & FLASHING)
    return Stretch(show, version, first, codes, amps, gain, load, full, final, flashing)  # type: ignore[arg-type]


def read(text: str | bytes) -> ClientMessage:
    """Return a browser's message, checked.

    Raises
    ------
    InputError
        Too long, not JSON, or not one of the messages.
    """
    if len(text) > LARGEST:
        raise InputError(f"the message has {len(text):,} bytes; the most is {LARGEST:,}")
    try:
        return CLIENT.validate_json(text)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"])[:120]
        raise InputError(f"the message isn't one of the desk's: {where}: {first['msg']}") from None
    except RecursionError:
        raise InputError("the message isn't one of the desk's: nested too deeply") from None


def write(message: ServerMessage) -> str:
    """Return a message of the server as JSON."""
    return message.model_dump_json()
