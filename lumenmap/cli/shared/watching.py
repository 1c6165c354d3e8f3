"""Shared by commands that can open a page which shows each save at once."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from lumenmap.jobs.project import Project

Watch = Annotated[
    bool,
    typer.Option(
        "--watch", help="Write no file; open a page in your browser that shows each save at once."
    ),
]


def watch_saves(
    folder: Path,
    show: str,
    effect_folders: Iterable[Path],
    made: Callable[[], Project] | None = None,
) -> None:
    """Serve the page until Ctrl-C.

    Parameters
    ----------
    show
        The show's file name, or the name of what ``made`` makes.
    """
    import threading
    import webbrowser

    from lumenmap.core.errors import InputError
    from lumenmap.core.extras import install

    try:
        from lumenmap.desk.run import Settings, run
    except ImportError as error:
        raise InputError(
            f"needs the library {error.name}, which isn't installed ({install('desk')})",
            key="watch",
        ) from None
    settings = Settings(folder, 0, effect_folders=tuple(effect_folders), watched=show, made=made)

    def ready(address: str) -> None:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()

    run(settings, lambda line: print(line, flush=True), ready)
