"""lumenmap run: the almanac, every evening."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Effects
from lumenmap.cli.shared.wire import (
    Interface,
    Ipv6,
    Multicast,
    Port,
    Priority,
    SourceName,
    Steady,
    Stopping,
    Sync,
    To,
    source,
    told,
)


def run(
    almanac: Annotated[Path, typer.Argument(metavar="ALMANAC", help="The almanac file.")],
    to: To = None,
    multicast: Multicast = False,
    ipv6: Ipv6 = False,
    state: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR",
            help="Where good shows and status.json are kept; .lumenmap "
            "beside the almanac if left out.",
        ),
    ] = None,
    systemd: Annotated[
        bool,
        typer.Option(
            "--systemd",
            help="Print a systemd unit for this command and stop; "
            "save it as /etc/systemd/system/lumenmap.service.",
        ),
    ] = False,
    port: Port = 5568,
    interface: Interface = "",
    priority: Priority = 100,
    name: SourceName = "",
    sync: Sync = 0,
    steady: Steady = False,
    effects: Effects = None,
) -> None:
    """Play what the almanac says, every evening, until stopped.

    Each show is checked against its budgets before it may play. Should one be missing or refused,
    its previous good version plays instead. status.json says what is going on.

    Example: lumenmap run my-house/almanac.toml --to 192.168.1.40

    Example: lumenmap run my-house/almanac.toml --to 192.168.1.40 --systemd
    """
    from datetime import UTC, datetime
    from getpass import getuser

    from lumenmap.almanac.load import load_almanac
    from lumenmap.almanac.systemd import own_command, systemd_unit
    from lumenmap.controller.e131.clock import PatientClock
    from lumenmap.controller.e131.play import StreamPlayer
    from lumenmap.controller.e131.routes import check_routes, routes
    from lumenmap.controller.e131.sender import UdpSender
    from lumenmap.jobs.evening import Almanacs, Nightly, write_status
    from lumenmap.jobs.export import export
    from lumenmap.jobs.good_shows import GoodShows
    from lumenmap.jobs.project import load
    from lumenmap.jobs.sending import budget_problems

    book = load_almanac(almanac)
    if systemd:
        print(systemd_unit(book.name, own_command(), str(Path.cwd()), getuser()), end="")
        return
    check_routes(to or (), multicast=multicast, ipv6=ipv6, sync=sync, port=port)
    kept = state or almanac.parent / ".lumenmap"
    kept.mkdir(parents=True, exist_ok=True)
    stopping = Stopping()
    clock = PatientClock(stopping.wait)
    sender = UdpSender(interface=interface, ipv6=ipv6)

    def render(show: Path, folder: Path) -> None:
        export(load(show, effect_folders=effects or ()), folder)

    player = StreamPlayer(
        source(book.house or almanac, name, priority),
        lambda universes: routes(
            universes, to or (), multicast=multicast, ipv6=ipv6, sync=sync, port=port
        ),
        sender,
        clock,
        sync=sync,
        steady=steady,
        say=told,
    )
    nightly = Nightly(
        Almanacs(almanac, told),
        GoodShows(kept / "shows", render, budget_problems),
        player,
        wall=lambda: datetime.now(UTC),
        clock=clock,
        status=lambda s: write_status(kept / "status.json", s),
        say=told,
    )
    try:
        nightly.run(stopping)
    finally:
        sender.close()
