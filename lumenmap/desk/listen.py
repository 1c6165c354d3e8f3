"""Where the desk listens: this machine alone, or its addresses on the home network."""

from __future__ import annotations

import contextlib
import ipaddress
import socket
from collections.abc import Iterator

import psutil

from lumenmap.core.errors import InputError


def home_addresses(told_twice: bool) -> list[str]:
    """Return this machine's IPv4 addresses on the home network, the usual one first.

    Raises
    ------
    InputError
        It is on no network, or on one that isn't a home network.
    """
    found = [
        address.address
        for name, addresses in psutil.net_if_addrs().items()
        for address in addresses
        if address.family == socket.AF_INET and not address.address.startswith("127.")
    ]
    if not found:
        raise InputError("this machine is on no network; the desk can be used on it alone")
    private = [a for a in found if ipaddress.ip_address(a).is_private]
    public = [a for a in found if a not in private]
    if public and not told_twice:
        raise InputError(
            f"this machine has the address {public[0]}, which isn't one of a home network, so "
            "strangers might reach the desk. It is made for the home alone. If you are sure that "
            "only your own devices come here, give --lan twice"
        )
    usual = _usual()
    return sorted(found if told_twice else private, key=lambda a: a != usual)


def home_networks() -> list[str]:
    """Return the home networks that this machine is on: ``192.168.1.0/24``."""
    found: list[str] = []
    for addresses in psutil.net_if_addrs().values():
        for address in addresses:
            if address.family == socket.AF_INET and address.netmask:
                network = ipaddress.IPv4Interface(f"{address.address}/{address.netmask}").network
                if network.is_private and not network.is_loopback and network.prefixlen < 31:
                    found.append(str(network))
    return list(dict.fromkeys(found))


def names_of(home: list[str]) -> list[str]:
    """Return the names by which devices on a home network may find this machine."""
    if not home:
        return []
    name = socket.gethostname().split(".")[0].lower()
    return [name, f"{name}.local"] if name and name != "localhost" else []


def _usual() -> str:
    """Return the address that this machine uses to reach others; nothing is sent to find out."""
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.connect(("192.0.2.1", 9))  # TEST-NET-1, RFC 5737: nobody's
        return str(probe.getsockname()[0])
    return ""


@contextlib.contextmanager
def listening(addresses: list[str], port: int) -> Iterator[list[socket.socket]]:
    """Give sockets that listen; port 0 is any free one, the same for all.

    Raises
    ------
    InputError
        The port is in use, or not ours to use.
    """
    with contextlib.ExitStack() as stack:
        made: list[socket.socket] = []
        for address in addresses:
            one = stack.enter_context(socket.socket(socket.AF_INET, socket.SOCK_STREAM))
            one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            try:
                one.bind((address, port))
                one.listen(128)  # who comes before the server is ready waits
            except OSError as error:
                raise InputError(
                    f"port {port} can't be used: {error.strerror}. Another desk may be running; "
                    "use its page, or name another port, as in --port 8241"
                ) from None
            port = one.getsockname()[1]
            made.append(one)
        yield made
