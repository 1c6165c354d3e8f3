"""The command line: one file per command, and no computation."""

from __future__ import annotations

import gc
import importlib
import os
import sys
from collections.abc import Iterable
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from lumenmap.core.errors import LumenmapError

#: The commands in the order of the help: modules of this folder, each with a function of the same
#: name (the command's name has no trailing underscore).
COMMANDS = (
    "new",
    "make",
    "preview",
    "check",
    "export",
    "stream",
    "locate",
    "tonight",
    "year",
    "run",
    "map",
    "power",
    "sheets",
    "effects",
    "palette",
    "try_",
    "schema",
    "help",
)

app = typer.Typer(
    name="lumenmap",
    help="Light for the pixels on your roofline: see it on a picture of your house, keep it within "
    "your power supplies, and send it to the controller.\n\nStart with: lumenmap new my-house",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,  # plain help starts in half the time
    pretty_exceptions_enable=False,
)


@app.callback(invoke_without_command=True)
def _top(
    version: bool = typer.Option(False, "--version", help="Print the version and exit."),
) -> None:
    if version:
        from importlib.metadata import version as installed

        print(f"lumenmap {installed('lumenmap')}")
        raise typer.Exit


def register(names: Iterable[str]) -> None:
    """Make commands known to `app`, by their files' names."""
    # main may run more than once in one process, as in the tests
    known = {c.name for c in app.registered_commands} | {g.name for g in app.registered_groups}
    for name in names:
        command = name.rstrip("_")
        if command in known:
            continue
        found = getattr(importlib.import_module(f"lumenmap.cli.{name}"), name)
        if isinstance(found, typer.Typer):
            app.add_typer(found, name=command)
        else:
            # The whole first line; the library would cut it short.
            first = (found.__doc__ or "").splitlines()[0]
            app.command(name=command, short_help=first)(found)


def _words(error: LumenmapError) -> str:
    """Return an error in the words of the command that was called."""
    from lumenmap.cli.shared.flags import command_named, in_flags

    return in_flags(error, command_named(typer.main.get_command(app), sys.argv[1:]))


def main() -> None:
    """Run the command line; wrong input ends with one line and exit code 2, not a traceback."""
    from lumenmap.core.errors import LumenmapError

    # Matrix products are small here, so threads that wait for each other would take twice the time.
    # OpenBLAS reads this when numpy is first imported.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # Imported modules stay, so there is no use in searching them for garbage again and again.
    gc.set_threshold(50_000, 20, 20)
    # A valid command doesn't load the others; the help and misspellings need all of them.
    register([name for name in COMMANDS if sys.argv[1:2] == [name.rstrip("_")]] or COMMANDS)
    try:
        app()
    except LumenmapError as error:
        print(_words(error), file=sys.stderr)
        sys.exit(error.exit_code)
    except KeyboardInterrupt:
        print("stopped; no file is half-written", file=sys.stderr)
        sys.exit(130)
    except BrokenPipeError:  # `lumenmap map … | head`
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
