"""The year at a glance: every evening's pieces, as rows for a table, in words and as a picture."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta
from itertools import groupby
from pathlib import Path
from zoneinfo import ZoneInfo

from lumenmap.almanac.model import Almanac, Piece
from lumenmap.almanac.sun import CIVIL, SET, crossing
from lumenmap.almanac.tonight import Row, played

_DAY = timedelta(days=1)


def days_of(year: int) -> list[date]:
    """Return all days of a year."""
    first = date(year, 1, 1)
    return [first + i * _DAY for i in range((date(year + 1, 1, 1) - first).days)]


def year_pieces(almanac: Almanac, year: int) -> list[Piece]:
    """Return what plays in a year, in order: the pieces that begin on its days."""
    return [piece for day in days_of(year) for piece in almanac.evening(day)[0]]


def stretches(rows: Sequence[Row]) -> list[list[list[Row]]]:
    """Return the evenings of a year, each as its rows, in runs that play the same, equally bright.

    Evenings without a show don't end a run, nor do times that move with the sun.
    """
    evenings = [list(evening) for _, evening in groupby(rows, lambda r: r["date"])]

    def played(evening: list[Row]) -> list[tuple[object, ...]]:
        return [(r["rule"], r["show"], r["brightness"]) for r in evening]

    return [list(run) for _, run in groupby(evenings, played)]


def stretch_lines(evenings: list[list[Row]], zone: ZoneInfo) -> list[str]:
    """Return a run of evenings for people: its dates, and from when to when what plays."""
    first, last = evenings[0][0]["date"], evenings[-1][0]["date"]
    dates = first if first == last else f"{first} to {last}, {len(evenings)} evenings"
    rules = dict.fromkeys(r["rule"] for r in evenings[0])
    lines = [f"{dates}: {', '.join(rules)}"]
    for rows in zip(*evenings, strict=True):
        start, stop = (_span(rows, *keys, zone) for keys in (("from", "start"), ("to", "stop")))
        lines.append(f"  {start} to {stop}  {played(rows[0]['title'], rows[0]['brightness'])}")
    return lines


def _span(rows: Sequence[Row], clock: str, moment: str, zone: ZoneInfo) -> str:
    """Return the earliest and the latest of times of day, each counted from its evening's date.

    So 00:10 is later than 23:50, and 11:40, where the sun stays down, earlier than 12:10.
    """

    def since_midnight(r: Row) -> timedelta:
        local = datetime.fromisoformat(r[moment]).astimezone(zone).replace(tzinfo=None)
        return local - datetime.fromisoformat(r["date"])

    first, last = (end(rows, key=since_midnight)[clock] for end in (min, max))
    return first if first == last else f"{first}-{last}"


#: Colours of the rules in the picture, in their order; chosen to differ in lightness too.
_COLOURS = (
    *("#ffb347", "#7fd1ff", "#ff7f8f", "#9be28a", "#d6a6ff", "#fff28a", "#5fc7b8", "#ff9ad5"),
    *("#e0452f", "#3f7fe0", "#2f9a4a", "#a05a2c", "#8e4fd0", "#c2b280", "#98a2b0", "#d0167f"),
)
_NIGHT, _DUSK, _DAYLIGHT, _INK, _PAPER = "#12182b", "#33405f", "#dfe7ee", "#26303c", "#ffffff"
#: The picture's days run from noon to noon, so that an evening is in one piece.
_NOON = 12


def year_picture(almanac: Almanac, year: int, path: Path) -> None:
    """Draw the year as a PNG: days from left to right, from noon down to the next noon.

    Night and twilight are shaded; a piece is a bar in its rule's colour, paler where it is dimmed.
    """
    from PIL import Image, ImageDraw, ImageFont

    step, hour, left, top = 4, 26, 64, 58
    days = days_of(year)
    rules = list(dict.fromkeys(p.rule for p in year_pieces(almanac, year)))
    width, height = left + step * len(days) + 24, top + 24 * hour + 34 + 24 * (1 + len(rules) // 4)
    image = Image.new("RGB", (width, height), _PAPER)
    draw = ImageDraw.Draw(image)
    small, large = ImageFont.load_default(13), ImageFont.load_default(20)
    draw.text((left, 12), f"{almanac.name}, {year}", fill=_INK, font=large)

    def down(day: date, moment: datetime) -> float:
        """Return how far down a moment is in the column of a day, in pixels."""
        local = moment.astimezone(almanac.place.zone)
        hours = (local.date() - day).days * 24 + local.hour + local.minute / 60
        return top + hour * min(24.0, max(0.0, hours - _NOON))

    bottom = top + 24 * hour
    for i, day in enumerate(days):
        x = left + step * i
        draw.rectangle((x, top, x + step - 1, bottom), fill=_DAYLIGHT)
        for below, colour in ((SET, _DUSK), (CIVIL, _NIGHT)):
            dark = _dark(almanac, day, below)
            if dark:
                a, z = (down(day, t) for t in dark)
                draw.rectangle((x, a, x + step - 1, max(a, z)), fill=colour)
        for piece in almanac.evening(day)[0]:
            tint = _mix(_COLOURS[rules.index(piece.rule) % len(_COLOURS)], piece.brightness)
            a, z = down(day, piece.start), down(day, piece.stop)
            draw.rectangle((x, a, x + step - 1, max(a, z - 1)), fill=tint)
        if day.day == 1:
            draw.line((x, top - 6, x, bottom), fill="#8a97a8")
            draw.text((x + 4, top - 18), f"{day:%b}", fill=_INK, font=small)
    for h in range(0, 25, 3):
        y = top + hour * h
        draw.line((left - 5, y, left, y), fill=_INK)
        draw.text((left - 46, y - 8), f"{(h + _NOON) % 24:02d}:00", fill=_INK, font=small)
    for k, rule in enumerate(rules):
        x, y = left + (k % 4) * 350, bottom + 22 + 24 * (k // 4)
        draw.rectangle((x, y, x + 14, y + 14), fill=_COLOURS[k % len(_COLOURS)])
        draw.text((x + 22, y - 1), rule[:40], fill=_INK, font=small)
    image.save(path, format="PNG")


def _dark(almanac: Almanac, day: date, below: float) -> tuple[datetime, datetime] | None:
    """Return when the sun is more than ``below`` degrees under the horizon, from noon to noon."""
    down = crossing(almanac.place, day, rising=False, below=below)
    up = crossing(almanac.place, day + _DAY, rising=True, below=below)
    if down == "day" or up == "day":
        return None
    noon = datetime.combine(day, datetime.min.time(), almanac.place.zone).replace(hour=_NOON)
    begin = noon.astimezone(UTC) if isinstance(down, str) else down
    end = (noon + _DAY).astimezone(UTC) if isinstance(up, str) else up
    return begin, end


def _mix(colour: str, brightness: float) -> tuple[int, int, int]:
    """Return a colour mixed with the night's, by how much it is dimmed."""
    full, night = (bytes.fromhex(c[1:]) for c in (colour, _NIGHT))
    share = 0.35 + 0.65 * brightness
    r, g, b = (round(share * a + (1 - share) * n) for a, n in zip(full, night, strict=True))
    return r, g, b
