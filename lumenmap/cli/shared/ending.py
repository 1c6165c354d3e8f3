"""How a run ends: the exit code, and the one line that says why.

0 done, 1 a check failed, 2 the input is wrong (or there is no room for the output), 70 a fault of
our own (EX_SOFTWARE in sysexits.h of 4.3BSD [M]), 130 stopped by Ctrl-C (128 + SIGINT, as shells
report it [C]).
"""

from __future__ import annotations

import contextlib
import errno
import os
import select
import sys
import traceback
from pathlib import Path

from lumenmap.core.plain import plain

INPUT, FAULT, STOPPED = 2, 70, 130


def output_gone() -> bool:
    """Return whether whoever reads our output has gone, as in ``lumenmap map … | head``."""
    poll = getattr(select, "poll", None)
    if poll is None:  # on Windows; there a broken pipe is nearly always the output
        return True
    try:
        looked = poll()
        looked.register(sys.stdout.fileno(), 0)
        return any(event & select.POLLERR for _, event in looked.poll(0))
    except (OSError, ValueError):
        return False


def silence() -> None:
    """Send what is still waiting to be printed nowhere: Python would fail on it when it ends."""
    with contextlib.suppress(OSError, ValueError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def unexpected(error: BaseException) -> tuple[int, str]:
    """Return the exit code and the line for an exception that no command expects."""
    if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
        return INPUT, f"the output can't be written: {error.strerror}{_of(error)}"
    if isinstance(error, MemoryError):
        return INPUT, "more memory is needed than there is; make the picture or the house smaller"
    if isinstance(error, SystemExit):
        return INPUT, f"an effect tried to end the program{_where(error)}; effects only compute"
    return FAULT, (
        f"lumenmap has a fault: {type(error).__name__}: {plain(str(error), 200)}{_where(error)}. "
        "To report it, run the command again with --debug, and send what it prints and your files "
        "to the developers"
    )


def _of(error: OSError) -> str:
    return f" ({plain(str(error.filename), 80)})" if error.filename else ""


def _where(error: BaseException) -> str:
    steps = traceback.extract_tb(error.__traceback__)
    return f" ({Path(steps[-1].filename).name} line {steps[-1].lineno})" if steps else ""


def ended_by_us(stop: SystemExit) -> bool:
    """Return whether it was the command-line library that ended the program, not an effect."""
    trace = stop.__traceback__
    while trace is not None and trace.tb_next is not None:
        trace = trace.tb_next
    name = trace.tb_frame.f_globals.get("__name__", "") if trace is not None else ""
    return str(name).startswith(("typer.", "click.", "lumenmap."))
