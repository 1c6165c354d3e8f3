"""Lines for a person at a terminal: folded to its width, the word that matters in colour.

What goes into a file or another program isn't changed.
"""

from __future__ import annotations

import os
import re
import shutil
import sys
import textwrap
from collections.abc import Sequence

import typer

#: Words that begin a line, and how they look: what is wrong, and what may be.
LOOKS = {"DANGER": "red", "PROBLEM": "red", "WARNING": "yellow", "POWER": "yellow"}
LOOKS |= {"FLASHING": "yellow"}
_HEAD = re.compile(rf"^( *)({'|'.join(LOOKS)})(?=:)")
#: Narrower than this a terminal's width isn't believed.
_NARROWEST = 20


def width() -> int | None:
    """Return the width of the terminal that is printed to, in letters; None if it isn't one."""
    if not sys.stdout.isatty():
        return None
    return max(_NARROWEST, shutil.get_terminal_size().columns)


def say(lines: Sequence[str], *, fold: bool = True) -> None:
    """Print lines; ``fold``: long ones over several, if they go to a terminal."""
    wide = width()
    for line in lines:
        print(line if wide is None else coloured(folded(line, wide) if fold else line))


def folded(line: str, wide: int) -> str:
    """Return a line over as many as it takes, the later ones further in, fractions whole."""
    if len(line) <= wide:
        return line
    from lumenmap.core.lengths import unbroken

    indent = line[: len(line) - len(line.lstrip())]
    words = unbroken(line.strip())
    found = textwrap.wrap(
        words,
        wide,
        initial_indent=indent,
        subsequent_indent=f"{indent}  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
    return "\n".join(found).replace("\N{NO-BREAK SPACE}", " ")


def coloured(line: str) -> str:
    """Return a line with the word that it begins with in colour, unless that isn't liked.

    NO_COLOR as on no-color.org: any text but none.
    """
    if os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        return line
    return _HEAD.sub(lambda m: m[1] + typer.style(m[2], fg=LOOKS[m[2]], bold=True), line)
