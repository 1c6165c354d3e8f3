"""The list of mistakes follows the code: each can still be made."""

from tests.mutations.__main__ import ROOT
from tests.mutations.mutants import MUTANTS


def test_each_stands_in_its_file_once():
    stale = [m for m in MUTANTS if (ROOT / m.file).read_text("utf-8").count(m.old) != 1]
    assert not stale
    assert all((ROOT / m.folder).is_dir() for m in MUTANTS)
