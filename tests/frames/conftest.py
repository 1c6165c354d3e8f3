"""Shows laid on the invented house."""

import pytest

from lumenmap.jobs import pipeline
from tests.frames.shows import HOUSE


@pytest.fixture
def lay(tmp_path):
    """Lay the text of a show on the invented house."""

    def laid(show: str) -> pipeline.Loaded:
        (tmp_path / "house.toml").write_text(HOUSE)
        (tmp_path / "show.toml").write_text(show)
        return pipeline.load(tmp_path / "show.toml")

    return laid
