"""Looking for controllers at the page."""

import pytest

from tests.desk.browser import LAPTOP, PHONE
from tests.desk.test_finding import a_street  # noqa: F401


@pytest.mark.parametrize("size", [LAPTOP, PHONE], ids=["laptop", "phone"])
def test_the_page_finds_them(visitor, street, size):
    visitor.open("compose", "show.toml", size)
    visitor.tap("Find controllers").sees("Only the network that you name is asked.")
    assert street == []
    visitor.write("Your home network", "192.168.7.0/24")
    visitor.tap("Look")
    visitor.sees("2 on 192.168.7.0/24 answered.")
    visitor.sees("<b>Eaves</b> at 192.168.7.41. To light the house by it, start the desk with --to")
    visitor.write("Your home network", "8.8.8.8")
    visitor.tap("Look")
    visitor.sees("isn't a home network")
