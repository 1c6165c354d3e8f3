"""The examples in docstrings print what they say."""

import doctest
import importlib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
#: Modules with examples, found in their text: importing all the others would only take time.
MODULES = [
    ".".join(file.relative_to(ROOT).with_suffix("").parts)
    for top in ("lumenmap", "effects")
    for file in sorted((ROOT / top).rglob("*.py"))
    if ">>> " in file.read_text("utf-8")
]


@pytest.mark.parametrize("module", MODULES)
def test_examples_print_what_they_say(module):
    got = doctest.testmod(importlib.import_module(module))
    assert got.attempted
    assert not got.failed, "run python -m doctest -v on the file"


def test_there_are_examples():
    assert len(MODULES) > 8
