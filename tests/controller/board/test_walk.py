"""What the README and BOARD.md tell a newcomer, done as it stands there."""

import re
import shutil
import subprocess
import sys
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

from tests.controller.board.conftest import DECODER, INCLUDE, PLAYER, SOURCES, compile_c

ROOT = Path(__file__).parents[3]
TEXT = PLAYER.parent / "text"


def test_five_commands_of_the_readme_end_in_a_running_simulator(tmp_path):
    """All but the first, which installs: the tests' own environment stands in for it."""
    part = (ROOT / "README.md").read_text().split("## On the board")[1].split("\n## ")[0]
    commands = re.search(r"```sh\n(.*?)```", part, re.S)[1].strip().splitlines()
    assert len(commands) == 5 and "pip install" in commands[0]
    commands[4] += " --seconds 2"
    (tmp_path / ".venv" / "bin").mkdir(parents=True)
    (tmp_path / ".venv" / "bin" / "lumenmap").write_text(
        f'#!/bin/sh\nexec {sys.executable} -m lumenmap "$@"\n'
    )
    (tmp_path / ".venv" / "bin" / "lumenmap").chmod(0o755)
    for command in commands[1:]:
        got = subprocess.run(
            command, shell=True, cwd=tmp_path, capture_output=True, text=True, timeout=120
        )
        assert got.returncode == 0, got.stdout + got.stderr
    shown = re.search(r"(\d+) frames shown, (\d+) left out", got.stderr)
    assert shown and int(shown[1]) > 20, got.stderr


def test_simulator_draws_the_lines_in_colour(tmp_path, lumenmap, examples):
    script = shutil.which("script")
    if script is None:
        pytest.skip("there is no `script` to make a terminal")
    out = tmp_path / "board"
    show = examples / "kelder-studio" / "lantern-walk.toml"
    lumenmap("export", show, "--format", "board", "-o", out)
    subprocess.run(["make", "-s", "-C", out], check=True)
    command = [script, "-qec", f"{out}/simulator {out} --seconds 1", tmp_path / "log"]
    seen = subprocess.run(command, capture_output=True, timeout=30).stdout.decode()
    cells = re.findall(r"\x1b\[48;2;(\d+);(\d+);(\d+)m ", seen)
    assert len(cells) >= 100 and len(set(cells)) > 10
    reds, _, blues = (sum(int(c[k]) for c in cells) for k in range(3))
    assert reds > 2 * blues, (
        "lanterns are warm: green comes first on this wire, red is drawn as red"
    )


def test_board_md_names_every_file_there_is():
    text = (TEXT / "BOARD.md").read_text()
    linked = set(re.findall(r"\]\((\w+\.md)\)", text))
    assert linked == {p.name for p in [*TEXT.glob("*.md"), *DECODER.glob("*.md")]} - {"BOARD.md"}
    for source in PLAYER.glob("*.[ch]"):
        assert f"{source.stem}." in text or "lumenmap_" in source.name, source.name


def test_flashes_are_those_of_the_header_and_the_page():
    header = (PLAYER / "evening.h").read_text()
    assert "1 playing, 2 live, 3 dark" in header
    rows = re.findall(r"^\| (\d) \| (.*?) \|", (TEXT / "BOARD.md").read_text(), re.M)
    assert [int(n) for n, _ in rows] == list(range(1, 8))
    words = ["plays", "live", "dark", "time isn't known", "no good image", "can't be read", "over"]
    assert all(w in told for (_, told), w in zip(rows, words, strict=True))


def test_headers_are_c_plus_plus_too(tmp_path):
    """All of them at once, with every warning, and a player that plays from C++."""
    if (cxx := shutil.which("c++") or shutil.which("g++")) is None:
        pytest.skip("there is no C++ compiler")
    headers = sorted(p.name for p in PLAYER.glob("*.h"))
    (tmp_path / "main.cpp").write_text(
        "".join(f'#include "{h}"\n' for h in headers)
        + "static lmp player; static lml live; static lms serial;\n"
        "int main() { lml_init(&live, &player, 0); lms_init(&serial, &player);"
        ' return lmp_step(&player) + (lmw_find("apa102") == nullptr); }\n'
    )
    flags = ["-Wall", "-Wextra", "-Wconversion", "-Wshadow", "-pedantic", "-Werror"]
    made = tmp_path / "main.o"
    subprocess.run([cxx, *flags, *INCLUDE, "-c", tmp_path / "main.cpp", "-o", made], check=True)
    symbols = subprocess.run(["nm", made], capture_output=True, text=True, check=True).stdout
    assert "U lmp_step" in symbols and "U lmw_find" in symbols, "C's names"


def test_example_of_the_player_is_c_that_compiles(tmp_path):
    """The lines at the top of player.h, with four functions round them."""
    text = (PLAYER / "player.h").read_text()
    example = text.split("static lmp player;")[1].split("\n *\n")[0].replace(" *  ", "")
    (tmp_path / "main.c").write_text(
        '#include "player.h"\n'
        "static int r(void *u, uint32_t i, uint32_t o, void *t, uint32_t n)"
        "{ (void)u; (void)i; (void)o; (void)t; (void)n; return 1; }\n"
        "static void s(void *u, unsigned l, const uint8_t *c, uint32_t n)"
        "{ (void)u; (void)l; (void)c; (void)n; }\n"
        "static uint32_t m(void *u) { (void)u; return 0; }\n"
        "static void y(void *u) { (void)u; }\n"
        "static const lmp_board board = { r, s, m, y, 0 };\n"
        f"int main(void) {{ static lmp player; {example} }}\n"
    )
    compile_c(tmp_path / "a.o", "-c", tmp_path / "main.c")


def test_sources_call_one_way(tmp_path):
    """No two files of the player or decoder call each other, by the linker's own symbols."""
    defines, calls = {}, {}
    for source in SOURCES:
        made = tmp_path / f"{source.stem}.o"
        compile_c(made, "-c", source)
        symbols = subprocess.run(["nm", made], capture_output=True, text=True, check=True).stdout
        rows = [line.split()[-2:] for line in symbols.splitlines()]
        defines |= {name: source.name for kind, name in rows if kind in "TDBR"}
        calls[source.name] = {name for kind, name in rows if kind == "U"}
    graph = {file: {defines[n] for n in names if n in defines} for file, names in calls.items()}
    assert "state.c" in graph["player.c"]
    tuple(TopologicalSorter(graph).static_order())  # raises CycleError
