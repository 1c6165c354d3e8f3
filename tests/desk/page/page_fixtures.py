"""One browser, one desk and one house for the journeys of a module."""

import pytest

from tests.chromium import chromium
from tests.desk.browser import EVENING, Hands, desk_of, fresh, house_of


@pytest.fixture(scope="module", name="driver")
def a_driver():
    made = chromium()
    yield made
    made.quit()


@pytest.fixture(scope="module", name="place")
def a_place(tmp_path_factory, driver):
    folder = tmp_path_factory.mktemp("page") / "house"
    texts = house_of(folder)
    with desk_of(folder) as desk:
        desk.desk.hub.session.now = lambda: EVENING
        hands = Hands(driver, desk)
        driver.get(desk.address)
        yield hands, texts
        driver.get("about:blank")  # so that the desk needn't wait for it


@pytest.fixture(name="hands")
def some_hands(place):
    """A person, at a house as it was."""
    hands, texts = place
    hands.driver.get("about:blank")  # so that no edit of before is still on its way
    hands.waited(lambda: not hands.desk.desk.hub.clients, "browsers are still there")
    fresh(hands.desk, texts)
    hands.driver.get_log("browser")
    yield hands
    severe = [e["message"] for e in hands.driver.get_log("browser") if e["level"] == "SEVERE"]
    assert not severe, severe
