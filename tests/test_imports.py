"""The house plan, held: imports go one way, and the package list matches the disk."""

import ast
import re
import subprocess
import tomllib
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "lumenmap"

#: Room -> all the rooms that its files import, from the ground up. A room imports only rooms that
#: stand above it in this table, and the table names no import that the code doesn't make.
PLAN = {
    "core": "",
    "codes": "",
    "drawing": "core",
    "camera": "core",
    "colour.occasions": "",
    "colour": "core codes colour.occasions",
    "parts": "core codes colour",
    "pictures.inner": "",
    "pictures.encode": "core colour pictures.inner",
    "colour.making": "core colour",
    "core.folders": "core",
    "starter": "core core.folders",
    "core.toml": "core",
    "almanac": "core core.toml",
    "desk.wire": "core",
    "desk.files": "core core.toml desk.wire",
    "hub": "core core.toml almanac",
    "routes": "core core.toml",
    "motion": "core core.toml routes",
    "show.effects": "core core.toml motion",
    "solids": "",
    "house.masses": "core solids",
    "house": "core parts routes solids house.masses",
    "pixels": "core parts routes house.masses house",
    "power.circuit": "core parts house pixels",
    "power.limits": "core codes parts house pixels power.circuit",
    "controller.files": "core codes core.folders core.toml pixels",
    "controller.e131": "core codes pixels controller.files",
    "controller.flash": "core core.toml controller.files",
    "sheets.rails": "core drawing parts house pixels",
    "camera.blinks": "pixels",
    "camera.film": "core camera colour camera.blinks",
    "controller.artnet": "core pixels controller.e131",
    "controller.board": "core controller.files controller.flash",
    "controller.files.formats": (
        "core pixels controller.files controller.e131 controller.flash controller.board"
    ),
    "controller.ddp": "pixels controller.e131",
    "controller.serial": "core pixels controller.e131",
    "controller": "core pixels controller.e131 controller.artnet controller.ddp controller.serial",
    "house.hull": "solids house.masses house",
    "house.reading": "core colour parts core.toml routes solids house.masses house",
    "power.verdict": "core parts house power.circuit",
    "site": "colour parts house pixels power.circuit power.limits house.reading power.verdict",
    "power.account": (
        "core codes parts core.folders core.toml house pixels power.limits controller.files site"
    ),
    "power.report": (
        "core drawing parts house pixels power.circuit power.limits power.verdict site "
        "power.account"
    ),
    "pictures.scene": "core pictures.inner solids house pixels house.hull site",
    "pictures.light": "core pictures.inner solids site pictures.scene",
    "pictures.drawn": (
        "core colour parts pictures.inner core.folders power.limits site pictures.scene "
        "pictures.light"
    ),
    "pictures.charts": "core drawing colour pictures.drawn",
    "camera.lens": "core camera pictures.scene",
    "camera.evidence": "core pixels camera.film site pictures.scene camera.lens",
    "camera.faults": (
        "core pictures.encode house pixels camera.film site pictures.scene camera.lens "
        "camera.evidence"
    ),
    "camera.marks": (
        "core pictures.encode core.toml solids house house.reading site pictures.scene "
        "pictures.drawn camera.lens"
    ),
    "camera.stage": (
        "core camera colour pictures.inner camera.blinks camera.film site pictures.scene "
        "pictures.light pictures.drawn camera.lens"
    ),
    "power.feeding.groundwork": "core parts house power.circuit site",
    "power.feeding.kinds": "parts house site power.feeding.groundwork",
    "power.feeding": (
        "core drawing parts house power.circuit power.limits site power.report "
        "power.feeding.groundwork power.feeding.kinds"
    ),
    "sheets.wires": "core drawing parts house power.circuit site",
    "sheets.plans": (
        "core drawing parts routes house pixels sheets.rails house.hull site sheets.wires"
    ),
    "sheets": (
        "core drawing parts core.folders house pixels power.circuit sheets.rails power.verdict "
        "site power.report sheets.wires sheets.plans"
    ),
    "sound": "core core.toml motion",
    "show": "core colour core.toml routes motion show.effects sound",
    "frames": "core colour routes motion show.effects pixels site show",
    "pictures": (
        "core colour parts pictures.encode pixels site pictures.scene pictures.light "
        "pictures.drawn sound"
    ),
    "jobs": (
        "core codes colour parts core.folders core.toml almanac show.effects pixels power.limits "
        "controller.files controller.flash camera.blinks camera.film controller.board controller "
        "site power.account power.report pictures.scene pictures.drawn pictures.charts "
        "camera.evidence camera.faults camera.marks camera.stage power.feeding sound show frames "
        "pictures"
    ),
    "cli.files": "core core.toml show",
    "desk.describe": (
        "core colour parts core.toml desk.wire desk.files routes motion show.effects pixels site "
        "pictures.scene show jobs"
    ),
    "desk.light": (
        "core codes core.folders desk.wire power.limits controller.e131 controller site "
        "pictures.scene pictures.drawn frames pictures jobs desk.describe"
    ),
    "jobs.aloud": "core controller.e131 sound",
    "jobs.evening": (
        "core core.folders core.toml almanac hub controller.files controller.e131 controller "
        "power.verdict power.account show jobs jobs.aloud"
    ),
    "desk.evenings": "core core.toml almanac desk.wire desk.files jobs.evening",
    "desk": (
        "core colour colour.making core.toml desk.wire desk.files motion show.effects "
        "controller.artnet controller site show pictures jobs desk.describe desk.light "
        "desk.evenings"
    ),
    "cli.shared": (
        "core codes pixels power.limits controller.files controller.e131 controller power.account "
        "power.report jobs desk"
    ),
    "cli.camera": "core core.toml controller.files controller jobs cli.shared",
    "cli.evening": "core almanac hub controller.e131 controller jobs jobs.evening cli.shared",
    "reference": (
        "core parts almanac motion show.effects controller.files controller.flash house.reading "
        "camera.marks show"
    ),
    "cli": (
        "core drawing colour.making core.folders starter almanac show.effects pixels "
        "controller.files controller.e131 controller house.reading site power.account "
        "power.report pictures.scene power.feeding sheets.plans sheets sound show pictures jobs "
        "jobs.aloud desk cli.shared reference"
    ),
}
#: A folder holds at most so many files, its __init__.py among them.
MOST_FILES = 20


def name_of(file: Path) -> str:
    parts = file.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def imported(path: Path) -> frozenset[str]:
    """All modules a file names in imports, those inside functions too."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            found |= {node.module} | {f"{node.module}.{a.name}" for a in node.names}
    return frozenset(found)


def room_of(module: str) -> str | None:
    """The room of a module's dotted name, or None if it is no module of a room."""
    parts = module.split(".")[1:]
    for k in range(len(parts), 0, -1):
        if (room := ".".join(parts[:k])) in PLAN:
            return room
    return None


def rooms_imported(room: str) -> set[str]:
    folder = PACKAGE.joinpath(*room.split("."))
    files = folder.glob("*.py") if folder.is_dir() else [folder.with_suffix(".py")]
    names = {m for f in files for m in imported(f) if m.startswith("lumenmap.")}
    return {r for r in map(room_of, names) if r} - {room}


@pytest.mark.parametrize("room", PLAN)
def test_a_room_imports_just_what_the_plan_says(room):
    assert rooms_imported(room) == set(PLAN[room].split())


def test_imports_go_one_way():
    above = set()
    for room, allowed in PLAN.items():
        assert set(allowed.split()) <= above, room
        above.add(room)


def test_no_files_import_each_other_in_a_circle():
    files = {name_of(f): f for f in PACKAGE.rglob("*.py") if f.stem != "__init__"}
    uses = {name: imported(f) & files.keys() for name, f in files.items()}
    done = set()
    while free := {n for n in uses.keys() - done if not uses[n] - done}:
        done |= free
    assert uses.keys() == done, "these import each other in a circle, or a file that does"


def test_plan_names_every_room():
    rooms = {name_of(f).partition(".")[2] for f in PACKAGE.rglob("__init__.py")} - {"", "power"}
    loose = {f.stem for f in PACKAGE.glob("*.py")} - {"__init__", "__main__"}
    assert rooms | loose == set(PLAN)


@pytest.mark.parametrize("top", ["lumenmap", "effects", "tests"])
def test_no_folder_is_crowded(top):
    files = (f for f in (ROOT / top).rglob("*") if f.is_file() and "__pycache__" not in f.parts)
    for folder, count in Counter(f.parent for f in files).items():
        assert count <= MOST_FILES, f"{folder} holds {count} files"


def test_tests_mirror_the_rooms():
    """A folder of tests is a folder of the package, or of the effects; ``tables`` holds data."""
    rooms = {f.name for f in PACKAGE.iterdir()} | {"effects", "tables", "mutations"}
    folders = {f.name for f in (ROOT / "tests").iterdir() if f.is_dir()} - {"__pycache__"}
    assert folders <= rooms


def test_effects_import_only_the_vocabulary_and_never_each_other():
    for path in (ROOT / "effects").rglob("*.py"):
        names = {m for m in imported(path) if m.startswith("lumenmap.")}
        assert {room_of(m) for m in names} <= {"colour", "motion"}, path
        assert not any(m.startswith("lumenmap_effects") for m in imported(path)), path


def test_nothing_imports_the_built_in_effects_by_name():
    for path in PACKAGE.rglob("*.py"):
        assert not any(m.startswith("lumenmap_effects") for m in imported(path)), path


def test_the_recount_has_arithmetic_of_its_own():
    """The account takes limits and shares from the budgets, and adds up currents itself."""
    for path in (PACKAGE / "power" / "account").glob("*.py"):
        assert not any(m.endswith(("limits.limit", "limits.limiter")) for m in imported(path))
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Attribute):
                assert node.attr not in ("draw", "weigh", "idle"), f"{path.name}: {node.lineno}"


def test_sockets_are_opened_in_the_sender_only():
    """And in the files that speak to this machine's service manager, and ask who is there."""
    others = (
        PACKAGE / "core" / "service.py",
        PACKAGE / "controller" / "discovery.py",
        PACKAGE / "desk" / "listen.py",
    )
    for path in PACKAGE.rglob("*.py"):
        if "socket" in imported(path):
            assert path in others or path.parent.name == "e131", path


def test_package_list_matches_the_disk():
    listed = set(
        tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["packages"]
    )
    inits = [p for top in ("lumenmap", "effects") for p in (ROOT / top).rglob("__init__.py")]
    assert listed == {re.sub(r"^effects\b", "lumenmap_effects", name_of(p)) for p in inits}


def tracked():
    names = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if names.returncode:
        pytest.skip("not a git checkout, so there is no list of tracked files")
    return names.stdout.splitlines()


def test_nothing_that_was_compiled_is_tracked():
    """Else it would be in the source distribution, for a machine that isn't the user's."""
    assert not [n for n in tracked() if n.endswith((".so", ".pyd", ".dll", ".dylib", ".o"))]


def test_top_level_holds_only_what_the_plan_names():
    top = {n.split("/")[0] for n in tracked()}
    plan = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE"}
    plan |= {"lumenmap", "effects", "tests", "examples"}
    assert {n for n in top if not n.startswith(".")} <= plan
