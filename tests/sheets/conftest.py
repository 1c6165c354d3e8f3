"""The small house for these tests, and the invented one with every kind of wire."""

from functools import cache

import pytest

from lumenmap.house.reading.load import load_house
from lumenmap.sheets.plans.mapping import mapping
from lumenmap.sheets.write import write_sheets
from lumenmap.site import Site
from tests.sheets.wired import WIRED
from tests.small_house import edited, load  # noqa: F401 - load is a fixture


@pytest.fixture
def site(tmp_path):
    """The invented house, with text replaced."""

    def made(*edits, add=""):
        file = tmp_path / "house.toml"
        file.write_text(edited(WIRED, edits) + add)
        return Site(load_house(file))

    return made


@pytest.fixture(scope="session")
def sheets(tmp_path_factory):
    """The sheets of the invented house in a folder."""
    folder = tmp_path_factory.mktemp("barn")
    (folder / "house.toml").write_text(WIRED)
    write_sheets(folder / "house.toml", folder / "out")
    return folder / "out"


@pytest.fixture(scope="session")
def written_once(tmp_path_factory, examples):
    """Write an example's sheets: (folder, report). They are written once; tests only read them."""

    @cache
    def written(house):
        folder = tmp_path_factory.mktemp(house) / "sheets"
        return folder, write_sheets(examples / house / "house.toml", folder)

    return written


@pytest.fixture(scope="session", params=["alder-cottage", "marlow-bend", "tannery-row"])
def written(request, written_once, examples):
    """An example's sheets in a folder."""
    folder, report = written_once(request.param)
    return mapping(examples / request.param / "house.toml"), folder, report
