"""lumenmap desk: the live page of your house."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Effects
from lumenmap.cli.shared.wire import Interface, Multicast, To


def desk(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="The folder of your house.")],
    port: Annotated[int, typer.Option(help="Port to listen on.", min=0, max=65535)] = 8240,
    lan: Annotated[
        int,
        typer.Option(
            "--lan",
            count=True,
            show_default=False,
            help="Let phones and other devices on your home network in, each paired once by a "
            "picture to scan or six digits. Give it twice if this machine's address isn't "
            "that of a home network.",
        ),
    ] = 0,
    compose: Annotated[
        bool,
        typer.Option(
            "--compose", help="With --lan: the first device may change shows, not just tonight."
        ),
    ] = False,
    forget: Annotated[
        bool, typer.Option("--forget", help="Drop every paired device, and exit.")
    ] = False,
    certificate: Annotated[
        Path | None,
        typer.Option("--certificate", metavar="FILE", help="Your certificate (PEM), for https."),
    ] = None,
    key: Annotated[
        Path | None, typer.Option("--key", metavar="FILE", help="The certificate's key (PEM).")
    ] = None,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the page in your browser.")
    ] = True,
    to: To = None,
    multicast: Multicast = False,
    controller_port: Annotated[
        int, typer.Option("--controller-port", help="UDP port of the controller.")
    ] = 5568,
    interface: Interface = "",
    effect_folders: Effects = None,
) -> None:
    """Compose, mix and dim in the browser: your house, live, from the files of its folder.

    Everything it does ends in the files of the folder, so you may edit them at the same time. Its
    calendar is for other evenings than tonight: a birthday, or dark for a week away.

    Example: lumenmap desk my-house

    Example: lumenmap desk my-house --lan

    Example: lumenmap desk my-house --to 192.168.1.40
    """
    from lumenmap.controller.ways import feed
    from lumenmap.core.errors import InputError
    from lumenmap.core.extras import install

    try:
        from lumenmap.desk.pairing import forget as forget_all
        from lumenmap.desk.pairing import state_of
        from lumenmap.desk.run import Settings, run
    except ImportError as error:
        raise InputError(
            f"needs the library {error.name}, which isn't installed ({install('desk')})"
        ) from None
    if forget:
        known = forget_all(state_of(folder))
        print("all paired devices are dropped" if known else "no device was paired")
        return
    given = feed(to or (), multicast=multicast, port=controller_port)
    if to or multicast:
        given.check()
    settings = Settings(
        folder,
        port,
        lan,
        "compose" if compose else "evening",
        certificate,
        key,
        tuple(effect_folders or ()),
        feed=given if to or multicast else None,
        interface=interface,
    )

    def ready(address: str) -> None:
        if browser:
            import threading
            import webbrowser

            threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()

    run(settings, lambda line: print(line, flush=True), ready)
