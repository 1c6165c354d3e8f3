"""Hours of every evening, changed on the page."""

import pytest

from tests.desk.browser import LAPTOP, PHONE

RIGHT = "\ue014"
BOTH = pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["phone", "laptop"])
FIELD = "document.querySelector(`[aria-label='${words[0]}']`)"


def dims(hands, found):
    hands.saved(lambda d: found(d.get("dim", [])), "almanac.toml")


def give(hands, name, value):
    """Type a time, as a browser's own field takes it."""
    hands.until(FIELD, what=f"no field {name}", words=[name])
    hands.js(
        "const e = document.querySelector(`[aria-label='${arguments[0]}']`);"
        "e.value = arguments[1]; e.onchange({ target: e });",
        name,
        value,
    )


def opened(visitor, size):
    visitor.open("calendar", "show.toml", size)
    visitor.sees("Every evening: half as bright from 21:30 to 23:00.")
    visitor.tap("Change hours")
    return visitor


@BOTH
def test_the_light_is_turned_down_earlier_and_further(visitor, size):
    opened(visitor, size)
    give(visitor, "Turned down, from", "20:45")
    dims(visitor, lambda d: d[0]["from"] == "20:45")
    visitor.press("Turned down: brightness", RIGHT * 3)
    dims(visitor, lambda d: d[0]["brightness"] == 0.65)
    visitor.sees("Every evening: at 65\N{NO-BREAK SPACE}% from 20:45 to 23:00.")
    assert "# the neighbours" in (visitor.desk.folder / "almanac.toml").read_text("utf-8")
    assert visitor.js("return document.documentElement.scrollWidth <= innerWidth")
    visitor.tap("Undo: hours of every evening").tap("Undo: hours of every evening")
    dims(visitor, lambda d: (d[0]["from"], d[0]["brightness"]) == ("21:30", 0.5))


def test_hours_come_and_go(visitor):
    opened(visitor, PHONE)
    visitor.tap("Turn down at other hours too")
    dims(visitor, lambda d: [x["from"] for x in d] == ["21:30", "23:00"])
    visitor.tap("Turned down, 1: take out")
    dims(visitor, lambda d: [x["from"] for x in d] == ["23:00"])
    visitor.tap("Add quiet hours")
    visitor.saved(lambda d: d.get("quiet") == {"from": "23:00", "to": "06:00"}, "almanac.toml")
    visitor.sees("nothing plays from 23:00 to 06:00.")
    visitor.tap("Quiet hours: take out")
    visitor.saved(lambda d: "quiet" not in d, "almanac.toml")
    visitor.tap("Done")
    assert "Turned down to" not in visitor.text


def test_hours_that_cant_be_are_refused_beside_them(visitor):
    opened(visitor, LAPTOP)
    give(visitor, "Turned down, from", "23:00")
    visitor.until("document.querySelector('.every [role=alert]')?.textContent.includes('23:00')")
    # The field shows again what holds.
    visitor.until(f"{FIELD}.value === '21:30'", words=["Turned down, from"])
    dims(visitor, lambda d: d[0]["from"] == "21:30")


def test_a_time_by_the_sun_is_words(visitor):
    path = visitor.desk.folder / "almanac.toml"
    path.write_text(path.read_text("utf-8").replace('"21:30"', '"sunset + 3 h"'), "utf-8")
    visitor.open("calendar", "show.toml", LAPTOP)
    visitor.sees("half as bright from 3 h after sunset to 23:00.")
    visitor.tap("Change hours").write("Turned down, from", "sunset + 4 h")
    dims(visitor, lambda d: d[0]["from"] == "sunset + 4 h")
