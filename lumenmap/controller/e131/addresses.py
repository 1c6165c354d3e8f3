"""Addresses as people give them, and what they stand for on the network.

``192.168.1.40``, ``192.168.1.40:5568``, ``controller.local``, ``fd00::40``, ``[fd00::40]:5568``.
"""

from __future__ import annotations

import ipaddress
import re
import socket

from lumenmap.core.errors import InputError

#: Host and port as `socket` takes them: two parts for IPv4 and for names, four for IPv6.
Address = tuple[str, int] | tuple[str, int, int, int]

#: First octets of IPv4 that are no single host: "this network", multicast, reserved.
_SHARED = {"0", *map(str, range(224, 256))}


def parse_host(text: str, port: int) -> tuple[str, int]:
    """Return host and port of ``HOST``, ``HOST:PORT`` or ``[IPV6]:PORT``; nothing is looked up.

    Raises
    ------
    InputError
        Neither a name nor an IP address, or a port out of range.
    """
    host = text.strip()
    if m := re.fullmatch(r"(\[[^\]]*\]|[^:]*):([^:]*)", host):
        host = m[1]
        if not (m[2].isascii() and m[2].isdecimal() and 1 <= int(m[2][:9]) <= 65535):
            raise InputError(f'"{text[:60]}" has port "{m[2][:9]}"; expected 1 to 65535', key="to")
        port = int(m[2])
    host = host.removeprefix("[").removesuffix("]")
    if not host or len(host) > 253 or any(c.isspace() or c == "\0" for c in host):
        raise InputError(
            f'"{text[:60]}" isn\'t an address; expected one like 192.168.1.40', key="to"
        )
    if all(c.isdigit() or c == "." for c in host) and not is_dotted_quad(host):
        raise InputError(
            f'"{host}" isn\'t an address; IPv4 has four numbers from 0 to 255', key="to"
        )
    return host, port


def resolve(text: str, port: int) -> Address:
    """Return the network address of a host name or IP address, with or without a port.

    Raises
    ------
    InputError
        Not an address, an unknown name, or an address of more than one machine.
    """
    return look_up(*parse_host(text, port))


def look_up(host: str, port: int) -> Address:
    """Return the network address of a host name or IP address; this may take seconds.

    Raises
    ------
    InputError
        An unknown name, or an address of more than one machine.
    """
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_DGRAM)
    except (OSError, UnicodeError) as error:
        why = getattr(error, "strerror", None) or error
        raise InputError(f'"{host}" can\'t be found: {why}', key="to") from None
    family, _, _, _, address = min(found, key=lambda f: f[0] != socket.AF_INET)
    first = str(address[0])
    if family == socket.AF_INET and first.split(".")[0] in _SHARED:
        raise InputError(
            f'"{host}" reaches more than one machine; give the address of one controller, '
            "or `multicast`",
            key="to",
        )
    if family == socket.AF_INET6 and first.lower().startswith("ff"):
        raise InputError(
            f'"{host}" is a multicast group; give `multicast` and `ipv6` instead', key="to"
        )
    return address  # type: ignore[return-value]


def keep_name(text: str, port: int) -> Address:
    """Return an address whose name, if it is one, is kept for the sender to look up.

    Raises
    ------
    InputError
        As `resolve`, except that an unknown name is none.
    """
    host, port = parse_host(text, port)
    return look_up(host, port) if is_numeric(host) else (host, port)


def shown(address: Address) -> str:
    """Return an address for people: host and port."""
    host = f"[{address[0]}]" if ":" in address[0] else address[0]
    return f"{host}:{address[1]}"


def is_numeric(host: str) -> bool:
    """Return whether a host is an IP address and not a name."""
    try:
        ipaddress.ip_address(host.partition("%")[0])
    except ValueError:
        return False
    return True


def is_dotted_quad(text: str) -> bool:
    """Return whether a text is an IPv4 address of four numbers."""
    parts = text.split(".")
    return len(parts) == 4 and all(p.isdigit() and len(p) <= 3 and int(p) < 256 for p in parts)


def is_group(address: Address) -> bool:
    """Return whether an address is a multicast group."""
    try:
        return ipaddress.ip_address(address[0].partition("%")[0]).is_multicast
    except ValueError:
        return False
