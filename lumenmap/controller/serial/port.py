"""A serial port, as a sender that a stream can play into. It never waits: a line too slow loses."""

from __future__ import annotations

import contextlib
import os
from collections import Counter

from lumenmap.controller.e131.addresses import Address
from lumenmap.core.errors import InputError

BAUD = 921_600
#: A start bit, eight data bits and a stop bit.
_BITS = 10


def split_port(text: str) -> tuple[str, int]:
    """Return a port's path and baud; ``/dev/ttyUSB0`` or ``/dev/ttyUSB0,115200``.

    Raises
    ------
    InputError
        Baud that isn't a number.
    """
    path, comma, baud = text.partition(",")
    if comma and not (baud.isascii() and baud.isdecimal()):
        raise InputError(f'"{baud[:20]}" isn\'t a speed; expected a number of baud', key="to")
    return path, int(baud) if comma else BAUD


def check_speed(octets: int, rate: float, baud: int) -> None:
    """Refuse frames that the line can't carry.

    Parameters
    ----------
    octets, rate
        Of each frame, and frames a second.

    Raises
    ------
    InputError
        More than the line's baud, start and stop bits counted.
    """
    needed = octets * rate * _BITS
    if needed > baud:
        raise InputError(
            f"{octets} octets {rate:g} times a second are {needed:,.0f} baud; the line has "
            f"{baud:,}. Give a faster one as PORT,BAUD",
            key="to",
        )


class SerialSender:
    """Writes packets to a serial port: 8 data bits, no parity, 1 stop bit, no flow control.

    Raises
    ------
    InputError
        No such port, not one, or a speed that it doesn't have.
    """

    def __init__(self, path: str, baud: int = BAUD) -> None:
        self.lost: Counter[str] = Counter()
        self._rest = b""
        try:
            import termios
        except ImportError:  # not on Windows
            raise InputError("serial ports are for Linux and macOS only", key="to") from None
        speeds = {
            int(name[1:]): value
            for name, value in vars(termios).items()
            if name[0] == "B" and name[1:].isdecimal() and name != "B0"
        }
        if baud not in speeds:
            near = ", ".join(str(b) for b in sorted(speeds) if b >= 9600)
            raise InputError(f"is {baud} baud; expected one of {near}", key="to")
        try:
            self._fd = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        except OSError as error:
            raise InputError(f"can't be opened: {error.strerror}", file=path, key="to") from None
        try:
            mode = termios.tcgetattr(self._fd)
            mode[0], mode[1], mode[3] = 0, 0, 0  # octets as they are, either way
            mode[2] = termios.CS8 | termios.CREAD | termios.CLOCAL
            mode[4] = mode[5] = speeds[baud]
            termios.tcsetattr(self._fd, termios.TCSANOW, mode)
        except termios.error:
            os.close(self._fd)
            raise InputError("isn't a serial port", file=path, key="to") from None

    def send(self, packet: bytes | memoryview, address: Address) -> bool:
        """Write one packet, whole or not at all; say whether it went."""
        del address  # a line has one end
        try:
            if self._rest:
                self._rest = self._rest[os.write(self._fd, self._rest) :]
            if self._rest:
                self.lost["serial line too slow"] += 1
                return False
            self._rest = bytes(packet)[os.write(self._fd, packet) :]
        except BlockingIOError:
            self.lost["serial line too slow"] += 1
            return False
        except OSError as error:
            self.lost[error.strerror or str(error)] += 1
            return False
        return True

    def close(self) -> None:
        """Close the port."""
        with contextlib.suppress(OSError):
            if self._rest:
                os.write(self._fd, self._rest)
            os.close(self._fd)
