"""The board's sheet says what the board's own page says."""

import re
from pathlib import Path

import lumenmap.controller
from lumenmap.drawing.document import Table
from lumenmap.sheets.board_sheet import LAMP, board_sheet
from lumenmap.site import Site

PAGE = Path(lumenmap.controller.__file__).parent / "board" / "text" / "BOARD.md"


def tables(site):
    return {part.name: part for part in board_sheet(site) if isinstance(part, Table)}


def test_lamp_means_what_the_page_beside_the_player_says():
    rows = re.findall(r"^\| (\d|none) \| (.*?) \| ?(.*?) ?\|$", PAGE.read_text(), re.M)
    assert tuple(rows) == LAMP


def test_every_line_has_its_row_and_wires_are_those_of_the_kind(examples):
    twelve = Site.read(examples / "alder-cottage" / "house.toml")
    got = tables(twelve)
    assert [row[:5] for row in got["board-lines"].rows] == [
        ("front", "133", "ws2811-12v", "RGB", "1"),
        ("top", "220", "ws2811-12v", "RGB", "3"),
    ]
    assert any("5 V converter" in row[0] for row in got["board-wires"].rows)
    assert not any("clock" in row[0] for row in got["board-wires"].rows)
    five = tables(Site.read(examples / "kelder-studio" / "house.toml"))
    assert not any("converter" in row[0] for row in five["board-wires"].rows)
