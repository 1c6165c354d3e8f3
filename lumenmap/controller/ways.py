"""The ways to feed a controller, by their word in ``--to``, and the sender that goes with each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from lumenmap.controller.artnet.packets import ARTNET
from lumenmap.controller.ddp.packets import DDP
from lumenmap.controller.e131.addresses import Address, keep_name, resolve
from lumenmap.controller.e131.packets import PORT
from lumenmap.controller.e131.routes import Routes, check_routes, routes
from lumenmap.controller.e131.sender import Sender, UdpSender
from lumenmap.controller.e131.way import E131, Way
from lumenmap.controller.serial.framing import OVERHEAD, SERIAL
from lumenmap.controller.serial.port import SerialSender, check_speed, split_port
from lumenmap.core.errors import InputError
from lumenmap.pixels.universes import Universe

#: ``--to artnet:192.168.1.40`` and so on; an address alone is E1.31's.
WAYS: dict[str, Way] = {way.name: way for way in (E131, ARTNET, DDP, SERIAL)}


@dataclass(frozen=True, slots=True)
class Feed:
    """Which way, and where to.

    Attributes
    ----------
    to
        Addresses without the way's word; ``LINE=ADDRESS`` for one line.
    port
        UDP port.
    multicast, ipv6, sync
        As for `lumenmap.controller.e131.routes.routes`; ``sync`` is Art-Net's too.
    names
        Host names are left to whoever keeps looking them up.
    """

    way: Way
    to: tuple[str, ...]
    port: int = PORT
    multicast: bool = False
    ipv6: bool = False
    sync: int = 0
    names: bool = False

    def check(self) -> None:
        """Check addresses before a show is rendered, when its lines aren't known yet.

        Raises
        ------
        InputError
            As `routes`.
        """
        if self.way is not E131 and (self.multicast or self.ipv6):
            raise InputError(f"is E1.31's; {self.way.name} goes to addresses", key="multicast")
        if self.way is SERIAL:
            if len(self.to) != 1 or "=" in self.to[0]:
                raise InputError("a serial line carries all lines; give one serial:PORT", key="to")
            split_port(self.to[0])
            return
        sync = self.sync if self.way is E131 else 0
        check_routes(
            self.to,
            multicast=self.multicast,
            ipv6=self.ipv6,
            sync=sync,
            port=self.port,
            names=self.names,
        )

    def routes(self, units: Sequence[Universe]) -> Routes:
        """Work out where each packet goes.

        Raises
        ------
        InputError
            No address, an invalid one, an unknown line, a line without an address.
        """
        if self.way is SERIAL:
            address = (split_port(self.to[0])[0], 0)
            return Routes(tuple(units), tuple((address,) for _ in units), way=SERIAL)
        found = routes(
            units,
            self.to,
            multicast=self.multicast,
            ipv6=self.ipv6,
            sync=self.sync if self.way is E131 else 0,
            port=self.port,
            names=self.names,
        )
        return replace(found, way=self.way, apart=any("=" in text for text in self.to))

    def addresses(self) -> tuple[Address, ...]:
        """Return the controllers' addresses, as routes have them; none for multicast and serial."""
        if self.way is SERIAL or self.multicast:
            return ()
        make = keep_name if self.names else resolve
        hosts = [text.rpartition("=")[2] for text in self.to]
        return tuple(dict.fromkeys(make(host, self.port) for host in hosts))

    def sender(self, interface: str = "") -> Sender:
        """Open what the packets leave by."""
        if self.way is SERIAL:
            return SerialSender(*split_port(self.to[0]))
        return UdpSender(interface=interface, ipv6=self.ipv6)

    def check_speed(self, units: Sequence[Universe], rate: float) -> None:
        """Refuse more frames a second than a serial line can carry."""
        if self.way is SERIAL:
            check_speed(sum(u.slots for u in units) + OVERHEAD, rate, split_port(self.to[0])[1])


def feed(
    to: Iterable[str],
    *,
    multicast: bool = False,
    ipv6: bool = False,
    sync: int = 0,
    port: int = PORT,
    names: bool = False,
) -> Feed:
    """Read addresses as a person gives them: ``ADDRESS``, ``WAY:ADDRESS``, ``LINE=WAY:ADDRESS``.

    Raises
    ------
    InputError
        Two ways at once.
    """
    found: dict[str, Way] = {}
    plain = []
    for text in to:
        line, equals, address = text.rpartition("=")
        word, colon, rest = address.partition(":")
        way = WAYS.get(word) if colon else None
        found[(way or E131).name] = way or E131
        plain.append(f"{line}{equals}{rest if way else address}")
    if len(found) > 1:
        raise InputError(f"names {' and '.join(sorted(found))}; expected one way", key="to")
    way = next(iter(found.values()), E131)
    own = way.port if way.port and port == PORT else port
    return Feed(way, tuple(plain), own, multicast, ipv6, sync, names)
