"""Shows laid on the invented house."""

import pytest

from lumenmap.jobs.project import Project, load
from tests.frames.shows import HOUSE


@pytest.fixture
def lay(tmp_path):
    """Lay the text of a show on the invented house."""

    def laid(show: str) -> Project:
        (tmp_path / "house.toml").write_text(HOUSE)
        (tmp_path / "show.toml").write_text(show)
        return load(tmp_path / "show.toml")

    return laid
