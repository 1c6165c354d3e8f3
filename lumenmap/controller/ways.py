"""The ways to feed a controller, by their word in ``--to``, and the sender that goes with each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from lumenmap.controller.artnet.packets import ARTNET
from lumenmap.controller.ddp.packets import DDP
from lumenmap.controller.e131.addresses import Address, keep_name, resolve
from lumenmap.controller.e131.packets import PORT
from lumenmap.controller.e131.routes import Destination, Routes
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
    way
        The protocol.
    destination
        Its addresses are without the way's word; ``sync`` is Art-Net's too.
    """

    way: Way
    destination: Destination

    def check(self) -> None:
        """Check addresses before a show is rendered, when its lines aren't known yet.

        Raises
        ------
        InputError
            No address, an invalid one, or options that contradict each other.
        """
        to = self.destination.to
        if self.way is not E131 and (self.destination.multicast or self.destination.ipv6):
            raise InputError(f"is E1.31's; {self.way.name} goes to addresses", key="multicast")
        if self.way is SERIAL:
            if len(to) != 1 or "=" in to[0]:
                raise InputError("a serial line carries all lines; give one serial:PORT", key="to")
            split_port(to[0])
            return
        self._addressed.check()

    @property
    def _addressed(self) -> Destination:
        """The destination with a universe of synchronisation packets only if they are E1.31's."""
        return self.destination if self.way is E131 else replace(self.destination, sync=0)

    def routes(self, units: Sequence[Universe]) -> Routes:
        """Work out where each packet goes.

        Raises
        ------
        InputError
            No address, an invalid one, an unknown line, a line without an address.
        """
        if self.way is SERIAL:
            address = (split_port(self.destination.to[0])[0], 0)
            return Routes(tuple(units), tuple((address,) for _ in units), way=SERIAL)
        found = self._addressed.routes(units)
        apart = any("=" in text for text in self.destination.to)
        return replace(found, way=self.way, apart=apart)

    def addresses(self) -> tuple[Address, ...]:
        """Return the controllers' addresses, as routes have them; none for multicast and serial."""
        given = self.destination
        if self.way is SERIAL or given.multicast:
            return ()
        make = keep_name if given.names else resolve
        hosts = [text.rpartition("=")[2] for text in given.to]
        return tuple(dict.fromkeys(make(host, given.port) for host in hosts))

    def sender(self, interface: str = "") -> Sender:
        """Open what the packets leave by."""
        if self.way is SERIAL:
            return SerialSender(*split_port(self.destination.to[0]))
        return UdpSender(interface=interface, ipv6=self.destination.ipv6)

    def check_speed(self, units: Sequence[Universe], rate: float) -> None:
        """Refuse more frames a second than a serial line can carry."""
        if self.way is SERIAL:
            baud = split_port(self.destination.to[0])[1]
            check_speed(sum(u.slots for u in units) + OVERHEAD, rate, baud)


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
    return Feed(way, Destination(tuple(plain), own, multicast, ipv6, sync, names))
