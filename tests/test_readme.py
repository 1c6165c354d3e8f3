"""What the README and DEVELOPERS.md say is so."""

import re
import runpy
import shutil
import subprocess
from pathlib import Path

import pytest
import typer

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()


def test_quick_start_is_two_one_line_commands_that_set_up_for_themselves():
    part = README.split("## Quick start")[1].split("\n## ")[0]
    blocks = re.findall(r"```sh\n(.*?)```", part, flags=re.S)
    assert len(blocks) == 2 and part.count("```") == 4
    for block in blocks:
        assert len(block.strip().splitlines()) == 1
        assert block.startswith("python3 -m venv .venv && ")
    assert "lumenmap make examples/" in blocks[0]
    assert "pytest" in blocks[1]


def test_files_and_pictures_that_it_names_are_there():
    for name in re.findall(r"(?:\]\(|src=\")([^)#\"]+)", README):
        if "://" not in name:
            assert (ROOT / name).exists(), name
    for name in re.findall(r"examples/[\w./-]+", README):
        assert (ROOT / name.rstrip(".")).exists(), name


def test_the_readme_counts_the_houses_that_are_there():
    word = re.search(r"see (\w+) finished houses", README)[1]
    names = ["five", "six", "seven", "eight", "nine", "ten"]
    assert names.index(word) + 5 == len(list(ROOT.glob("examples/*/house.toml")))


def test_the_example_in_python_is_the_one_shown_and_runs(tmp_path, monkeypatch, capsys):
    text = (ROOT / "examples" / "ten_lines.py").read_text()
    assert text.strip() in README
    assert len([x for x in text.splitlines() if x.strip()]) <= 10
    shutil.copytree(ROOT / "examples", tmp_path / "examples")
    monkeypatch.chdir(tmp_path)
    runpy.run_path("examples/ten_lines.py")
    assert "A of" in capsys.readouterr().out
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == [
        ".lumenmap-files.json",
        "account.txt",
        "frames.json",
        "frames.rgb",
    ]


@pytest.mark.parametrize("command", sorted(set(re.findall(r"(?:`|bin/)lumenmap ([a-z]+)", README))))
def test_every_command_it_names_exists(command):
    from lumenmap.cli import COMMANDS

    words = {c.rstrip("_") for c in COMMANDS}
    assert command in words


def options_named():
    """Each command with an option, as either page has them: ``lumenmap run --to ADDRESS``."""
    about_us = DEVELOPERS.split("## Versions")[1]  # what is before it names programs for tests
    for code in re.findall(r"`([^`]+)`", re.sub(r"(?s)```.*?```", "", README + about_us)):
        words = code.removeprefix("lumenmap ").split()
        yield from ((words[0], w) for w in words if re.fullmatch(r"--[a-z][a-z-]*", w))


@pytest.mark.parametrize(("command", "option"), sorted(set(options_named())))
def test_every_option_they_name_exists(command, option):
    """Of an option by itself, some command has it."""
    from lumenmap.cli import COMMANDS, app, register

    register(COMMANDS)
    known, commands = {"--help", "--debug"}, typer.main.get_command(app).commands
    for name, found in commands.items():
        if name == command or command not in commands:
            for one in getattr(found, "commands", {"": found}).values():
                known |= {o for p in one.params for o in (*p.opts, *p.secondary_opts)}
    assert option in known


def test_every_program_for_tests_exists():
    named = re.findall(r"python -m (tests[.\w]*)", DEVELOPERS)
    assert len(named) > 10
    for name in named:
        place = ROOT.joinpath(*name.split("."))
        assert place.with_suffix(".py").exists() or (place / "__main__.py").exists(), name


def test_formats_have_the_versions_that_the_table_says():
    from lumenmap.camera.stage import kept
    from lumenmap.controller.board import table
    from lumenmap.controller.files import frames
    from lumenmap.controller.flash import image

    rows = dict(re.findall(r"\| .*\((?:`lumenmap-)?`?\.?(\w+).*\) \| (\d+) \|", DEVELOPERS))
    known = {"frames": frames, "lmfi": image, "lmyt": table, "npz": kept}
    assert {name: int(rows[name]) for name in known} == {n: m.VERSION for n, m in known.items()}
    for place in re.findall(r"\| \d+ \| `(lumenmap/[\w./]+)` \|", DEVELOPERS):
        assert (ROOT / place).exists(), place


def test_every_room_stands_in_the_table_of_rooms():
    """Those of the plan of imports, but for the commands'; some rows leave out the room above."""
    from tests.test_imports import PLAN

    table = DEVELOPERS.split("| room | holds |")[1].split("\n## ")[0]
    named = set(
        re.findall(r"`([\w/]+?)(?:\.py)?`", "".join(re.findall(r"(?m)^\|([^|]+)\|", table)))
    )
    last = {room.rsplit("/", 1)[-1] for room in named}
    rooms = {room for room in PLAN if not room.startswith("cli.")}
    assert [
        r for r in rooms if r.replace(".", "/") not in named and r.split(".")[-1] not in last
    ] == []


def test_ignore_file_keeps_what_the_quick_start_makes_out_of_git():
    got = subprocess.run(
        ["git", "check-ignore", "out/preview.gif", ".venv/bin/python"],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    if got.returncode == 128:
        pytest.skip("not a git checkout")
    assert len(got.stdout.split()) == 2


def test_the_mass_it_shows_has_the_edges_it_names(tmp_path, lumenmap):
    from lumenmap.starter.start import start

    start(tmp_path)
    mass = re.search(r"```toml\n(.*?)```", README, re.S)[1].replace("\n   ", "\n")
    house = (tmp_path / "house.toml").read_text()
    rest = house[house.index("[[mass.window]]") :]
    path = 'path = ["main/eave-front", { jumper = "60 ft" }, "main/rake-left-front", { jumper = "60 ft" }, "main/ridge"]'
    text = house[: house.index("[[mass]]")] + mass + re.sub(r"path = .*", path, rest)
    (tmp_path / "house.toml").write_text(text)
    done = lumenmap("map", tmp_path / "house.toml")
    assert re.findall(r"main/[\w-]+", done.out) == re.findall(r"`(main/[\w-]+)`", README), done


def test_every_option_it_shows_exists(lumenmap):
    for command, option in re.findall(r"`lumenmap ([a-z]+)[^`]*? (--[a-z]+)", README):
        assert option in lumenmap(command, "--help").out, (command, option)
