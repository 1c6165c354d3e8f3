import csv
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def table():
    """Read a published table: rows as dictionaries, its source line skipped."""

    def read(name):
        path = Path(__file__).resolve().parents[1] / "tables" / f"{name}.csv"
        lines = path.read_text().splitlines()
        assert lines[0].startswith("# ")
        return list(csv.DictReader(lines[1:]))

    return read
