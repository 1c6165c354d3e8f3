"""Where each universe is sent: to addresses that the user gave, or to multicast on request."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lumenmap.controller.e131.addresses import Address, keep_name, resolve
from lumenmap.controller.e131.packets import DISCOVERY_UNIVERSE, PORT, multicast_v4, multicast_v6
from lumenmap.controller.e131.way import E131, Way
from lumenmap.core.errors import InputError, unknown
from lumenmap.pixels.universes import Universe, check_universe


@dataclass(frozen=True, slots=True)
class Routes:
    """Universes, and the addresses of each.

    Attributes
    ----------
    universes
        What is sent.
    data
        Addresses of each universe, in the same order; may be empty.
    sync, discovery
        Address of synchronisation and discovery packets. These go to multicast only (6.3.3.1,
        8.1), so None without it.
    way
        The protocol.
    apart
        Lines have addresses of their own.
    """

    universes: tuple[Universe, ...]
    data: tuple[tuple[Address, ...], ...]
    sync: Address | None = None
    discovery: Address | None = None
    way: Way = E131
    apart: bool = False


@dataclass(frozen=True, slots=True)
class Destination:
    """Where a stream goes, as a person says it.

    Attributes
    ----------
    to
        ``ADDRESS`` for every line, ``LINE=ADDRESS`` for one of them.
    port
        For addresses that don't give their own.
    multicast
        Send each universe to its multicast group (9.3.1) instead.
    ipv6
        Use the IPv6 groups (9.3.2).
    sync
        Universe of the synchronisation packets, 0 for none.
    names
        Keep host names as they are, for a sender that has them looked up again and again.
    """

    to: tuple[str, ...] = ()
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
        lines = dict.fromkeys(text.rpartition("=")[0] or "all" for text in self.to)
        self.routes([Universe(1 + i, name, 0, 1, 0, 3) for i, name in enumerate(lines)])

    def routes(self, universes: Sequence[Universe]) -> Routes:
        """Work out where each universe goes.

        Raises
        ------
        InputError
            No address, an invalid one, an unknown line, a line without an address, or options that
            contradict each other.
        """
        self._check()
        if not self.multicast:
            return Routes(tuple(universes), _unicast(universes, self))
        return Routes(
            tuple(universes),
            tuple((self._group(u.number),) for u in universes),
            self._group(self.sync) if self.sync else None,
            self._group(DISCOVERY_UNIVERSE),
        )

    def _group(self, universe: int) -> Address:
        if self.ipv6:
            return multicast_v6(universe), self.port, 0, 0
        return multicast_v4(universe), self.port

    def _check(self) -> None:
        """Refuse options that contradict each other, or that no packet can meet."""
        if not 1 <= self.port <= 65535:
            raise InputError(f"is {self.port}; expected 1 to 65535", key="port")
        if self.sync:
            check_universe(self.sync, "synchronisation universe")
        if self.multicast and self.to:
            raise InputError("`to` and `multicast` exclude each other; give one of them")
        if self.multicast:
            return
        if self.ipv6:
            raise InputError("needs `multicast`; a single IPv6 address goes into `to`", key="ipv6")
        if self.sync:
            raise InputError(
                "synchronisation packets go to multicast only (E1.31 6.3.3.1); add `multicast` or "
                "leave this out",
                key="sync",
            )
        if not self.to:
            raise InputError("no address given; give `to` the controller's address, or `multicast`")


def _unicast(
    universes: Sequence[Universe], destination: Destination
) -> tuple[tuple[Address, ...], ...]:
    lines = list(dict.fromkeys(u.line for u in universes))
    addresses: dict[str, list[Address]] = {line: [] for line in lines}
    for text in destination.to:
        line, equals, host = text.rpartition("=")
        if equals and line not in addresses:
            raise InputError(unknown("line", line, lines), key="to")
        address = (keep_name if destination.names else resolve)(host, destination.port)
        for name in [line] if equals else lines:
            if address not in addresses[name]:
                addresses[name].append(address)
    if missing := [line for line in lines if not addresses[line]]:
        raise InputError(f'line "{missing[0]}" has no address; add {missing[0]}=ADDRESS', key="to")
    return tuple(tuple(addresses[u.line]) for u in universes)
