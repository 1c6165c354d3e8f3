"""A serial port, as a sender that a stream can play into. It never waits: a line too slow loses."""

from __future__ import annotations

import contextlib
import os
import time
from collections import Counter

from lumenmap.controller.e131.addresses import Address
from lumenmap.core.errors import InputError

#: Eight times 115,200: what usual USB bridges reach (common practice, no source).
BAUD = 921_600
#: A start bit, eight data bits and a stop bit.
_BITS = 10
TOO_SLOW, GONE = "serial line too slow", "serial port gone"
#: A port that went away is looked for again so often (s).
_AGAIN_SECONDS = 1.0


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
        self._path, self._speed = path, speeds[baud]
        self._fd: int | None = self._open()
        self._again = 0.0  # when a port that went away is looked for again (s, monotonic)

    def _open(self) -> int:
        import termios

        try:
            fd = os.open(self._path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
        except OSError as error:
            message = f"can't be opened: {error.strerror}"
            raise InputError(message, file=self._path, key="to") from None
        try:
            mode = termios.tcgetattr(fd)
            mode[0], mode[1], mode[3] = 0, 0, 0  # octets as they are, either way
            mode[2] = termios.CS8 | termios.CREAD | termios.CLOCAL
            mode[4] = mode[5] = self._speed
            termios.tcsetattr(fd, termios.TCSANOW, mode)
        except termios.error:
            os.close(fd)
            raise InputError("isn't a serial port", file=self._path, key="to") from None
        return fd

    def send(self, packet: bytes | memoryview, address: Address) -> bool:
        """Write one packet, whole or not at all; say whether it went."""
        del address  # a line has one end
        why = self._write(packet)
        if why:
            self.lost[why] += 1
        return not why

    def _write(self, packet: bytes | memoryview) -> str:
        """Write one packet; return why it is lost, or the empty string."""
        if self._fd is None and time.monotonic() < self._again:
            return GONE
        try:
            if self._fd is None:
                self._fd, self._rest = self._open(), b""
            if self._rest:
                self._rest = self._rest[os.write(self._fd, self._rest) :]
            if self._rest:
                return TOO_SLOW
            self._rest = bytes(packet)[os.write(self._fd, packet) :]
        except BlockingIOError:
            return TOO_SLOW
        except (OSError, InputError):  # unplugged: plugged in again, it has to be opened again
            self.close()
            self._again = time.monotonic() + _AGAIN_SECONDS
            return GONE
        return ""

    def close(self) -> None:
        """Close the port."""
        fd, self._fd = self._fd, None
        if fd is None:
            return
        with contextlib.suppress(OSError):
            if self._rest:
                os.write(fd, self._rest)
        with contextlib.suppress(OSError):
            os.close(fd)
