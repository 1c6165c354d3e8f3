"""Journeys through other evenings than tonight, on a phone and at a laptop; it is 11 December."""

from datetime import timedelta

import pytest

from tests.desk.browser import BRIGHT, EVENING, LAPTOP, PHONE
from tests.desk.page.test_family import SIDEWAYS, once

BOTH = pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["phone", "laptop"])
ENTER = "\ue007"


def row(hands, name):
    """What the line of an evening says, in the calendar."""
    return hands.called(name, "lm-calendar").text.replace("\n", " ")


def chosen(hands, *tables):
    """Wait until these are the almanac's choices: date, and what is in it."""

    def same(data):
        got = [
            {k: t.get(k) for k in ("date", *want)}
            for t, want in zip(once(data), tables, strict=True)
        ]
        return got == [dict(want) for want in tables]

    hands.saved(lambda d: len(once(d)) == len(tables) and same(d), "almanac.toml")


def snow_on_two_evenings(hands):
    hands.tap("Thu 24").tap("Several evenings").tap("Fri 25")
    hands.sees("24 and 25 December")
    hands.tap("Another show", root=".choosing").tap("Another One", root=".choosing")
    hands.sees(
        "Another One replaces First Try on 24 and 25 December, from sunset to 22:30. "
        "After that, everything as planned."
    )
    assert not once(hands.file("almanac.toml")), "nothing is done before it is said"
    hands.tap("Play it")
    chosen(hands, {"date": "2026-12-24..2026-12-25", "show": "other.toml", "to": "22:30"})
    hands.until("document.querySelectorAll('.why.hand').length === 2")
    assert hands.actions == 6


def the_birthday(hands):
    hands.tap("Mon 14").tap("Another show", root=".choosing").tap("Another One", root=".choosing")
    hands.tap("Other hours")
    hands.js(
        "const give = (e, v) => { e.value = v; e.onchange({target: e}); };"
        "const [begins, ends] = document.querySelectorAll('.opened select');"
        "give(begins, 'dusk'); give(ends, 'clock')"
    )
    hands.until("document.querySelector('[aria-label=\"Ends at\"]')")
    hands.js(
        "const e = document.querySelector('[type=time]'); e.value = '23:45'; e.onchange({target: e})"
    )
    hands.write("Why, if you like", "Birthday")
    hands.sees("to 23:45")
    hands.tap("Play it")
    words = {"name": "Birthday", "from": "dusk", "to": "23:45"}
    chosen(hands, {"date": "2026-12-14", "show": "other.toml", **words})
    hands.sees("Chosen by hand: Birthday.")
    assert "chosen: Birthday" in row(hands, "Mon 14")


def dark_while_away_and_back(hands):
    hands.tap("Tue 29").tap("Several evenings").tap("Sun 3")
    hands.sees("29 December to 3 January")
    hands.tap("Dark", root=".choosing").write("Why, if you like", "Away")
    hands.sees("Dark from 29 December to 3 January: First Try doesn't play.")
    hands.tap("Make it dark")
    chosen(hands, {"date": "2026-12-29..2027-01-03", "name": "Away", "show": None})
    hands.sees("chosen: Away")
    assert "Dark chosen: Away" in row(hands, "Wed 30")
    hands.tap("As planned again")
    hands.sees("As planned from 29 December to 3 January: First Try from sunset to 22:30.")
    hands.tap("Back to the plan")
    hands.saved(lambda d: not once(d), "almanac.toml")
    hands.tap("Undo: as planned from").tap("Undo: dark from")
    hands.saved(lambda d: d == hands.pristine, "almanac.toml")


def dimmer_by_keys_alone(hands):
    hands.press("Thu 17", ENTER).press("Brightness", ENTER, root=".choosing")
    hands.press("Brightness of these evenings", "\ue012" * 10)
    hands.sees("First Try plays at 50\N{NO-BREAK SPACE}% on Thursday 17 December.")
    hands.press("Set this brightness", ENTER)
    chosen(hands, {"date": "2026-12-17", "show": "show.toml", "brightness": 0.5})


def the_focus_is_never_lost(hands):
    """Who goes by keys, or hears the page, goes on from the evening when a button has gone."""
    at_day = "document.activeElement.matches('.day[aria-pressed=true]')"
    hands.press("Thu 17", ENTER)
    hands.press("Several evenings", ENTER).until(
        f"{at_day} && document.querySelector('[type=date]')"
    )
    hands.press("Only this evening", ENTER).until(
        f"{at_day} && !document.querySelector('[type=date]')"
    )
    hands.press("Dark", ENTER, root=".choosing").sees("Dark on Thursday 17 December")
    hands.press("Make it dark", ENTER).sees("Chosen by hand")
    hands.until(at_day)
    hands.press("Undo: dark on", ENTER).until(f"{at_day} && !document.querySelector('.why.hand')")


def dates_that_are_given(hands):
    """A birthday in May isn't on the page."""
    hands.tap("Thu 17").tap("Several evenings")
    hands.js(
        "for (const [n, v] of [[1, '2027-05-16'], [0, '2027-05-14']]) {"
        "const e = document.querySelectorAll('.choosing [type=date]')[n]; e.value = v; e.onchange({target: e}); }"
    )
    hands.sees("May 2027")
    hands.until("document.querySelectorAll('.day[aria-pressed=true]').length === 3")
    hands.tap("These evenings").tap("Dark", root=".choosing").sees("Dark from 14 to 16 May")
    hands.tap("Make it dark")
    chosen(hands, {"date": "2027-05-14..2027-05-16", "show": None})
    hands.tap("Earlier evenings")
    hands.sees("Later evenings")


def dates_that_are_typed(hands):
    """Of a year that is typed, 2027, the page sees 0002, 0020 and 0202 first."""
    hands.tap("Thu 17").tap("Several evenings")
    value = "[...document.querySelectorAll('.choosing [type=date]')].map(e => e.value).join()"
    hands.js("document.querySelectorAll('.choosing [type=date]')[1].focus()")
    for key in "05162027":
        hands.keys(key)
        hands.js("return new Promise(drawn => setTimeout(drawn, 30))")
    hands.keys(ENTER)
    hands.until(f"{value} === '2026-12-17,2027-05-16'")
    hands.keys("\ue004")
    hands.tap("These evenings").sees("17 December to 16 May")
    hands.tap("Other dates")
    hands.js(
        "const e = document.querySelectorAll('.choosing [type=date]')[1];"
        "e.value = '2031-01-01'; e.onchange({target: e})"
    )
    hands.until(f"{value} === '2026-12-17,2028-01-15'", what="the last that may be changed")
    hands.tap("These evenings").sees("17 December 2026 to 15 January 2028")


def pages_of_evenings(hands):
    hands.tap("Later evenings")
    hands.sees("February 2027")
    hands.tap("Earlier evenings")
    hands.until("document.querySelector('.day').textContent.includes('Tonight')")


def somebody_else_was_there(hands):
    """The sentence is read anew when another phone, or an editor, has changed these evenings."""
    hands.tap("Thu 24").tap("Dark", root=".choosing")
    hands.sees("Dark on Thursday 24 December: First Try doesn't play.")
    path = hands.desk.folder / "almanac.toml"
    other = '\n[[once]]\ndate = "2026-12-24"\nname = "Party"\nshow = "other.toml"\n'
    path.write_text(path.read_text("utf-8") + other, "utf-8")
    hands.sees("Another One doesn't play. What was chosen before goes: Party.")
    hands.tap("Make it dark")
    chosen(hands, {"date": "2026-12-24", "show": None, "name": None})


def what_cant_be_is_said(hands):
    hands.tap("Thu 24").tap("Dark", root=".choosing").tap("Make it dark")
    hands.sees("Chosen by hand")
    hands.tap("Brightness", root=".choosing")
    hands.sees("Nothing plays then; choose a show first.")
    assert not hands.js("return document.querySelector('.go:not(:disabled)')")


JOURNEYS = [
    snow_on_two_evenings,
    the_birthday,
    dark_while_away_and_back,
    dimmer_by_keys_alone,
    the_focus_is_never_lost,
    dates_that_are_given,
    dates_that_are_typed,
    pages_of_evenings,
    somebody_else_was_there,
    what_cant_be_is_said,
]


@pytest.mark.parametrize("journey", JOURNEYS, ids=lambda j: j.__name__)
@BOTH  # below, so that the window's size changes once only
def test_a_journey(visitor, size, journey):
    visitor.open("calendar", size=size)
    visitor.pristine = visitor.file("almanac.toml")
    visitor.until("document.querySelectorAll('.day').length === 28")
    journey(visitor)


def test_the_calendar_says_what_plays_and_why(visitor):
    """Sunset in Seattle on 24 December is at 16:23 (NOAA's solar calculator, from memory)."""
    visitor.open("calendar", size=PHONE)
    assert row(visitor, "Tonight 11") == "Tonight 11 First Try rule: Every evening 16:18 – 22:30"
    assert row(visitor, "Thu 24") == "Thu 24 First Try 16:22 – 22:30"


def test_the_picture_shows_the_evening_that_is_touched(visitor):
    visitor.open("calendar", size=PHONE)
    visitor.until(f"{BRIGHT} > 1")
    label = "document.querySelector('canvas').getAttribute('aria-label')"
    visitor.tap("Thu 24").tap("Another show", root=".choosing").tap("Another One", root=".choosing")
    visitor.until(f"{label}.includes('Another One')")
    visitor.tap("Tonight", root="lm-head")
    visitor.until(f"{label}.includes('First Try')")


def test_a_show_with_a_mistake_is_marked_and_not_offered(hands):
    folder = hands.desk.folder
    torn = folder / "torn.toml"
    good = (folder / "other.toml").read_text("utf-8").replace("Another One", "Torn")
    torn.write_text(good.replace('effect = "chase"', 'effect = "chsae"'), "utf-8")
    almanac = folder / "almanac.toml"
    once = '\n[[once]]\ndate = "2026-12-24"\nshow = "torn.toml"\n'
    almanac.write_text(almanac.read_text("utf-8") + once, "utf-8")
    try:
        hands.open("calendar", size=PHONE)
        hands.sees("its file has a mistake")
        hands.tap("Thu 24").tap("Another show", root=".choosing")
        hands.called("Another One", ".choosing")
        assert not hands.has("torn", ".choosing") and not hands.has("Torn", ".choosing")
    finally:
        torn.unlink()


def test_undo_of_what_an_editor_has_changed_since(visitor):
    visitor.open("calendar", size=PHONE)
    visitor.tap("Thu 24").tap("Dark", root=".choosing").tap("Make it dark").sees("Chosen by hand")
    path = visitor.desk.folder / "almanac.toml"
    path.write_text(path.read_text("utf-8").replace("2026-12-24", "2026-12-23"), "utf-8")
    visitor.until("document.querySelector('.why.hand').closest('.day').textContent.includes('23')")
    visitor.tap("Undo: dark on")
    visitor.sees("Somebody has changed these evenings in the almanac's file since")
    assert "once" not in visitor.js("return document.querySelector('.said').textContent")


def test_a_desk_that_is_away_is_said_once(hands):
    hands.open("calendar", size=PHONE)
    hands.tap("Thu 24").tap("Dark", root=".choosing").sees("Dark on Thursday 24 December")
    # The line breaks when the button is pressed, as where a phone leaves the house.
    hands.js(  # at once: the page sends where it looks every second
        "Object.defineProperty(WebSocket.prototype, 'readyState', { get: () => 3 });"
        "WebSocket.prototype.send = function () { throw new Error(); };"
        "return import('/page/store.js').then(s => { s.state.link = 'lost'; s.changed(); })"
    )
    hands.tap("Make it dark").sees("The desk doesn't answer now")
    assert hands.text.count("The desk doesn't answer now") == 1


def test_an_evening_that_is_over_isnt_chosen_any_more(hands):
    """The page lies there until the next evening."""
    session = hands.desk.desk.hub.session
    hands.open("calendar", size=LAPTOP)
    hands.tap("Tonight 11", root="lm-calendar").called("Another show", ".choosing")
    try:
        session.now = lambda: EVENING + timedelta(days=1)
        path = hands.desk.folder / "almanac.toml"
        path.write_text(path.read_text("utf-8") + "# later\n", "utf-8")
        hands.sees("Tonight\n12")
        hands.until("!document.querySelector('.choosing, .day[aria-pressed=true]')")
    finally:
        session.now = lambda: EVENING


#: A phone, a laptop at 200 %, a small phone, and both phones with text twice as large: as half as
#: wide.
SIZES = [PHONE, (683, 450), (320, 640), (195, 422), (160, 320)]


def test_nothing_is_wider_than_what_holds_it(visitor):
    """320 CSS px, and text at 200 %: WCAG 2.2, 1.4.10 and 1.4.4."""
    wide = (
        "return [...document.querySelectorAll('.choosing button, .day')]"
        ".filter(e => e.scrollWidth > e.clientWidth).map(e => [e.textContent, e.scrollWidth, e.clientWidth])"
    )
    for size in SIZES:
        visitor.open("calendar", size=size)
        visitor.until("document.querySelectorAll('.day').length > 1")
        visitor.js("document.querySelectorAll('.day')[1].click()")
        visitor.called("Another show", ".choosing")
        assert visitor.js(wide) == [], size
        fits(visitor, size)
        for number, there in ((0, ".choosing .show"), (1, ".choosing .levels")):
            visitor.until(f"document.querySelectorAll('.choosing .large')[{number}]").click()
            visitor.until(f"document.querySelector('{there}')")
            fits(visitor, size)
        visitor.js("document.querySelector('.choosing .large').click()")
        visitor.until("document.querySelector('.choosing .show')").click()
        visitor.tap("Other hours", ".choosing")
        visitor.until("document.querySelector('.choosing select')")
        fits(visitor, size)
        for view, there in (("tonight", ".large"), ("compose", ".sentence")):
            visitor.open(view, size=size)
            visitor.until(f"document.querySelector('{there}')")
            fits(visitor, size)
        visitor.open("tonight", size=size)
        visitor.called("Brightness").click()
        visitor.until("document.querySelector('.levels')")
        fits(visitor, size)


def fits(hands, size):
    """Nothing reaches beyond the window, which a phone would make smaller for it."""
    wide = "return [document.documentElement.scrollWidth, innerWidth]"
    assert hands.js(wide) == [size[0], size[0]], size


@pytest.fixture
def many_shows(hands):
    """A house with a dozen shows more."""
    folder = hands.desk.folder
    good = (folder / "other.toml").read_text("utf-8")
    more = [folder / f"more-{n}.toml" for n in range(12)]
    for n, path in enumerate(more):
        path.write_text(good.replace("Another One", f"Long Evening {n}"), "utf-8")
    yield hands
    for path in more:
        path.unlink()


#: A button that confirms a choice, all of it in the window and nothing over it.
CONFIRMS = """(() => {
  const e = document.querySelector('.go:not(:disabled)');
  if (!e) return false;
  const r = e.getBoundingClientRect(), x = r.x + r.width / 2;
  return [r.top + 2, r.bottom - 2].every(y => e.contains(document.elementFromPoint(x, y)));
})()"""


@pytest.mark.parametrize(
    "size", [(1366, 768), (683, 384), PHONE, (195, 422), SIDEWAYS], ids=lambda s: f"{s[0]}x{s[1]}"
)
def test_what_confirms_a_choice_is_seen_without_scrolling(many_shows, size):
    """At a laptop, on phones, and at 200 %, as half as wide and high."""
    visitor = many_shows

    def touch(name, root, nth=0):
        visitor.until(
            "(() => { const e = [...document.querySelectorAll(words[1] + ' button')]"
            ".filter(b => b.textContent.startsWith(words[0]))[words[2]];"
            "e?.scrollIntoView({ block: 'nearest' }); e?.click(); return Boolean(e); })()",
            words=[name, root, nth],
        )

    for show in ("Another One", "Long Evening 8"):
        visitor.open("calendar", size=size)
        touch("Thu 24", "lm-calendar")
        touch("Another show", ".choosing")
        touch(show, ".choosing")
        visitor.until(CONFIRMS, what=f"{show} can't be confirmed")
        visitor.open("tonight", size=size)
        touch("Another show", "lm-evening")
        touch(show, "lm-evening")
        visitor.until(CONFIRMS, what=f"{show} can't be confirmed for tonight")
    visitor.open("calendar", size=size)
    touch("Thu 24", "lm-calendar")
    for what in ("Brightness", "Dark"):
        touch(what, ".choosing")
        visitor.until(CONFIRMS, what=f"{what} can't be confirmed")


def test_keys_go_from_an_evening_to_what_is_done_with_it_and_on(visitor):
    """The order of focus keeps the meaning: WCAG 2.2, 2.4.3."""
    tab, here = "\ue004", "return document.activeElement.textContent"
    inside = "return Boolean(document.activeElement.closest('.choosing'))"
    visitor.open("calendar", size=LAPTOP)
    visitor.press("Thu 24", "\ue007").called("Another show", ".choosing")
    visitor.keys(tab)
    assert visitor.js(here) == "Several"
    visitor.keys(tab, shift=True)
    assert visitor.js(here).startswith("Thu 24")
    for _ in range(4):
        visitor.keys(tab)
        assert visitor.js(inside)
    assert visitor.js(here) == "Dark"
    visitor.keys(tab)
    assert visitor.js(here).startswith("Fri 25")
    visitor.keys(tab, shift=True)
    assert visitor.js(here) == "Dark"


def test_what_can_be_pressed_says_so_before_it_is(visitor):
    """WAI-ARIA: a button without aria-pressed isn't one that stays pressed."""
    visitor.open("calendar", size=PHONE)
    assert visitor.js("return document.querySelectorAll('.day[aria-pressed=false]').length") == 28
    visitor.tap("Thu 24")
    assert visitor.js("return document.querySelectorAll('.day[aria-pressed=false]').length") == 27


def test_on_a_phone_on_its_side_the_calendar_is_right_of_the_house(visitor):
    visitor.open("calendar", size=SIDEWAYS)
    visitor.tap("Thu 24").tap("Dark", root=".choosing").sees("Dark on Thursday 24 December")
    apart = (
        "(() => { const e = document.querySelector('.view').getBoundingClientRect();"
        "return [...document.querySelectorAll('.under button')].every(b => "
        "b.getBoundingClientRect().left >= e.right); })()"
    )
    visitor.until(apart, what="a control lies under the house")
