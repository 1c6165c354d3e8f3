"""The page for everybody: an automated audit, keys, sizes of what is touched, still pictures.

The audit's rules are those of axe-core, for WCAG 2.2 A and AA (W3C).
"""

import json
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from tests.desk.browser import LAPTOP, PHONE, Hands

ENTER = "\ue007"
ROOT = Path(__file__).parents[3]
AXE = ROOT / ".ci" / "page" / "node_modules" / "axe-core" / "axe.min.js"
PAGE = ROOT / "lumenmap" / "desk" / "page"

#: What a person may have before them: a view, and what they touched to get there.
SCENES = {
    "tonight": ("tonight", []),
    "shows": ("tonight", ["Another show", "Another One"]),
    "brightness": ("tonight", ["Brightness"]),
    "dark": ("tonight", ["Dark"]),
    "calendar": ("calendar", []),
    "an evening": ("calendar", ["Thu 24"]),
    "a show for it": ("calendar", ["Thu 24", "Another show", "Another One", "Other hours"]),
    "evenings": ("calendar", ["Thu 24", "Several evenings", "Sun 27", "Dark"]),
    "until when": ("calendar", ["Thu 24", "Several evenings"]),
    "how bright": ("calendar", ["Thu 24", "Brightness"]),
    "hours": ("calendar", ["Change hours", "Add quiet hours"]),
    "composing": ("compose", []),
    "effects": ("compose", ["Effect"]),
    "palettes": ("compose", ["Palette"]),
    "mixing": ("compose", ["Palette", "Mix its colours", "Check for eyes"]),
    "places": ("compose", ["Places"]),
    "a number": ("compose", ["how fast"]),
    "a ramp": ("compose", ["how fast", "Change over time", "Point 2"]),
    "more": ("compose", ["More of layer 1"]),
    "turns": ("compose", ["More of layer 1", "turns", "Take turns", "to and fro"]),
    "except": ("compose", ["More of layer 1", "except", "main/rake-left"]),
    "fades": ("compose", ["How it fades"]),
    "settings": ("compose", ["Settings"]),
    "values": ("compose", ["Values", ("A new value's name", "candles"), "Take the value candles"]),
    "groups": ("compose", ["Groups", ("A new group's name", "gable"), "But not main/rake-left"]),
    "routes": (
        "compose",
        ["Routes", ("A new route's name", "walk"), "main/rake-left from its end"],
    ),
    "finding": ("compose", ["Find controllers"]),
}


def at(hands, scene, size):
    view, touched = SCENES[scene]
    hands.open(view, "show.toml" if view == "compose" else None, size)
    for name in touched:
        if isinstance(name, tuple):
            hands.write(*name).tap("Add", root=".own")
        elif name.startswith("Take the value"):
            hands.called(name)  # it is there
        else:
            hands.tap(name)
    hands.until("document.querySelector('lm-house canvas').width === 640")


@pytest.mark.parametrize("scene", SCENES)
def test_everybody_can_use_it(visitor, scene):
    """A scene is made once, since that takes longer than to look at it in three ways, at two sizes."""
    at(visitor, scene, PHONE)
    looked_at(visitor)
    visitor.size(LAPTOP)
    visitor.js("return new Promise(drawn => requestAnimationFrame(() => drawn()))")
    assert visitor.js("return matchMedia('(min-width: 60rem)').matches")
    looked_at(visitor)
    if not AXE.is_file():
        pytest.skip("axe-core isn't installed: npm ci --prefix .ci/page")


def looked_at(hands):
    large_enough(hands)
    reached_by_keys(hands)
    if AXE.is_file():
        audited(hands)


def large_enough(hands):
    """44 CSS px each way: WCAG 2.2, 2.5.5 (AAA); nothing is wider than the page."""
    small = hands.js(
        "return [...document.querySelectorAll('button, input, select, [role=slider]')]"
        ".filter(e => e.getClientRects().length).map(e => [e.textContent || e.ariaLabel, "
        "e.getBoundingClientRect().width, e.getBoundingClientRect().height])"
        ".filter(([, w, h]) => w < 43.5 || h < 43.5)"
    )
    assert not small
    assert hands.js("return document.documentElement.scrollWidth <= innerWidth")


def audited(hands):
    # What lies under the house when scrolled isn't small, and what has the focus looks otherwise.
    hands.js("document.activeElement.blur(); scrollTo(0, 0)")
    if not hands.js("return 'axe' in window"):
        hands.js(AXE.read_text("utf-8"))
    found = hands.driver.execute_async_script(
        "const done = arguments[0]; axe.run({runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', "
        "'wcag21aa', 'wcag22aa', 'best-practice']}).then(r => done(r.violations.map(v => "
        "[v.impact, v.id, v.nodes.map(n => n.html.slice(0, 150))])))"
    )
    assert not [f for f in found if f[0] in ("serious", "critical")], found


def reached_by_keys(hands):
    reached = hands.js(
        "return [...document.querySelectorAll('button, input, select, [role=listbox], [role=slider]')]"
        ".filter(e => e.getClientRects().length).map(e => { e.focus(); "
        "return [e.textContent || e.ariaLabel, e.tabIndex, document.activeElement === e || e.disabled]; })"
        ".filter(([, t, ok]) => t < 0 || !ok)"
    )
    assert not reached
    named = hands.js(
        "return [...document.querySelectorAll('button, input, select')].filter(e => "
        "e.getClientRects().length && !(e.ariaLabel || e.textContent.trim() || e.labels?.length))"
        ".map(e => e.outerHTML)"
    )
    assert not named


def test_a_short_word_is_wide_to_touch_and_leaves_no_gap(visitor):
    """A value such as 0 is touched beyond its ends; what follows it stands right after it."""
    visitor.open("compose", "show.toml", PHONE)
    words = visitor.js(
        "return [...document.querySelectorAll('.option .word')].map(e => {"
        "const own = document.createRange(), next = document.createRange();"
        "own.selectNodeContents(e);"
        "const after = e.closest('.option').nextElementSibling?.firstChild;"
        "if (!after) return null;"
        "next.selectNodeContents(after);"
        "const [a, b] = [own, next].map(r => r.getClientRects()), last = a[a.length - 1];"
        "return b[0].top < last.bottom && b[0].left > last.left"
        " ? [e.textContent, b[0].left - last.right, e.getBoundingClientRect().width] : null; })"
        ".filter(found => found)"
    )
    assert len(words) > 4 and any(len(text) < 4 for text, *_ in words)
    assert all(-1 < gap < 4 and width >= 43.5 for _, gap, width in words), words


def test_a_show_is_chosen_by_keys_alone(visitor):
    visitor.open("tonight", size=LAPTOP)
    visitor.press("Another show", "\ue007").press("Another One", "\ue007")
    visitor.press("Play it tonight", " ").sees("Another One from")


#: Where who goes by keys goes on from, in words; nothing at the top of the page.
HERE = "(e => e === document.body ? '' : e.ariaLabel || e.textContent)(document.activeElement)"


def test_what_is_done_with_leaves_the_focus_near(visitor):
    """Each of these goes with what it does: keys and a screen reader began at the top again."""
    visitor.open("tonight", size=LAPTOP)
    visitor.press("Another show", ENTER).press("Another One", ENTER)
    visitor.press("Play it tonight", ENTER).sees("Another One from")
    visitor.until(f"{HERE}.startsWith('Another show')")
    visitor.press("Undo", ENTER).sees("First Try from")
    visitor.until(f"{HERE}.startsWith('Another show')")
    visitor.open("compose", "show.toml", LAPTOP)
    visitor.press("Palette", ENTER).press("Done", ENTER)
    visitor.until(f"{HERE} === 'Palette: dusk'")
    visitor.press("Take this cue out", ENTER)
    visitor.until("document.querySelectorAll('.cue').length === 1")
    visitor.until(f"{HERE} !== ''")


def test_nothing_moves_for_those_who_want_it_still(hands):
    features = [{"name": "prefers-reduced-motion", "value": "reduce"}]
    hands.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": features})
    try:
        hands.open("compose", "show.toml", LAPTOP)
        hands.called("Play")
        assert not hands.has("Pause")
        clock = "document.querySelector('.clock').textContent"
        before = hands.until(clock)
        hands.js("return new Promise(r => setTimeout(r, 400))")
        assert hands.until(clock) == before
    finally:
        hands.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})


@pytest.fixture
def heard(hands, browser):
    """A person at a browser that tells what it asks for."""
    token, _ = hands.desk.desk.pairing.invite("compose", local=True)
    browser.get_log("performance")
    browser.get(f"http://{hands.desk.host}/open?token={token}")
    yield Hands(browser, hands.desk)
    browser.get("about:blank")
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    browser.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": False})
    browser.sized = None


def test_no_request_goes_to_another_host(heard):
    at(heard, "mixing", LAPTOP)
    at(heard, "shows", PHONE)
    asked = []
    for line in heard.driver.get_log("performance"):
        event = json.loads(line["message"])["message"]
        if event["method"] == "Network.requestWillBeSent":
            asked.append(event["params"]["request"]["url"])
        elif event["method"] == "Network.webSocketCreated":
            asked.append(event["params"]["url"])
    hosts = {urlsplit(url).netloc for url in asked if urlsplit(url).scheme not in ("data", "about")}
    assert len(asked) > 15 and hosts == {heard.desk.host}


def test_modules_are_short_and_write_no_markup():
    modules = [*PAGE.rglob("*.js")]
    assert len(modules) > 12
    for module in modules:
        text = module.read_text("utf-8")
        assert text.count("\n") <= 250, module.name
        for word in ("innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval("):
            assert word not in text, (module.name, word)


def test_the_page_is_light():
    """At most 200 kB without the house's own picture."""
    files = [f for f in PAGE.rglob("*") if f.suffix in (".js", ".css", ".html")]
    assert sum(f.stat().st_size for f in files) < 200_000


#: Buttons from which a word sticks out, or whose words are cut off.
STICKS_OUT = """
[...document.querySelectorAll('.under button')].filter(e => e.getClientRects().length).filter(e => {
  const box = e.getBoundingClientRect(), words = document.createRange();
  words.selectNodeContents(e);
  return [...words.getClientRects()].some(r => r.left < box.left - 1 || r.right > box.right + 1);
}).map(e => e.textContent)
"""


@pytest.mark.parametrize("percent", [100, 115, 130, 150, 200])
def test_words_stay_in_their_buttons_whatever_size_the_text_has(hands, percent):
    """A phone with larger text has fewer CSS pixels (WCAG 2.2, 1.4.4 and 1.4.10: W3C)."""
    size = 36000 // percent, 64000 // percent
    for view, touched in (SCENES["shows"], SCENES["brightness"], SCENES["a show for it"]):
        hands.open(view, size=size)
        for name in touched:
            hands.tap(name)
        hands.until("![...document.querySelectorAll('.does .go')].some(e => e.disabled)")
        assert hands.js(f"return ({STICKS_OUT})") == []
        assert hands.js("return document.documentElement.scrollWidth <= innerWidth")
