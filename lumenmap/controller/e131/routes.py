"""Where each universe is sent: only to addresses that the user named, or to multicast by word."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from lumenmap.controller.e131.packets import DISCOVERY_UNIVERSE, PORT, multicast_v4, multicast_v6
from lumenmap.controller.e131.sender import Address, resolve
from lumenmap.core.errors import InputError, unknown
from lumenmap.pixels.universes import Universe


@dataclass(frozen=True, slots=True)
class Routes:
    """The addresses of each universe, in the universes' order.

    Attributes
    ----------
    data
        For each universe where its packets go; may be empty.
    sync, discovery
        Where synchronisation and discovery packets go: multicast only (6.3.3.1, 8.1), so None
        without it.
    """

    data: tuple[tuple[Address, ...], ...]
    sync: Address | None = None
    discovery: Address | None = None


def check_routes(to: Iterable[str], *, multicast: bool, ipv6: bool, sync: int, port: int) -> None:
    """Refuse what no show could be sent with, before there is one; lines are not known yet.

    Raises
    ------
    InputError
        As `routes`.
    """
    lines = dict.fromkeys(text.rpartition("=")[0] or "all" for text in to)
    known = tuple(Universe(1 + i, name, 0, 1, 0, 3) for i, name in enumerate(lines))
    routes(known, to, multicast=multicast, ipv6=ipv6, sync=sync, port=port)


def routes(
    universes: Sequence[Universe],
    to: Iterable[str] = (),
    *,
    multicast: bool = False,
    ipv6: bool = False,
    sync: int = 0,
    port: int = PORT,
) -> Routes:
    """Say where each universe goes.

    Parameters
    ----------
    to
        ``ADDRESS`` for every line, ``LINE=ADDRESS`` for one of them.
    multicast
        Send each universe to its multicast group (9.3.1) instead.
    ipv6
        To the groups of IPv6 (9.3.2).
    sync
        Universe of the synchronisation packets, 0 for none.

    Raises
    ------
    InputError
        No address, one that isn't one, a line that isn't there, a line without any.
    """
    to = list(to)
    if not 1 <= port <= 65535:
        raise InputError(f"port is {port}; 1 to 65535 are wanted")
    if multicast:
        if to:
            raise InputError("--to and --multicast are two ways to send; give one of them")

        def group(universe: int) -> Address:
            return (multicast_v6(universe), port, 0, 0) if ipv6 else (multicast_v4(universe), port)

        return Routes(
            tuple((group(u.number),) for u in universes),
            group(sync) if sync else None,
            group(DISCOVERY_UNIVERSE),
        )
    if ipv6:
        raise InputError(
            "--ipv6 is about multicast; give --multicast too, or the controller's "
            "IPv6 address with --to"
        )
    if sync:
        raise InputError(
            "synchronisation packets go to multicast only (E1.31 6.3.3.1); "
            "give --multicast, or leave --sync out"
        )
    if not to:
        raise InputError("where to? give --to ADDRESS of the controller, or --multicast")
    lines = list(dict.fromkeys(u.line for u in universes))
    where: dict[str, list[Address]] = {line: [] for line in lines}
    for text in to:
        line, equals, host = text.rpartition("=")
        if equals and line not in where:
            raise InputError(unknown("line", line, lines), key="--to")
        address = resolve(host, port)
        for name in [line] if equals else lines:
            if address not in where[name]:
                where[name].append(address)
    if bare := [line for line in lines if not where[line]]:
        raise InputError(f'line "{bare[0]}" has no address; give --to {bare[0]}=ADDRESS')
    return Routes(tuple(tuple(where[u.line]) for u in universes))
