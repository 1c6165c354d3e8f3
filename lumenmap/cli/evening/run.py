"""lumenmap run: play the almanac every evening."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Almanac, Effects
from lumenmap.cli.shared.wire import (
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
    log_with_time,
    notices_with_time,
    stream_source,
)


def run(
    almanac: Almanac,
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
    sound: Sound = False,
    port: Port = 5568,
    interface: Interface = "",
    priority: Priority = 100,
    name: SourceName = "",
    sync: Sync = 0,
    steady: Steady = False,
    effect_folders: Effects = None,
    ask_network: Annotated[
        str,
        typer.Option(
            metavar="NETWORK",
            help="Ask the controllers of your home network, such as 192.168.1.0/24, by Art-Net "
            "whether they are there. Nothing is asked without it.",
        ),
    ] = "",
    hub: Annotated[
        str,
        typer.Option(
            metavar="ADDRESS",
            help="An MQTT broker, such as mqtt://user@192.168.1.5, through which a home hub turns "
            "the light on, off and down and chooses the show. The password is taken from "
            "LUMENMAP_HUB_PASSWORD, or from the file that LUMENMAP_HUB_PASSWORD_FILE names.",
        ),
    ] = "",
    hub_discovery: Annotated[
        str,
        typer.Option(
            metavar="PREFIX",
            help="Prefix of the MQTT topics on which your hub looks for devices; its manual names "
            "it. Without it none are announced.",
        ),
    ] = "",
) -> None:
    """Play what the almanac says, every evening, until stopped.

    Every show is checked against its budgets before it plays. Edits of the almanac, of shows and of
    the house are taken up while it plays; if one is wrong, the last good version plays on. See what
    it does with lumenmap status.

    Example: lumenmap run my-house/almanac.toml --to 192.168.1.40

    Example: lumenmap run my-house/almanac.toml --to 192.168.1.40 --systemd
    """
    from getpass import getuser

    from lumenmap.almanac.load import load_almanac
    from lumenmap.controller.e131.options import StreamOptions
    from lumenmap.controller.ways import feed
    from lumenmap.core.errors import LumenmapError
    from lumenmap.core.system import user_state
    from lumenmap.hub.address import read_broker
    from lumenmap.jobs.evening.asked import Evenings, state_folder
    from lumenmap.jobs.evening.evenings import play_evenings
    from lumenmap.jobs.evening.systemd import own_command, systemd_unit

    if systemd:
        writes = [str(state_folder(almanac, state).parent.resolve()), str(user_state())]
        title = load_almanac(almanac).name
        print(systemd_unit(title, own_command(), str(Path.cwd()), getuser(), writes, sound), end="")
        return
    stop = StopSignal()
    asked = Evenings(
        almanac,
        feed(to or (), multicast=multicast, ipv6=ipv6, sync=sync, port=port, names=True),
        lambda house: stream_source(house, name, priority, "run"),
        interface,
        StreamOptions(sync=sync, steady=steady),
        state,
        tuple(effect_folders or ()),
        read_broker(hub) if hub else None,
        hub_discovery,
        sound,
        ask_network,
    )
    zone = None
    with contextlib.suppress(LumenmapError):  # it may play on by the last good almanac
        zone = load_almanac(almanac).place.zone
    with notices_with_time(zone):
        play_evenings(asked, stop, stop.wait, lambda text: log_with_time(text, zone))
