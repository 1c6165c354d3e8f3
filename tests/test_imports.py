"""The house plan, held: imports go one way, and the package list matches the disk."""

import ast
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]

#: stage -> the stages it may import. `pipeline` and its neighbours and the package may import all but the CLI.
PLAN = {
    "core": set(),
    "colour": {"core"},
    "motion": {"core"},
    "parts": {"core"},
    "house": {"core", "parts"},
    "pixels": {"core", "parts", "house"},
    "show": {"core", "colour", "motion"},
    "frames": {"core", "parts", "house", "pixels", "show", "colour", "motion"},
    "codes": {"core", "colour", "parts"},
    "power": {"core", "parts", "house", "pixels", "codes", "colour"},
    "pictures": {"core", "parts", "house", "pixels", "codes", "colour", "power"},
    "controller": {"core", "parts", "house", "pixels", "codes"},
    "sheets": {"core", "parts", "house", "pixels", "power"},
    "almanac": {"core"},
    "starter": {"core"},
}
TOP = set(PLAN) | {"pipeline", "loaded", "showing", "good_shows", "live", "nightly", "trial"}


def imported(path: Path) -> set[str]:
    """All modules a file names in imports, those inside functions too."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            found |= {node.module} | {f"{node.module}.{a.name}" for a in node.names}
    return found


def stages(path: Path) -> set[str]:
    return {m.split(".")[1] for m in imported(path) if m.startswith("lumenmap.")}


@pytest.mark.parametrize("stage", sorted(PLAN))
def test_stage_imports_only_what_the_plan_allows(stage):
    for path in (ROOT / "lumenmap" / stage).rglob("*.py"):
        extra = (stages(path) & (TOP | {"cli"})) - PLAN[stage] - {stage}
        assert not extra, f"{path.relative_to(ROOT)} imports {sorted(extra)}"


def test_plan_names_every_folder():
    folders = {p.name for p in (ROOT / "lumenmap").iterdir() if (p / "__init__.py").exists()}
    assert folders == set(PLAN) | {"cli"}


def test_effects_import_only_the_vocabulary_and_never_each_other():
    for path in (ROOT / "effects").glob("*.py"):
        assert stages(path) <= {"colour", "motion"}, path
        assert not any(m.startswith("lumenmap_effects") for m in imported(path)), path


def test_nothing_imports_the_built_in_effects_by_name():
    for path in (ROOT / "lumenmap").rglob("*.py"):
        assert not any(m.startswith("lumenmap_effects") for m in imported(path)), path


def test_nothing_below_the_command_line_imports_it():
    for path in (ROOT / "lumenmap").rglob("*.py"):
        if path.parent.name != "cli":
            assert "cli" not in stages(path) or path.name == "__main__.py", path


def test_sockets_are_opened_in_the_sender_only():
    for path in (ROOT / "lumenmap").rglob("*.py"):
        if "socket" in imported(path):
            assert path.parent.name == "controller", path


def test_package_list_matches_the_disk():
    listed = set(
        tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["packages"]
    )
    here = {
        ".".join(p.parent.relative_to(ROOT).parts) for p in (ROOT / "lumenmap").rglob("__init__.py")
    }
    assert listed == here | {"lumenmap_effects"}


def test_top_level_holds_only_what_the_plan_names():
    import subprocess

    names = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if names.returncode:
        pytest.skip("not a git checkout, so there is no list of tracked files")
    top = {n.split("/")[0] for n in names.stdout.splitlines()}
    plan = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "LICENSE",
        "lumenmap",
        "effects",
        "tests",
        "examples",
    }
    assert {n for n in top if not n.startswith(".")} <= plan
