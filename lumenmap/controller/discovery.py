"""Asking a network which controllers it has, where the user names the network.

Strategy: one small packet to the network's broadcast address; whoever speaks Art-Net answers
within three seconds. Nothing is asked of a network that the user didn't name, nor of one that isn't
a home's; an answer counts only if it comes from that network.
"""

from __future__ import annotations

import contextlib
import ipaddress
import select
import socket
import time

from lumenmap.controller.artnet.packets import PORT
from lumenmap.controller.artnet.poll import Node, artpoll, read_reply
from lumenmap.core.errors import InputError

#: So long (s) an answer may take: a controller may wait up to a second, and answer once more [M].
PATIENCE = 3.0
#: More addresses than a home network has (RFC 1918 networks are cut into such by routers) [C].
_WIDEST = 16
#: More controllers than a house has; further answers are ignored.
MOST = 256
_LIKE = "expected a network such as 192.168.1.0/24, or one address"


def read_network(text: str) -> ipaddress.IPv4Network:
    """Read a network as a person names it: ``192.168.1.0/24``, ``192.168.1.40``.

    Raises
    ------
    InputError
        Not one; not a home's; wider than one.
    """
    try:
        network = ipaddress.IPv4Network(text.strip(), strict=False)
    except ValueError:
        raise InputError(f'"{text[:40]}" isn\'t a network; {_LIKE}') from None
    if not network.is_private or network.is_unspecified or network.is_multicast:
        raise InputError(f'"{text[:40]}" isn\'t a home network; {_LIKE}')
    if network.prefixlen < _WIDEST:
        raise InputError(f'"{text[:40]}" has {network.num_addresses:,} addresses; {_LIKE}')
    return network


class Asker:
    """Asks a network, and listens for answers.

    Parameters
    ----------
    network
        See `read_network`.
    port, own
        UDP ports of the controllers and of this end; answers are sent to Art-Net's own port.

    Raises
    ------
    InputError
        Another program on this machine uses the port.
    """

    def __init__(
        self, network: ipaddress.IPv4Network, *, port: int = PORT, own: int = PORT
    ) -> None:
        self._network, self._port = network, port
        self._socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        try:
            self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_BROADCAST, 1)
            self._socket.bind(("", own))
        except OSError as error:
            self._socket.close()
            raise InputError(
                f"UDP port {own} can't be listened on: {error.strerror}. Another program on this "
                "machine speaks Art-Net; end it, and look again"
            ) from None
        self._socket.setblocking(False)

    def ask(self) -> None:
        """Ask once.

        Raises
        ------
        InputError
            The network can't be reached.
        """
        try:
            self._socket.sendto(artpoll(), (str(self._network.broadcast_address), self._port))
        except OSError as error:
            raise InputError(f"{self._network} can't be reached: {error.strerror}") from None

    def heard(self, seconds: float) -> dict[str, Node]:
        """Return who answers within so long (s), or has answered since it was called last."""
        found: dict[str, Node] = {}
        end = time.monotonic() + seconds
        while len(found) < MOST:
            left = end - time.monotonic()
            if not select.select([self._socket], [], [], max(left, 0))[0]:
                break
            with contextlib.suppress(OSError):
                packet, (address, *_) = self._socket.recvfrom(1024)
                if ipaddress.IPv4Address(address) not in self._network:
                    continue
                if (node := read_reply(packet, address)) is not None:
                    known = found.get(address)
                    # One with many outputs answers once for each four of them.
                    own = known.port_addresses if known else ()
                    merged = tuple(dict.fromkeys((*own, *node.port_addresses)))
                    found[address] = Node(address, node.name, merged)
            if left <= 0:
                break
        return found

    def close(self) -> None:
        """Close its socket."""
        self._socket.close()


def find(text: str, *, seconds: float = PATIENCE, port: int = PORT, own: int = PORT) -> list[Node]:
    """Return the controllers of a network, by address.

    Raises
    ------
    InputError
        As `read_network` and `Asker`.
    """
    asker = Asker(read_network(text), port=port, own=own)
    try:
        asker.ask()
        found = asker.heard(seconds)
    finally:
        asker.close()
    return sorted(found.values(), key=lambda node: ipaddress.IPv4Address(node.address))
