"""An almanac for these tests."""

import pytest

from lumenmap.almanac.load import load_almanac
from tests.jobs.evening.night_world import BOOK


@pytest.fixture
def book(tmp_path):
    file = tmp_path / "almanac.toml"
    file.write_text(BOOK)
    return load_almanac(file)
