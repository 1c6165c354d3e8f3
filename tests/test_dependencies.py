"""What is declared is imported, and what is imported is declared."""

import ast
import re
import sys
import tomllib
from functools import cache
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
#: Extras that the package itself uses; the others are for tests and for working on it.
EXTRAS = ("video", "almanac", "sheets", "sound", "camera", "cluster", "desk", "hub")
#: Imported under their own names, though they come with another distribution.
PARTS = {"pydantic-core", "annotated-types"}  # pydantic's
#: Declared, though no file imports them: each is loaded by another library.
INDIRECT = {
    "imageio-ffmpeg": "imageio.plugins.ffmpeg",
    "tzdata": "zoneinfo",
    "websockets": "uvicorn.protocols.websockets.websockets_sansio_impl",
}


def plain(name):
    """A name of a distribution as PEP 503 normalises it, without a version."""
    return re.sub(r"[-_.]+", "-", re.match(r"[\w.-]+", name)[0]).lower()


@cache
def distributions_imported():
    found = set()
    for folder in ("lumenmap", "effects"):
        for path in (ROOT / folder).rglob("*.py"):
            for node in ast.walk(ast.parse(path.read_text("utf-8"))):
                if isinstance(node, ast.Import):
                    found |= {alias.name.split(".")[0] for alias in node.names}
                elif isinstance(node, ast.ImportFrom):
                    found.add(node.module.split(".")[0])
    ours = {"lumenmap", "lumenmap_effects"}
    known = packages_distributions()
    return {plain(known[m][0]) for m in found - ours - sys.stdlib_module_names}


def declared():
    extras = PROJECT["optional-dependencies"]
    lines = [*PROJECT["dependencies"], *(line for extra in EXTRAS for line in extras[extra])]
    return {plain(line) for line in lines}


def test_every_dependency_is_imported():
    assert declared() - distributions_imported() - INDIRECT.keys() == set()


def test_every_import_is_declared():
    assert distributions_imported() - declared() - PARTS == set()


@pytest.mark.parametrize(("name", "by"), INDIRECT.items())
def test_the_others_are_loaded_by_another_library(name, by):
    import importlib.util

    source = Path(importlib.util.find_spec(by).origin)
    files = [source] if source.name != "__init__.py" else source.parent.glob("*.py")
    assert any(name.replace("-", "_") in f.read_text("utf-8") for f in files)
