"""lumenmap palette: list, draw, make and check palettes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from lumenmap.cli.shared.options import Json, print_report

palette = typer.Typer(
    help="List, draw, make and check palettes.",
    no_args_is_help=True,
)

Name = Annotated[str, typer.Argument(help="A built-in palette, or one from the show file.")]
Show = Annotated[
    Path | None,
    typer.Option("--show", metavar="FILE", help="Include the palettes of this show file."),
]
Kind = Annotated[
    str,
    typer.Option(
        "--kind", help="Pixel kind, for its colours and currents; ws2811-12v if left out."
    ),
]
House = Annotated[
    Path | None,
    typer.Option("--house", metavar="FILE", help="Take the pixels of this house file instead."),
]
Out = Annotated[
    Path | None, typer.Option("--out", "-o", metavar="FILE", help="The PNG file to write.")
]


@palette.command("list")
def list_(
    show: Show = None,
    out: Out = None,
    kind: Kind = "",
    house: House = None,
    as_json: Json = False,
) -> None:
    """List the palettes and their occasions. With -o, draw them all on one sheet.

    Example: lumenmap palette list
    """
    from lumenmap.show.palettes import known, named

    rows = named(known(show))
    lines = [f"{r['name']:18} {r['occasion']}{', ' + r['when'] if r['when'] else ''}" for r in rows]
    print_report({"palettes": rows}, lines, as_json)
    if out is not None:
        _draw([r["name"] for r in rows], show, (kind, house), out)


@palette.command("show")
def show_(
    name: Name, out: Out = None, show: Show = None, kind: Kind = "", house: House = None
) -> None:
    """Draw a palette: on a screen, as LEDs show it, on pixels, and with three colour deficiencies.

    Example: lumenmap palette show row-of-lamps -o lamps.png
    """
    _draw([name], show, (kind, house), out or Path(f"{name}.png"))


def _draw(names: list[str], show: Path | None, pixels: tuple[str, Path | None], out: Path) -> None:
    from lumenmap.core.files import whole_file
    from lumenmap.jobs.trial import palette_picture, pixels_of

    image = palette_picture(names, show, pixels_of(*pixels))
    with whole_file(out) as partial:
        image.save(partial, "PNG")
    print(f"wrote {out}")


@palette.command("new")
def new(
    name: Annotated[str, typer.Argument(help="The name of the new palette.")],
    photo: Annotated[
        Path | None,
        typer.Option("--photo", metavar="FILE", help="Take the colours from this photograph."),
    ] = None,
    base: Annotated[
        str, typer.Option("--base", metavar="COLOUR", help="Start from this colour.")
    ] = "",
    harmony: Annotated[
        str,
        typer.Option(
            help="complement, neighbours, triad, square, split or shades of the base colour."
        ),
    ] = "neighbours",
    count: Annotated[
        int, typer.Option(help="Most colours to take from the photograph.", min=1, max=16)
    ] = 5,
    keep_dim: Annotated[
        bool,
        typer.Option(
            "--keep-dim",
            help="Keep the base colour as dim as it is; by default it is raised to full.",
        ),
    ] = False,
) -> None:
    """Make a palette from a photograph or a colour, to paste into a show file.

    Example: lumenmap palette new garden --photo roses.jpg

    Example: lumenmap palette new dusk --base "#c41e3a" --harmony triad
    """
    from lumenmap.colour.making.make import make
    from lumenmap.show.palettes import as_toml

    print(as_toml(name, make(photo, base, harmony, count, lift=not keep_dim)), end="")


@palette.command("check")
def check(
    name: Name, show: Show = None, kind: Kind = "", house: House = None, as_json: Json = False
) -> None:
    """Report the current of a palette, colours LEDs can't show, and colours some eyes confuse.

    Two colours count as alike where their CIEDE2000 difference is below 10 with a deficiency of
    colour vision, or below 5 with none.

    Example: lumenmap palette check jack-o-lantern
    """
    from lumenmap.jobs.trial import check_palette, pixels_of

    report: dict[str, Any]
    report, lines = check_palette(name, show, pixels_of(kind, house))
    print_report(report, lines, as_json)
