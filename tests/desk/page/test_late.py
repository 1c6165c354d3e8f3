"""A desk whose answers come late, or never: what a touch asked for is in the window, or it is said."""

import contextlib

import pytest

from tests.desk.browser import PHONE

#: Every message of the desk comes a while later, in its order.
LATE = """
const listen = WebSocket.prototype.addEventListener;
WebSocket.prototype.addEventListener = function (kind, take) {
  listen.call(this, kind, kind === "message" ? event => setTimeout(() => take(event), MS) : take);
};
"""
#: A line that nobody hangs up, and that carries nothing once it is lost; and no patience with it.
DEAD = """
const listen = WebSocket.prototype.addEventListener, send = WebSocket.prototype.send;
WebSocket.prototype.addEventListener = function (kind, take) {
  listen.call(this, kind, event => { if (this !== window.lost) take(event); });
};
WebSocket.prototype.send = function (data) {
  window.line = this;
  if (this !== window.lost) send.call(this, data);
};
const later = setTimeout, get = fetch;
window.setTimeout = (done, ms) => later(done, ms === 5000 ? 400 : ms);
window.fetch = (...words) => window.lost && !window.there ? Promise.reject(new TypeError("lost")) : get(...words);
"""
#: How many of some elements could be touched in their middle, where the window is scrolled to now.
REACHED = """
[...document.querySelectorAll(words[0])].filter(e => {
  const r = e.getBoundingClientRect();
  return e.contains(document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2));
}).length === words[1]
"""


@contextlib.contextmanager
def phone(hands, *scripts):
    """A phone whose page runs scripts of ours before its own."""
    word = "Page.addScriptToEvaluateOnNewDocument"
    added = hands.driver.execute_cdp_cmd(
        word, {"source": "".join(f"{{{script}}}" for script in scripts)}
    )
    hands.size(PHONE)
    yield hands
    hands.driver.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)
    hands.leave()


@pytest.fixture(params=[0, 60, 700], ids="{} ms".format)
def late(hands, request):
    """A person on a phone, to whom each message of the desk comes so many milliseconds late."""
    with phone(hands, LATE.replace("MS", str(request.param))) as made:
        yield made


@pytest.fixture
def cut_off(hands):
    """A person on a phone whose network is gone without a word, as when the desk's computer sleeps."""
    with phone(hands, DEAD) as made:
        yield made


def reached(hands, selector, count=1):
    what = f"{selector} can't be touched where the window is"
    hands.until(REACHED, what=what, words=[selector, count])


def test_tonights_other_hours(late):
    late.open("tonight").tap("Another show").tap("Another One").tap("Other hours")
    late.sees("replaces First Try")
    reached(late, ".opened select", 2)
    reached(late, ".go:not(:disabled)")


def test_a_show_for_another_evening(late):
    late.open("calendar").tap("Thu 17").tap("Another show")
    late.tap("Another One").sees("replaces First Try")
    reached(late, ".show[aria-pressed=true]")
    reached(late, ".go:not(:disabled)")
    late.tap("Play it").sees("chosen")
    reached(late, ".choosing h2")


def test_who_goes_elsewhere_meanwhile_stays_there(late):
    late.open("tonight").tap("Another show").tap("Another One").tap("Other hours")
    late.tap("Tonight").sees("First Try from")
    late.tap("Another show").tap("Another One")
    reached(late, ".show[aria-pressed=true]")


def test_a_touch_that_nobody_hears_is_said_and_the_next_is_heard(cut_off):
    """Nothing was said of it, and nothing could be chosen until the page was loaded again."""
    cut_off.open("tonight").sees("First Try from")
    cut_off.js("window.lost = window.line")
    cut_off.tap("Dark").sees("Look whether it is done, and do it again if not.")
    cut_off.tap("Dark").sees("Dark tonight.")
    assert "Look whether" not in cut_off.text


def test_a_desk_that_is_there_but_doesnt_hear_is_called_again(cut_off):
    """A line may be dead though its computer is there, as where it has got another address."""
    cut_off.open("tonight").sees("First Try from")
    cut_off.js(
        "window.lost = window.line; window.there = true;"
        "const now = performance.now.bind(performance); performance.now = () => 20 * now();"
    )
    cut_off.tap("Dark").sees("Look whether it is done, and do it again if not.")


def test_a_desk_that_is_busy_is_waited_for(hands):
    """It reads a large house on a small computer, or looks for controllers: it is no line that broke."""
    with phone(hands, DEAD, LATE.replace("MS", "window.busy ? 3000 : 0")) as busy:
        busy.open("tonight").sees("First Try from")
        busy.js(
            "window.busy = true; window.seen = '';"
            "new MutationObserver(() => window.seen += document.body.innerText)"
            ".observe(document, { subtree: true, childList: true, characterData: true });"
        )
        busy.tap("Dark").sees("Dark tonight.")
        assert "Look whether" not in busy.js("return window.seen")
        assert "doesn't answer" not in busy.js("return window.seen")


def test_what_was_composed_on_a_dead_line_is_kept(cut_off):
    cut_off.open("compose", "show.toml")
    cut_off.js("window.lost = window.line")
    cut_off.tap("Palette: dusk").tap("candlelight")
    cut_off.saved(lambda d: d["cue"][0]["layer"][0]["palette"] == "candlelight")


def test_a_desk_that_doesnt_answer_a_new_line_either_is_tried_again(cut_off):
    """A line that is being made may wait for minutes, too."""
    cut_off.open("tonight").sees("First Try from")
    cut_off.js(
        "let silent = 2;"
        "window.WebSocket = new Proxy(WebSocket, { construct: (made, words) =>"
        " silent-- > 0 ? Object.assign(new EventTarget(), { close() {} }) : new made(...words) });"
        "window.lost = window.line"
    )
    cut_off.tap("Dark").sees("The desk doesn't answer.")
    cut_off.until("!document.querySelector('.notice')", 15)
    cut_off.tap("Dark").sees("Dark tonight.")
