"""The plans as a picture: what is where along each line, and light, money and hours beside it."""

from __future__ import annotations

from lumenmap.drawing.canvas import GREY, PALE, Drawing, TextStyle
from lumenmap.power.feeding.choose import KINDS
from lumenmap.power.feeding.judge import Judged
from lumenmap.power.feeding.suggestions import Suggestions

#: Width of the page and its margin; where lines begin, how long and how far apart they are (mm).
_WIDTH, _LEFT = 297.0, 10.0
_X, _STRIP, _LINE = 42.0, 150.0, 9.0
_RED, _BLUE, _GREEN = "#b3261e", "#1f5fa8", "#2c7a3f"


def plans_picture(found: Suggestions) -> Drawing:
    """Return the plans one below the other."""
    site = found.ground.site
    each = 17 + _LINE * len(site.pixels.lines)
    page = Drawing(_WIDTH, 38 + each * len(found.possible))
    page.text((_LEFT, 11), f"{site.house.name}: plans for {found.light}", TextStyle(5, bold=True))
    _legend(page, 19)
    top = 27.0
    dearest = max((p.bill.money for p in found.possible), default=0.0) or 1.0
    for p in found.possible:
        _plan(page, found, p, top, dearest)
        top += each
    return page


def _legend(page: Drawing, y: float) -> None:
    x = _LEFT
    for mark, words in (
        ("feed", "feed or tap, with its fuse in A"),
        ("cut", "cut of the plus wire"),
        ("trunk", "trunk"),
        ("bus", "bus"),
    ):
        if mark == "feed":
            page.dot((x + 2, y - 1), 1.1, _RED)
        elif mark == "cut":
            page.line([(x + 2, y - 3), (x + 2, y + 1)], _BLUE, 0.6)
        else:
            page.line([(x, y - 1), (x + 4, y - 1)], _RED if mark == "trunk" else _GREEN, 1.0)
        page.text((x + 6, y), words, TextStyle(2.8, colour=GREY))
        x += 12 + 1.6 * len(words)


def _plan(page: Drawing, found: Suggestions, p: Judged, top: float, dearest: float) -> None:
    page.line([(_LEFT, top), (_WIDTH - _LEFT, top)], PALE, 0.3)
    best = p is found.chosen
    page.text((_LEFT, top + 6), p.plan.name, TextStyle(4.2, bold=True))
    if best:
        page.text((_LEFT, top + 11), "cheapest", TextStyle(2.8, colour=_GREEN, bold=True))
        page.text((_LEFT, top + 14.5), "for this light", TextStyle(2.8, colour=_GREEN))
    page.text((_X, top + 5), KINDS[p.plan.name][1], TextStyle(2.6, colour=GREY))
    y = top + 14
    for span in p.site.pixels.lines:
        _strip(page, p, span.name, y)
        y += _LINE
    x = _X + _STRIP + 8
    money = found.ground.site.house.buying.money(p.bill.money)
    light = f"{100 * p.reached:.0f} % of white, {p.lowest:.2f} V or more"
    _bar(page, (x, top + 9), p.reached, light, _BLUE)
    _bar(
        page,
        (x, top + 16),
        p.bill.money / dearest,
        f"cost {money}, {p.bill.hours:.0f} h of work",
        _RED,
    )


def _bar(page: Drawing, at: tuple[float, float], part: float, words: str, colour: str) -> None:
    (x, y), width = at, 30.0
    page.area([(x, y), (x + width, y), (x + width, y + 3), (x, y + 3)], PALE)
    long = width * part
    if long > 0:
        page.area([(x, y), (x + long, y), (x + long, y + 3), (x, y + 3)], colour)
    page.text((x + width + 2, y + 2.7), words, TextStyle(2.9))


def _strip(page: Drawing, p: Judged, line: str, y: float) -> None:
    places, wiring = p.site.places[line], p.site.wiring
    length = places.span.length

    def x(along: float) -> float:
        return _X + _STRIP * along / length

    page.line([(_X, y), (_X + _STRIP, y)], GREY, 0.5)
    if len(p.site.pixels.lines) > 1:
        page.text((_X - 2, y + 1), line, TextStyle(2.4, anchor="end", colour=GREY))
    for connector in places.connectors:
        page.line([(x(connector.along), y - 0.8), (x(connector.along), y + 0.8)], GREY, 0.3)
    for trunk in (t for t in p.plan.trunks if t.line == line):
        ends = [x(places.at(t, "")) for t in (trunk.start, trunk.stop)]
        page.line([(e, y + 3.2) for e in ends], _RED, 1.0)
        page.dot((ends[0], y + 3.2), 1.0, "", _RED, 0.4)
    for bus in (b for b in p.plan.buses if b.line == line):
        ends = [x(places.at(t, "")) for t in (bus.start, bus.stop)]
        page.line([(e, y + 1.6) for e in ends], _GREEN, 0.8)
    of_line = {t.name for t in p.plan.trunks if t.line == line}
    points = [(f.at, f.fuse) for f in p.plan.feeds if f.line == line]
    taps = [(t.at, t.fuse) for t in wiring.taps if t.trunk in of_line]
    for at, _ in taps:
        here = x(places.at(at, ""))
        page.line([(here, y), (here, y + 3.2)], _RED, 0.4)
    for at, fuse in points + taps:
        here = x(places.at(at, ""))
        page.dot((here, y), 1.1, _RED)
        if fuse is not None:
            page.text((here, y - 1.8), f"{fuse:g}", TextStyle(2.3, anchor="middle", colour=_RED))
    for cut in dict(p.plan.cuts).get(line, ()):
        here = x(float(places.along_at(places.cut(cut, ""))))
        page.line([(here, y - 2), (here, y + 2)], _BLUE, 0.6)
