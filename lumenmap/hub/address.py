"""Where the broker is, and as whom we come: ``mqtt://user@broker.local:1883``."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import unquote, urlsplit

from lumenmap.core.errors import InputError
from lumenmap.core.regular import read_regular

#: Where the password is found: itself, or a file that holds it. Never on the command line, where
#: everybody on the machine can read it.
PASSWORD, PASSWORD_FILE = "LUMENMAP_HUB_PASSWORD", "LUMENMAP_HUB_PASSWORD_FILE"
#: Ports of MQTT, plain and over TLS, as registered with IANA.
_PORTS = {"mqtt": 1883, "mqtts": 8883}


@dataclass(frozen=True, slots=True)
class Broker:
    """A broker's address, and whether it speaks TLS."""

    host: str
    port: int
    user: str
    password: str
    tls: bool

    def __repr__(self) -> str:
        """Name it, without the password."""
        return f"<Broker {self.host}:{self.port}>"


def read_broker(url: str) -> Broker:
    """Read a broker's address; the password comes from the environment.

    Raises
    ------
    InputError
        Not such an address, one with a password in it, or a password file that can't be read.
    """
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError as error:
        raise InputError(f"isn't an address: {error}", key="hub") from None
    if parts.scheme not in _PORTS or not parts.hostname or parts.path.strip("/") or parts.query:
        raise InputError(
            f'is "{url[:60]}"; expected an address such as mqtt://user@192.168.1.5', key="hub"
        )
    if parts.password is not None:
        raise InputError(
            "has a password in it, which everybody on this machine could read; leave it out and "
            f"set {PASSWORD}, or {PASSWORD_FILE} to a file that holds it",
            key="hub",
        )
    return Broker(
        parts.hostname,
        port or _PORTS[parts.scheme],
        unquote(parts.username or ""),
        _password(),
        parts.scheme == "mqtts",
    )


def _password() -> str:
    if file := os.environ.get(PASSWORD_FILE, ""):
        try:
            return read_regular(Path(file), 4096, "a password").decode().rstrip("\r\n")
        except OSError as error:
            raise InputError(f"can't be read: {error.strerror or error}", file=file) from None
        except UnicodeDecodeError:
            raise InputError("isn't text", file=file) from None
    return os.environ.get(PASSWORD, "")
