from pathlib import Path

import pytest

from lumenmap.almanac.load import load_almanac

HEAD = """
[almanac]
place = { latitude = 40.71, longitude = -74.01, timezone = "America/New_York" }
country = "US"
"""


@pytest.fixture
def almanac(tmp_path):
    """Make an almanac of text that follows a head with a place in New York."""

    def make(text, head=HEAD):
        file = Path(tmp_path) / "almanac.toml"
        file.write_text(head + text)
        return load_almanac(file)

    return make
