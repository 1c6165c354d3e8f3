"""lumenmap stream: a show live over E1.31."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lumenmap.cli.shared.options import Effects, House, Json, Values, print_report, progress
from lumenmap.cli.shared.wire import (
    STREAM_PRIORITY,
    Interface,
    Ipv6,
    Multicast,
    Port,
    Priority,
    Sound,
    SourceName,
    Steady,
    StopSignal,
    Sync,
    To,
    exit_if_silent,
    log,
    stream_source,
    tell_flashing,
    universe_table,
)

if TYPE_CHECKING:
    from lumenmap.controller.e131.pace import Pace
    from lumenmap.controller.files.frameset import FrameSet
    from lumenmap.pixels.universes import Universe


def stream(
    show: Annotated[
        Path, typer.Argument(metavar="SHOW", help="A show file, or the folder of an export.")
    ],
    to: To = None,
    multicast: Multicast = False,
    ipv6: Ipv6 = False,
    loop: Annotated[bool, typer.Option("--loop", help="Repeat until stopped.")] = False,
    brightness: Annotated[float, typer.Option(help="Dim the show: 0 to 1.")] = 1.0,
    sound: Sound = False,
    fast: Annotated[
        bool, typer.Option("--fast", help="Send more than 44 frames/s if the show has them.")
    ] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Print the universe table and send nothing.")
    ] = False,
    port: Port = 5568,
    interface: Interface = "",
    priority: Priority = STREAM_PRIORITY,
    name: SourceName = "",
    sync: Sync = 0,
    steady: Steady = False,
    house: House = None,
    effect_folders: Effects = None,
    values: Values = None,
    as_json: Json = False,
) -> None:
    """Play a show live over E1.31 (sACN), after checking every frame against the budgets.

    Ctrl-C or SIGTERM stops it: the pixels go dark, and receivers are told that the stream is over.
    While it plays, lumenmap run of the same house waits. Exits with 1 if no controller was there.

    Example: lumenmap stream my-house/show.toml --to 192.168.1.40 --loop

    Example: lumenmap stream my-house/show.toml --multicast --dry-run
    """
    import atexit
    import tempfile
    from dataclasses import asdict, replace
    from functools import partial

    from lumenmap.controller.e131.options import StreamOptions
    from lumenmap.controller.e131.pace import pace
    from lumenmap.controller.e131.stream import Stream
    from lumenmap.controller.ways import feed
    from lumenmap.core.wording import some
    from lumenmap.jobs.aloud.speaker import Speaker
    from lumenmap.jobs.project import load, read_set
    from lumenmap.jobs.sending import (
        exported_frames,
        is_exported,
        named_sound,
        rendered_frames,
    )
    from lumenmap.jobs.wire import Wire, wire_folder

    routable = bool(to or multicast or not dry_run)
    options = StreamOptions(sync, brightness, steady, fast)
    given = feed(to or (), multicast=multicast, ipv6=ipv6, sync=sync, port=port)
    if routable:  # before rendering, which takes its time
        given.check()
    heard, speaker = named_sound(show) if sound else None, None
    if heard is not None and not dry_run:
        speaker = Speaker(log)
        speaker.prepare(heard)
    sender = None if dry_run else given.sender(interface)
    folder = tempfile.TemporaryDirectory(prefix="lumenmap-", ignore_cleanup_errors=True)
    atexit.register(folder.cleanup)  # not sooner: the frames are played from it
    asked = read_set(values)
    if is_exported(show):
        frames = exported_frames(show, house, asked)
    else:
        with progress("rendering") as update:
            project = load(show, house=house, effect_folders=effect_folders or (), values=asked)
            frames = rendered_frames(project, Path(folder.name), update, brightness)
    # Exported frames can only be dimmed as they are sent.
    options = replace(options, brightness=min(1.0, brightness / frames.brightness))
    universes, rate = given.way.plan(frames.lines, frames.channels), pace(frames.fps, fast=fast)
    if not routable:
        _print_plan(universes, lambda _: "(no --to given)", frames, rate, as_json)
        return
    routed = given.routes(universes)
    given.check_speed(universes, rate.rate)

    def address(k: int) -> str:
        return ", ".join(str(a[0]) for a in routed.data[k])

    if sender is None:
        _print_plan(universes, address, frames, rate, as_json)
        return
    if rate.step > 1:
        log(
            f"the show has {frames.fps:g} frames/s, {rate.rate / rate.repeat:g} are sent: E1.31 "
            "allows 44 at most (--fast sends all)"
        )
    tell_flashing(frames)
    stop = StopSignal()
    source = stream_source(frames.house, name, priority, "stream")
    with Wire(wire_folder(frames.house), "stream") as wire:
        log(
            f"{show.name}: {some(len(universes), 'universe')} to {address(0)}; press Ctrl-C to stop"
        )
        try:
            streaming = Stream(source, routed, sender, options, notify=log)
            if speaker is not None:
                streaming.begins = partial(speaker.play, seconds=frames.seconds, loop=loop)
            report = streaming.play(frames, loop=loop, stop=stop, dark=not wire.borrowed)
        except BaseException:
            sender.close()
            raise
        finally:
            if speaker is not None:
                speaker.close()
    lost = sum(report.lost.values())
    lines = [
        f"{some(report.frames, 'frame')} in {report.seconds:.1f} s, "
        f"{some(report.packets, 'packet')}; "
        f"{some(report.dropped, 'frame')} dropped, {some(lost, 'packet')} lost"
    ] + [f"  lost: {why}: {n:,}" for why, n in report.lost.items()]
    print_report(asdict(report), lines, as_json)
    exit_if_silent(sender)


def _print_plan(
    universes: tuple[Universe, ...],
    address: Callable[[int], str],
    frames: FrameSet,
    rate: Pace,
    as_json: bool,
) -> None:
    """Print what would be sent, and where."""
    from dataclasses import asdict

    from lumenmap.core.wording import some

    rows = [{**asdict(u), "slots": u.slots, "to": address(k)} for k, u in enumerate(universes)]
    sent = rate.rate / rate.repeat
    lines = [
        *universe_table(universes, address),
        f"{some(len(universes), 'universe')}, {sent:g} frames/s, "
        f"at most {rate.rate * len(universes):g} packets/s",
    ]
    print_report({"universes": rows, "fps": frames.fps, "sent_fps": sent}, lines, as_json)
