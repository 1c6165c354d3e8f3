"""The board's sheet: what goes from the controller to the pixels, and what its lamp says.

The same words stand in the folder that ``lumenmap export --format board`` writes.
"""

from __future__ import annotations

from collections.abc import Iterator

from lumenmap.drawing.document import Heading, Part, Table, Text
from lumenmap.sheets.wiring_items import BOARD_VOLTS
from lumenmap.site import Site

#: Flashes of the status lamp, what they mean, and what to do; as in BOARD.md.
LAMP = (
    ("1", "the show plays", ""),
    ("2", "live: frames come from the network or the serial line", ""),
    ("3", "dark: the table says so, or it was stopped", ""),
    (
        "4",
        "the time isn't known; the default plays, or nothing",
        "check the network; the time comes back by itself",
    ),
    ("5", "no good image", "load the images again; all must be of one export"),
    ("6", "the flash can't be read", "check addresses and sizes in `read`"),
    (
        "7",
        "the year's table is over, or damaged",
        "export the new year: `lumenmap year ALMANAC --board FOLDER`",
    ),
    (
        "none",
        "an image is being opened, or the program has stopped",
        "if it lasts, restart the board",
    ),
)


def board_sheet(site: Site) -> Iterator[Part]:
    """Yield the wires of the board, line by line, and the table of its lamp."""
    kind = site.house.kind
    yield Heading("The board")
    yield Text(
        "Unplug the supply before you touch a wire; a licensed person does the mains side. This "
        "software was not run on a real board by its makers: try one pixel first, indoors.",
        caution=True,
        lead="Before you begin.",
    )
    rows = [
        ("data pin", "level shifter's input", "one gate for each data line; write its pin below"),
        (
            "level shifter, 74HCT or AHCT, on 5 V",
            "first pixel's data in",
            "3.3 V is below the 3.5 V that a 5 V pixel asks for; 33 ohm in series at the shifter, "
            "or what the data sheet says",
        ),
        ("board's ground", "pixels' ground", "before any data wire; one ground for all supplies"),
        ("board's 5 V", "its own fuse at the supply", "never through the string"),
    ]
    if kind.wire_bits is not None:
        rows.append(("clock pin", "first pixel's clock in", "through a gate of its own"))
    if kind.volts > BOARD_VOLTS:
        rows.append(
            ("5 V converter, fused", "board and level shifter", f"pixels run on {kind.volts:g} V")
        )
    yield Table(
        "board-wires", ("board end", "far end", "note"), tuple(rows), widths=(0.26, 0.26, 0.48)
    )
    lines = tuple(
        (span.name, str(span.count), kind.name, span.order, str(span.universe), "")
        for span in site.pixels.lines
    )
    yield Table(
        "board-lines", ("line", "pixel count", "pixel kind", "order", "universe", "pin"), lines
    )
    yield Heading("What its lamp says", new_page=False)
    plain = tuple((n, means, do.replace("`", "")) for n, means, do in LAMP)
    yield Table("board-lamp", ("flashes", "means", "do"), plain, widths=(0.1, 0.42, 0.48))
