"""What may do harm, or isn't so on the house, is said before a family chooses it."""

import pytest

from tests.desk.browser import PHONE
from tests.desk.test_house_light import FLASHING

WONT = "“Strobe” flashes fast, so the house won't play it as it is."
ALLOWED = FLASHING.replace("[show]", '[show]\nflashing = "a party; everybody was asked"', 1)


@pytest.fixture
def party(visitor):
    """A person on a phone, in a house that has a show which flashes."""
    path = visitor.desk.folder / "strobe.toml"

    def there(text):
        path.write_text(text.replace("[show]", '[show]\nname = "Strobe"', 1), "utf-8")
        shows = visitor.desk.desk.hub.session.folder
        visitor.waited(lambda: "strobe.toml" in shows.named("show"))
        visitor.open("tonight", size=PHONE).sees("First Try from")
        return visitor

    yield there
    path.unlink()


def test_a_show_that_the_house_wont_play_says_so_before_it_is_chosen(party):
    """The page said when it plays; lumenmap run refuses it, and the house showed something else."""
    hands = party(FLASHING)
    hands.tap("Another show").tap("Strobe").sees(WONT)
    hands.sees("This show flashes fast.")
    hands.tap("Calendar").tap("Sun 13").tap("Another show", root=".choosing")
    hands.tap("Strobe", root=".choosing").sees(WONT)
    hands.tap("Tonight").tap("Another show").tap("Strobe").tap("Play it tonight")
    hands.sees(f"{WONT} Choose another show.")
    hands.tap("Undo: another show").sees("First Try from")
    assert WONT not in hands.text


def test_a_show_that_may_flash_warns_by_its_picture(party):
    """Its file says why: run plays it, and the picture stays dark until somebody agrees."""
    hands = party(ALLOWED)
    hands.tap("Another show").tap("Strobe").sees("This show flashes fast.")
    assert WONT not in hands.text


def test_a_dark_evening_doesnt_warn_of_a_show_that_nobody_chose(party):
    """The first show of the folder is at hand when nothing plays; the picture was about it."""
    hands = party(FLASHING)
    for name in ("show.toml", "other.toml"):  # so that the first one is the one that flashes
        (hands.desk.folder / name).rename(hands.desk.folder / f"{name}.aside")
    try:
        hands.sees("can't play: its file is missing.")
        hands.sees("This show flashes fast.")
        hands.tap("Dark").sees("Dark tonight.")
        hands.until("!document.querySelector('.warning')")
    finally:
        for name in ("show.toml", "other.toml"):
            (hands.desk.folder / f"{name}.aside").rename(hands.desk.folder / name)
