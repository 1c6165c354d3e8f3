"""The command line: one file per command, and no computation."""

from __future__ import annotations

import atexit
import contextlib
import gc
import importlib
import io
import os
import sys
from collections.abc import Iterable
from functools import cache
from typing import TYPE_CHECKING, Any

import typer

from lumenmap.cli.shared.natural import Command, Group

if TYPE_CHECKING:
    from lumenmap.core.errors import LumenmapError

#: The commands in the order of the help: modules of this folder or of a room in it, each with a
#: function of the same name (the command's name has no trailing underscore).
COMMANDS = (
    "new",
    "desk",
    "make",
    "preview",
    "check",
    "export",
    "stream",
    "find",
    "locate",
    "survey",
    "marks",
    "tonight",
    "year",
    "run",
    "status",
    "map",
    "power",
    "sheets",
    "effects",
    "palette",
    "beats",
    "try_",
    "update",
    "schema",
    "help",
)
#: Commands whose file lies in a folder of its own.
_PLACES = {
    "update": "files.update",
    **{name: f"evening.{name}" for name in ("tonight", "year", "run", "status")},
    **{name: f"camera.{name}" for name in ("marks", "survey")},
}

app = typer.Typer(
    name="lumenmap",
    cls=Group,
    context_settings={"help_option_names": ["--help", "-h"]},
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
    debug: bool = typer.Option(
        False,
        "--debug",
        help="Print where in the program an error arose, for a report to the developers. "
        "LUMENMAP_DEBUG=1 in the environment does the same.",
    ),
) -> None:
    del debug  # `main` takes it out of the words, wherever it stands
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
        found = getattr(importlib.import_module(f"lumenmap.cli.{_PLACES.get(name, name)}"), name)
        if isinstance(found, typer.Typer):
            app.add_typer(found, name=command)
        else:
            # The whole first line; the library would cut it short.
            first = (found.__doc__ or "").splitlines()[0]
            app.command(name=command, short_help=first, cls=Command)(found)


@cache
def _command(known: int) -> Any:
    """Build the command line; ``known`` is how many commands `app` has, so that none is missing.

    It is built once a process: that takes as long as a short command's own work.
    """
    del known
    return typer.main.get_command(app)


def _built() -> Any:
    return _command(len(app.registered_commands) + len(app.registered_groups))


def _words(error: LumenmapError) -> str:
    """Return an error in the words of the command that was called."""
    from lumenmap.cli.shared.flags import command_named, in_flags

    return in_flags(error, command_named(_built(), sys.argv[1:]))


def _debug() -> bool:
    """Return whether tracebacks are asked for, by --debug anywhere or by LUMENMAP_DEBUG=1."""
    asked = "--debug" in sys.argv[1:]
    sys.argv[1:] = [word for word in sys.argv[1:] if word != "--debug"]
    return asked or os.environ.get("LUMENMAP_DEBUG", "") not in ("", "0")


def main() -> None:
    """Run the command line; wrong input ends with one line and exit code 2, not a traceback."""
    from lumenmap.core.errors import LumenmapError

    # Matrix products are small here, so threads that wait for each other would take twice the time.
    # OpenBLAS reads this when numpy is first imported.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    # pydantic would read the files of every installed package to find plug-ins, whose code then
    # ran: what isn't named to us isn't run.
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    # A job begins with 100,000 to 140,000 objects that stay until the process ends; they would be
    # searched for garbage three times. What runs for an evening collects for itself, in
    # `jobs.evening`.
    gc.set_threshold(200_000, 20, 20)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal that isn't UTF-8 has no "ü" or "→"
            stream.reconfigure(errors="backslashreplace")
    debug = _debug()
    try:
        # A valid command doesn't load the others; the help and misspellings need all of them.
        if sys.argv[1:] != ["--version"]:
            register([name for name in COMMANDS if sys.argv[1:2] == [name.rstrip("_")]] or COMMANDS)
        code = _run()
        sys.stdout.flush()
    except LumenmapError as error:
        if debug:
            raise
        code = _end(error.exit_code, _words(error))
    except KeyboardInterrupt:  # while it loads; later the library makes it an exit
        code = _stopped()
    except (Exception, SystemExit) as error:
        from lumenmap.cli.shared.ending import output_gone, unexpected

        if isinstance(error, BrokenPipeError) and output_gone():
            code = _end(0)
        elif debug:
            raise
        else:
            code = _end(*unexpected(error))
    sys.exit(code)


def program() -> None:
    """Run `main` in a process of its own, which ends at once when all is done.

    The interpreter would take 100,000 objects of modules, house and show apart first: 30 ms.
    """
    code: list[int] = []
    atexit.register(_end_at_once, code)  # what is registered first is called last
    try:
        main()
    except SystemExit as ended:
        if isinstance(ended.code, int):
            code.append(ended.code)
        raise


def _end_at_once(code: list[int]) -> None:
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):  # `main` has told what couldn't be written
            stream.flush()
    if code:
        os._exit(code[0])


def _run() -> int:
    """Run the command; return its exit code."""
    try:
        _built()()
    except SystemExit as stop:
        if isinstance(stop.__context__, BrokenPipeError):  # the library makes it exit code 1
            raise stop.__context__ from None
        from lumenmap.cli.shared.ending import STOPPED, ended_by_us

        if not ended_by_us(stop):
            raise
        if stop.code == STOPPED:
            return _stopped()
        return stop.code if isinstance(stop.code, int) else int(bool(stop.code))
    return 0


def _stopped() -> int:
    from lumenmap.cli.shared.ending import STOPPED

    return _end(STOPPED, "stopped; no file is half-written")


def _end(code: int, text: str = "") -> int:
    """Say why a run ends, if there is a reason; whatever it had still to print is dropped."""
    from lumenmap.cli.shared.ending import silence

    try:
        sys.stdout.flush()
    except (OSError, ValueError):
        silence()
    if text:
        with contextlib.suppress(OSError):
            print(text, file=sys.stderr, flush=True)
    return code
