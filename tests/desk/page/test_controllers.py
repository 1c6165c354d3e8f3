"""Looking for controllers at the page."""

import pytest

from tests.desk.browser import LAPTOP, PHONE
from tests.desk.test_finding import a_street  # noqa: F401


@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_the_page_finds_them(hands, street, size):
    hands.open("compose", "show.toml", size)
    hands.tap("Find controllers").sees("Only the network that you name is asked.")
    assert street == []
    hands.write("Your home network", "192.168.7.0/24")
    hands.tap("Look")
    hands.sees("2 on 192.168.7.0/24 answered.")
    hands.sees("<b>Eaves</b> at 192.168.7.41. To light the house by it, start the desk with --to")
    hands.write("Your home network", "8.8.8.8")
    hands.tap("Look")
    hands.sees("isn't a home network")
