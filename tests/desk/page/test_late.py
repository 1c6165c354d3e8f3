"""A desk whose answers come late: what a touch asked for is in the window all the same."""

import pytest

from tests.desk.browser import PHONE

#: Every message of the desk comes a while later, in its order.
LATE = """
const listen = WebSocket.prototype.addEventListener;
WebSocket.prototype.addEventListener = function (kind, take) {
  listen.call(this, kind, kind === "message" ? event => setTimeout(() => take(event), MS) : take);
};
"""
#: How many of some elements could be touched in their middle, where the window is scrolled to now.
REACHED = """
[...document.querySelectorAll(words[0])].filter(e => {
  const r = e.getBoundingClientRect();
  return e.contains(document.elementFromPoint(r.x + r.width / 2, r.y + r.height / 2));
}).length === words[1]
"""


@pytest.fixture(params=[0, 60, 700], ids="{} ms".format)
def late(hands, request):
    """A person on a phone, to whom each message of the desk comes so many milliseconds late."""
    word = "Page.addScriptToEvaluateOnNewDocument"
    script = {"source": LATE.replace("MS", str(request.param))}
    added = hands.driver.execute_cdp_cmd(word, script)
    hands.size(PHONE)
    yield hands
    hands.driver.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)
    hands.leave()


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
