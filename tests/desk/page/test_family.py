"""Journeys of the family: another show, dimmer, dark, undo; on a phone and at a laptop."""

import pytest

from tests.desk.browser import BRIGHT, LAPTOP, PHONE

#: A phone on its side.
SIDEWAYS = (844, 390)
BOTH = pytest.mark.parametrize("size", [PHONE, LAPTOP], ids=["phone", "laptop"])


def tonight(hands):
    return hands.js("return document.querySelector('.tonight')?.textContent")


def once(data):
    return data.get("once", [])


def another_show(hands):
    hands.tap("Another show").tap("Another One").tap("Play it tonight")
    hands.sees("Another One from")
    assert hands.actions == 3
    assert once(hands.file("almanac.toml"))[0]["show"] == "other.toml"


def only_tried(hands):
    hands.tap("Another show").tap("Another One")
    hands.sees("Nothing has changed yet")
    hands.until("document.querySelector('canvas').getAttribute('aria-label').includes('Another')")
    assert not once(hands.file("almanac.toml"))


def tried_and_left(hands):
    only_tried(hands)
    hands.tap("Another show")
    hands.until("document.querySelector('canvas').getAttribute('aria-label').includes('First')")
    assert "First Try" in tonight(hands)


def dimmed_by_touches(hands):
    hands.until(f"{BRIGHT} > 1")
    hands.tap("Brightness").tap("Dimmer").tap("Dimmer").tap("Dimmer")
    hands.saved(lambda d: once(d)[0]["brightness"] == 0.7, "almanac.toml")
    hands.sees("at 70\N{NO-BREAK SPACE}%")


def dimmed_by_touches_quicker_than_the_page_draws(hands):
    hands.until(f"{BRIGHT} > 1")
    hands.tap("Brightness")
    hands.js(
        "const dimmer = document.querySelector('[aria-label=Dimmer]');"
        "for (let n = 0; n < 3; n++) dimmer.click()"
    )
    hands.saved(lambda d: once(d)[0]["brightness"] == 0.7, "almanac.toml")


def dimmed_by_keys(hands):
    hands.tap("Brightness").press("Brightness tonight", "\ue012\ue012")
    hands.saved(lambda d: once(d)[0]["brightness"] == 0.9, "almanac.toml")


def dark(hands):
    hands.tap("Dark")
    hands.sees("Dark tonight.")
    assert once(hands.file("almanac.toml")) and not once(hands.file("almanac.toml"))[0].get("show")
    assert hands.actions == 1


def light_again(hands):
    dark(hands)
    hands.tap("Light again")
    hands.sees("First Try from")
    assert not once(hands.file("almanac.toml"))


def undoes_a_show(hands):
    another_show(hands)
    hands.tap("Undo: another show")
    hands.sees("First Try from")
    assert hands.file("almanac.toml") == hands.pristine
    assert not hands.has("Undo")


def undoes_dark(hands):
    dark(hands)
    hands.tap("Undo: dark")
    hands.sees("First Try from")


def undoes_dimming(hands):
    hands.tap("Brightness").tap("Dimmer")
    hands.sees("at 90\N{NO-BREAK SPACE}%")
    hands.tap("Undo: brightness")
    hands.until("!document.querySelector('.tonight').textContent.includes('at 90')")
    hands.until("document.querySelector('.fold input').value === '100'")


def undoes_all_three(hands):
    another_show(hands)
    hands.tap("Brightness").tap("Dimmer")
    hands.sees("Undo: brightness")
    hands.tap("Dark")
    for what in ("dark", "brightness", "another show"):
        hands.tap(f"Undo: {what}")
    hands.sees("First Try from")
    assert hands.file("almanac.toml") == hands.pristine


def dims_what_is_dark(hands):
    dark(hands)
    hands.tap("Brightness")
    hands.sees("It is dark tonight. Touch “Light again” first.")
    assert not hands.has("Dimmer")  # a slider would say how bright the dark is


def dims_while_somebody_makes_it_dark(hands):
    """What was touched is let go when it is refused: it isn't how bright the evening is."""
    hands.tap("Brightness")
    hands.js(
        "const touch = name => document.querySelector(name).click();"
        "touch('[aria-label=Dimmer]'); touch('.large.c')"
    )
    hands.sees("Nothing plays tonight; choose a show first.")
    hands.tap("Undo: dark")
    hands.sees("First Try from")
    hands.until("document.querySelector('.large.b').textContent.includes('100 %')")


def chooses_hours_for_tonight(hands):
    hands.tap("Another show").tap("Another One").tap("Other hours")
    hands.sees("Another One replaces First Try on Friday 11 December, from 16:18 to 22:30.")
    hands.js(
        "const ends = [...document.querySelectorAll('.choosing select')][1];"
        "ends.value = 'clock'; ends.dispatchEvent(new Event('change'))"
    )
    hands.until("document.querySelector('.choosing input[type=time]')")
    hands.tap("Play it", root=".choosing")
    hands.saved(lambda d: once(d)[0]["show"] == "other.toml", "almanac.toml")


def undoes_once_though_touched_twice(hands):
    """An impatient hand: what the button says next hasn't been read yet."""
    another_show(hands)
    hands.tap("Brightness").tap("Dimmer").sees("Undo: brightness")
    hands.js("for (let n = 0; n < 2; n++) document.querySelector('.undo').click()")
    hands.sees("so nothing was undone. Undo would now take back “Another show tonight”.")
    assert once(hands.file("almanac.toml"))[0]["show"] == "other.toml"


#: Those that others begin with aren't walked alone too.
JOURNEYS = [
    tried_and_left,
    chooses_hours_for_tonight,
    dimmed_by_touches,
    dimmed_by_touches_quicker_than_the_page_draws,
    dimmed_by_keys,
    light_again,
    undoes_a_show,
    undoes_dark,
    undoes_dimming,
    undoes_all_three,
    undoes_once_though_touched_twice,
    dims_what_is_dark,
    dims_while_somebody_makes_it_dark,
]


@pytest.mark.parametrize("journey", JOURNEYS, ids=lambda j: j.__name__)
@BOTH  # below, so that the window's size changes once only
def test_a_journey(visitor, size, journey):
    visitor.open("tonight", size=size)
    visitor.pristine = visitor.file("almanac.toml")
    visitor.sees("First Try from")
    journey(visitor)


@pytest.mark.parametrize(
    ("right", "wrong", "why"),
    [("[almanac]", "[almanac", "isn't TOML"), ('to = "22:30"', 'to = "half past"', "half past")],
    ids=["not TOML", "no time"],
)
def test_a_broken_almanac_is_told_once_and_then_in_the_familys_words(visitor, right, wrong, why):
    """Somebody edits it meanwhile: what is wrong stands at the top, and what that means below."""
    visitor.open("tonight", size=PHONE)
    visitor.sees("First Try from")
    path = visitor.desk.folder / "almanac.toml"
    good = path.read_text("utf-8")
    path.write_text(good.replace(right, wrong), "utf-8")
    plain = "Nothing can be chosen until almanac.toml is mended. What was planned plays on."
    times = "document.body.innerText.split(words[0]).length - 1 === 1"
    try:
        visitor.sees(plain)
        visitor.tap("Dark")
        visitor.tap("Another show").tap("Another One").tap("Play it tonight")
        visitor.until("document.querySelector('.does .said')")
        visitor.until(times, what="the mistake is told twice", words=[why])
        visitor.tap("Calendar")
        visitor.sees(plain)
        visitor.until(times, what="the mistake is told twice", words=[why])
    finally:
        path.write_text(good, "utf-8")
    visitor.until("!document.body.innerText.includes(words[0])", words=["mended"])


def test_on_a_phone_on_its_side_nothing_is_under_the_house(visitor):
    """The house stays; what is touched is right of it, and all of the evening is in the window."""
    visitor.open("tonight", size=SIDEWAYS)
    visitor.sees("First Try from")
    inside = (
        "[...document.querySelectorAll('.large, .view')].every(e => {"
        "const r = e.getBoundingClientRect();"
        "return r.height > 0 && r.bottom <= innerHeight && r.right <= innerWidth; })"
    )
    assert visitor.js(f"return document.querySelectorAll('.large').length === 3 && {inside}")
    dark(visitor)
    visitor.open("compose", "show.toml", SIDEWAYS)
    visitor.js("window.scrollTo(0, document.body.scrollHeight)")
    apart = (
        "(() => { const e = document.querySelector('.view').getBoundingClientRect();"
        "return [...document.querySelectorAll('.under button')].every(b => {"
        "const r = b.getBoundingClientRect(); return r.left >= e.right; }); })()"
    )
    visitor.until(apart, what="a control lies under the house")


def test_the_picture_follows_the_evening(visitor):
    visitor.open("tonight", size=PHONE)
    visitor.until(f"{BRIGHT} > 1")
    visitor.tap("Dark")
    visitor.sees("Dark tonight.")
    dark = visitor.still()
    # What was bright before may have been the house before its first light: light is what undo brings.
    visitor.tap("Undo")
    visitor.until(f"{BRIGHT} > {dark} * 1.005")
    visitor.tap("Dark")
    visitor.until(f"{BRIGHT} == {dark}")


def test_a_phone_for_the_evening_sees_nothing_else(hands):
    token, _ = hands.desk.desk.pairing.invite("evening")
    hands.leave()  # cookies are those of the page on show, which mustn't ask for anything now
    hands.driver.delete_all_cookies()
    hands.size(PHONE)
    try:
        hands.driver.get(f"http://{hands.desk.host}/open?token={token}")
        hands.sees("First Try from")
        assert not hands.has("Compose")
        shown = hands.js(
            "return [...document.querySelectorAll('button')].filter(b => b.getClientRects().length).length"
        )
        assert shown == 5  # tonight or calendar, and what may be done tonight
        hands.actions = 0
        another_show(hands)
        hands.tap("Calendar").tap("Sun 13").tap("Dark", root=".choosing").tap("Make it dark")
        hands.saved(lambda d: once(d)[1]["date"] == "2026-12-13", "almanac.toml")
    finally:
        token, _ = hands.desk.desk.pairing.invite("compose", local=True)
        hands.leave()
        hands.driver.delete_all_cookies()
        hands.driver.get(f"http://{hands.desk.host}/open?token={token}")


def test_a_show_that_cant_play_tonight_is_told(hands):
    """Its file is gone, or an editor has made a mistake in it."""
    path = hands.desk.folder / "almanac.toml"
    path.write_text(
        path.read_text("utf-8").replace('show = "show.toml"', 'show = "gone.toml"'), "utf-8"
    )
    hands.open("tonight", size=PHONE)
    hands.sees("“gone” can't play: its file is missing. Choose another show.")
    torn = hands.desk.folder / "gone.toml"
    torn.write_text('[show]\nname = "Gone"\nlength = "0 s"\n', "utf-8")
    try:
        hands.sees("“gone” can't play: its file has a mistake.")
    finally:
        torn.unlink()


def test_once_it_is_chosen_a_show_isnt_one_that_is_tried(visitor):
    visitor.open("tonight", size=PHONE)
    visitor.tap("Another show").tap("Another One").sees("Nothing has changed yet.")
    visitor.tap("Play it tonight").sees("Another One from")
    visitor.until("!document.body.innerText.includes('Nothing has changed yet')")


def test_tonights_other_hours_are_in_the_window(visitor):
    visitor.open("tonight", size=PHONE)
    visitor.tap("Another show").tap("Another One").tap("Other hours")
    visitor.until(
        "[...document.querySelectorAll('.opened select, .does .go:not(:disabled)')]"
        ".map(e => e.getBoundingClientRect())"
        ".filter(r => r.top > 0 && r.bottom <= innerHeight).length === 3"
    )


def test_a_show_is_found_by_its_colours(visitor):
    """A child who wants something blue doesn't know which title that is."""
    visitor.open("tonight", size=PHONE)
    visitor.tap("Another show")
    seen = "getComputedStyle(e).backgroundImage.includes('gradient') && e.clientWidth > 30"
    visitor.until(
        "(all => all.length === 2 && all.every(e => " + seen + "))"
        "([...document.querySelectorAll('.show .strip')])",
    )


def test_the_house_is_dark_on_the_picture_if_nothing_is_planned(visitor):
    """It was lit by the first show of the folder, beside the words that nothing plays."""
    path = visitor.desk.folder / "almanac.toml"
    visitor.open("tonight", size=PHONE).until(f"{BRIGHT} > 1")
    visitor.tap("Dark").sees("Dark tonight.")
    dark = visitor.still()
    visitor.tap("Undo").sees("First Try from")
    text = path.read_text("utf-8").replace('on = "monday..sunday"', 'on = "08-01"')
    path.write_text(text, "utf-8")
    visitor.sees("Nothing plays tonight.")
    visitor.until(f"{BRIGHT} == {dark}")
