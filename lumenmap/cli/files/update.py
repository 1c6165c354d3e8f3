"""lumenmap update: a file of an earlier version in today's words."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer


def update(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A show or house file.")],
    keep_clock: Annotated[
        bool,
        typer.Option(
            "--keep-clock",
            help="For a show of 0.1.0: its layers go on counting from the show's start, not from "
            "their cue's.",
        ),
    ] = False,
    dry_run: Annotated[
        bool, typer.Option("--dry-run", help="Print what would change, and write nothing.")
    ] = False,
) -> None:
    """Rewrite a file of an earlier version in today's words; comments stay.

    Example: lumenmap update my-house/show.toml --dry-run
    """
    from lumenmap.core.errors import InputError
    from lumenmap.core.files import write_whole
    from lumenmap.core.toml.reading import text_of
    from lumenmap.core.wording import some
    from lumenmap.show.update import updated

    text = text_of(file, "show or house")
    try:
        new, changes = updated(text, keep_clock=keep_clock)
    except InputError as error:
        raise error.at(file=file) from None
    for change in changes:
        print(f"  {change}")
    if not changes:
        print(f"{file.name} needs no change")
    elif dry_run:
        print(f"{some(len(changes), 'change')}; nothing was written")
    else:
        write_whole(file, new)
        print(f"wrote {file}: {some(len(changes), 'change')}")
