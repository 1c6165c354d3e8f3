"""One browser for all journeys, and a desk and a house for those of a module."""

import pytest

from tests.chromium import chromium
from tests.desk.anew import settled
from tests.desk.browser import EVENING, Hands, desk_of, fresh, house_of

#: The house is drawn six times a second, not sixty: nobody looks, and it takes a quarter of a core.
CALM = """
const draw = window.requestAnimationFrame.bind(window);
window.requestAnimationFrame = step => setTimeout(() => draw(step), 150);
"""


@pytest.fixture(scope="session")
def driver():
    made = chromium()
    made.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": CALM})
    yield made
    made.quit()


@pytest.fixture(scope="module")
def place(tmp_path_factory, driver):
    folder = tmp_path_factory.mktemp("page") / "house"
    texts = house_of(folder)
    with desk_of(folder) as desk:
        desk.desk.hub.session.now = lambda: EVENING
        hands = Hands(driver, desk)
        driver.get(desk.address)
        yield hands, texts
        driver.get("about:blank")  # so that the desk needn't wait for it


def left(hands):
    """Have the page closed, so that no edit of before is still on its way."""
    hands.leave()
    hands.waited(lambda: not hands.desk.desk.hub.clients, "browsers are still there")


def at_a_house_as_it_was(hands, texts):
    fresh(hands.desk, texts)
    hands.driver.get_log("browser")
    yield hands
    severe = [e["message"] for e in hands.driver.get_log("browser") if e["level"] == "SEVERE"]
    assert not severe, severe


@pytest.fixture
def hands(place):
    """A person who loads the page, at a house as it was."""
    person, texts = place
    person.stays = False
    left(person)
    yield from at_a_house_as_it_was(person, texts)


@pytest.fixture
def visitor(place, request):
    """A person at a house as it was, who needn't load the page if the one before left it well."""
    person, texts = place
    person.stays = settled(person)
    if not person.stays:
        left(person)
    failed = request.session.testsfailed
    yield from at_a_house_as_it_was(person, texts)
    if request.session.testsfailed > failed:
        left(person)
