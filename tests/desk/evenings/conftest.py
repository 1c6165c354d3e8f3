"""People who choose tonight, or other evenings."""

import pytest

from tests.desk.evenings.person import Days, Night


@pytest.fixture
def night(house):
    return Night(house)


@pytest.fixture
def days(house):
    return Days(house)
