"""lumenmap run: play the almanac every evening."""

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
    StopSignal,
    Sync,
    To,
    log,
    stream_source,
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
            help="Folder for checked shows and status.json; by default .lumenmap next to the "
            "almanac.",
        ),
    ] = None,
    systemd: Annotated[
        bool,
        typer.Option(
            "--systemd",
            help="Print a systemd unit that runs this command, and exit. Save it as "
            "/etc/systemd/system/lumenmap.service.",
        ),
    ] = False,
    port: Port = 5568,
    interface: Interface = "",
    priority: Priority = 100,
    name: SourceName = "",
    sync: Sync = 0,
    steady: Steady = False,
    effect_folders: Effects = None,
) -> None:
    """Play what the almanac says, every evening, until stopped.

    Every show is checked against its budgets before it plays. If a show is missing or fails, its
    last good version plays instead. status.json reports what is playing.

    Example: lumenmap run my-house/almanac.toml --to 192.168.1.40

    Example: lumenmap run my-house/almanac.toml --to 192.168.1.40 --systemd
    """
    from datetime import UTC, datetime
    from functools import cache
    from getpass import getuser

    from lumenmap.almanac.load import load_almanac
    from lumenmap.almanac.systemd import own_command, systemd_unit
    from lumenmap.almanac.values import Values
    from lumenmap.controller.e131.clock import InterruptibleClock
    from lumenmap.controller.e131.options import StreamOptions
    from lumenmap.controller.e131.play import StreamPlayer
    from lumenmap.controller.ways import feed
    from lumenmap.core.service import ServiceManager
    from lumenmap.core.system import user_state
    from lumenmap.jobs.evening.good_shows import GoodShows
    from lumenmap.jobs.evening.nightly import Almanacs, Nightly, Reports, open_state, write_status
    from lumenmap.jobs.project import load
    from lumenmap.jobs.sending import keep_frames, kept_problems, require_safe_houses

    book = load_almanac(almanac)
    kept = state or almanac.parent / ".lumenmap"
    if systemd:
        writes = [str(kept.parent.resolve()), str(user_state())]
        print(systemd_unit(book.name, own_command(), str(Path.cwd()), getuser(), writes), end="")
        return
    given = feed(to or (), multicast=multicast, ipv6=ipv6, sync=sync, port=port)
    given.check()
    manager = ServiceManager()

    def render(show: Path, folder: Path, brightness: float, values: Values) -> None:
        project = load(show, effect_folders=effect_folders or (), values=dict(values))
        keep_frames(project, folder, progress=lambda *_: manager.alive(), brightness=brightness)

    shows = GoodShows(kept / "shows", render, kept_problems)
    # A dangerous house stops it here, unless there is something good to play from before.
    unknown = [
        show for show in dict.fromkeys(rule.show for rule in book.rules) if not shows.has_good(show)
    ]
    require_safe_houses(unknown, effect_folders or ())
    opened = open_state(kept)
    stop = StopSignal()
    clock = InterruptibleClock(stop.wait)
    sender = given.sender(interface)
    routes = cache(given.routes)  # names are looked up once, not every evening

    player = StreamPlayer(
        stream_source(book.house or almanac, name, priority),
        lambda frames: routes(given.way.plan(frames.lines, frames.channels)),
        sender,
        clock,
        StreamOptions(sync=sync, steady=steady),
        log,
    )
    nightly = Nightly(
        Almanacs(almanac, log),
        shows,
        player,
        wall=lambda: datetime.now(UTC),
        clock=clock,
        reports=Reports(lambda s: write_status(kept / "status.json", s), log),
    )

    def ended() -> bool:
        manager.alive()
        return stop()

    manager.ready()
    try:
        with opened:
            nightly.run(ended)
    finally:
        sender.close()
