"""lumenmap palette: list, show, make and check palettes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from lumenmap.cli.shared.options import Json, say

palette = typer.Typer(
    help="Palettes: list them, see them as LEDs and eyes do, make new ones, check them.",
    no_args_is_help=True,
)

Name = Annotated[str, typer.Argument(help="A built-in palette, or one of the show file.")]
Show = Annotated[
    Path | None, typer.Option("--show", metavar="FILE", help="Look in this show file as well.")
]
Kind = Annotated[
    str, typer.Option("--kind", help="The pixel kind whose dies and currents are used.")
]
Out = Annotated[Path | None, typer.Option("--out", "-o", metavar="FILE", help="Draw a PNG.")]


@palette.command("list")
def list_(
    show: Show = None, out: Out = None, kind: Kind = "ws2811-12v", as_json: Json = False
) -> None:
    """List the palettes and the occasions they are for; with -o draw them all on one sheet.

    Example: lumenmap palette list
    """
    from lumenmap.show.palettes import known, named

    rows = named(known(show))
    lines = [f"{r['name']:18} {r['occasion']}{', ' + r['when'] if r['when'] else ''}" for r in rows]
    say({"palettes": rows}, lines, as_json)
    if out is not None:
        _draw([r["name"] for r in rows], show, kind, out)


@palette.command("show")
def show_(name: Name, out: Out = None, show: Show = None, kind: Kind = "ws2811-12v") -> None:
    """Draw a palette: on a screen, as LEDs will show it, on pixels, as three kinds of eyes see it.

    Example: lumenmap palette show row-of-lamps -o lamps.png
    """
    _draw([name], show, kind, out or Path(f"{name}.png"))


def _draw(names: list[str], show: Path | None, kind: str, out: Path) -> None:
    from lumenmap.core.files import whole_file
    from lumenmap.jobs.trial import palette_picture

    image = palette_picture(names, show, kind)
    with whole_file(out) as beside:
        image.save(beside, "PNG")
    print(f"wrote {out}")


@palette.command("new")
def new(
    name: Annotated[str, typer.Argument(help="What to call it.")],
    photo: Annotated[
        Path | None, typer.Option("--photo", metavar="FILE", help="Take the colours of a picture.")
    ] = None,
    base: Annotated[
        str, typer.Option("--base", metavar="COLOUR", help="Start from a colour.")
    ] = "",
    harmony: Annotated[
        str, typer.Option(help="complement, neighbours, triad, square, split or shades.")
    ] = "neighbours",
    count: Annotated[int, typer.Option(help="How many colours of a picture.", min=1, max=16)] = 5,
    keep_dim: Annotated[
        bool,
        typer.Option("--keep-dim", help="Keep the base as dim as it is, not raised to full light."),
    ] = False,
) -> None:
    """Make a palette from a photograph or from a colour, to paste into a show file.

    Example: lumenmap palette new garden --photo roses.jpg

    Example: lumenmap palette new dusk --base "#c41e3a" --harmony triad
    """
    from lumenmap.colour.make import make
    from lumenmap.show.palettes import as_toml

    print(as_toml(name, make(photo, base, harmony, count, lift=not keep_dim)), end="")


@palette.command("check")
def check(name: Name, show: Show = None, kind: Kind = "ws2811-12v", as_json: Json = False) -> None:
    """Say what a palette draws, what LEDs can't show of it, and what some eyes confuse.

    Example: lumenmap palette check jack-o-lantern
    """
    from lumenmap.jobs.trial import check_palette

    report: dict[str, Any]
    report, lines = check_palette(name, show, kind)
    say(report, lines, as_json)
