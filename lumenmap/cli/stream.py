"""lumenmap stream: a show live over E1.31."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Effects, House, Json, progress, say
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
    table,
    told,
)


def stream(
    show: Annotated[
        Path, typer.Argument(metavar="SHOW", help="A show file, or the folder of an export.")
    ],
    to: To = None,
    multicast: Multicast = False,
    ipv6: Ipv6 = False,
    loop: Annotated[bool, typer.Option("--loop", help="Again and again until stopped.")] = False,
    brightness: Annotated[float, typer.Option(help="0 to 1 of the show's own light.")] = 1.0,
    fast: Annotated[
        bool, typer.Option("--fast", help="Send more than 44 frames a second if the show has them.")
    ] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Print the universe table and send nothing.")
    ] = False,
    port: Port = 5568,
    interface: Interface = "",
    priority: Priority = 100,
    name: SourceName = "",
    sync: Sync = 0,
    steady: Steady = False,
    house: House = None,
    effects: Effects = None,
    as_json: Json = False,
) -> None:
    """Play a show live over E1.31 (sACN), after its bytes were checked against the budgets.

    Ctrl-C and SIGTERM end it: the pixels go dark and receivers are told that the stream is over.

    Example: lumenmap stream my-house/show.toml --to 192.168.1.40 --loop

    Example: lumenmap stream my-house/show.toml --multicast --dry-run
    """
    import atexit
    import tempfile
    from dataclasses import asdict

    from lumenmap.controller.e131.pace import pace
    from lumenmap.controller.e131.routes import check_routes, routes
    from lumenmap.controller.e131.sender import UdpSender
    from lumenmap.controller.e131.stream import Stream
    from lumenmap.jobs.sending import show_frames
    from lumenmap.pixels.universes import plan_universes

    if to or multicast or not dry_run:  # before the rendering, which takes its time
        check_routes(to or (), multicast=multicast, ipv6=ipv6, sync=sync, port=port)
    sender = UdpSender(interface=interface, ipv6=ipv6 and not dry_run)
    folder = tempfile.TemporaryDirectory(prefix="lumenmap-", ignore_cleanup_errors=True)
    atexit.register(folder.cleanup)  # not sooner: the frames are played from it
    with progress("rendering") as bar:
        frames = show_frames(
            show, Path(folder.name), house=house, effect_folders=effects or (), progress=bar
        )
    universes = plan_universes(frames.lines, frames.channels)
    rate = pace(frames.fps, fast=fast)
    if dry_run and not (to or multicast):
        where = None
    else:
        where = routes(universes, to or (), multicast=multicast, ipv6=ipv6, sync=sync, port=port)

    def address(k: int) -> str:
        return ", ".join(str(a[0]) for a in where.data[k]) if where else "(no --to given)"

    if dry_run:
        rows = [{**asdict(u), "slots": u.slots, "to": address(k)} for k, u in enumerate(universes)]
        lines = table(universes, address)
        lines.append(
            f"{len(universes)} universes, {rate.rate / rate.repeat:g} frames/s, "
            f"at most {rate.rate * len(universes):g} packets/s"
        )
        say(
            {"universes": rows, "fps": frames.fps, "sent_fps": rate.rate / rate.repeat},
            lines,
            as_json,
        )
        return
    assert where is not None
    if rate.step > 1:
        told(
            f"the show has {frames.fps:g} frames/s; {rate.rate / rate.repeat:g} are sent, since "
            "E1.31 holds to DMX512's 44 (--fast sends all)"
        )
    stopping = Stopping()
    playing = Stream(
        source(frames.house, name, priority),
        universes,
        where,
        sender,
        sync=sync,
        brightness=brightness,
        steady=steady,
        fast=fast,
        say=told,
    )
    told(f"{show.name}: {len(universes)} universes to {address(0)}; Ctrl-C stops it")
    try:
        report = playing.play(frames, loop=loop, stop=stopping)
    finally:
        sender.close()
    lost = sum(report.lost.values())
    lines = [
        f"{report.frames:,} frames in {report.seconds:.1f} s, {report.packets:,} packets; "
        f"{report.dropped:,} frames dropped, {lost:,} packets lost"
    ] + [f"  lost: {why}: {n:,}" for why, n in report.lost.items()]
    say(asdict(report), lines, as_json)
