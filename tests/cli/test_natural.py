"""What people type first is answered with what it is called here."""

import re

import pytest

from lumenmap.cli import COMMANDS, _built, register
from lumenmap.cli.shared.natural import _COMMANDS, _LEFT_OVER, _OPTIONS


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("map x -o m.png", "No such option: -o; did you mean --picture FILE?"),
        ("map x --svg", "--svg; did you mean --picture FILE?"),
        ("year x -o y.png", "-o; did you mean --picture FILE or --ics FILE?"),
        ("preview x --duration 3", "--duration; did you mean --seconds?"),
        ("preview x --night", "--night; did you mean --time night?"),
        ("power x -v", "-v; did you mean --all?"),
        ("stream x --ip 192.0.2.1", "--ip; did you mean --to ADDRESS?"),
        ("palette new --from p.jpg", "--from; did you mean --photo FILE?"),
        ("palette list --output p.png", "--output; did you mean --out FILE?"),
        ("map x --piture m.png", "--piture (Possible options: --picture)"),  # by its letters
        ("map x --nonsense", "No such option: --nonsense\n"),
        ("tonight x 2026-12-24", "(2026-12-24); did you mean --on 2026-12-24?"),
        ("year x 2027", "(2027); did you mean --year 2027?"),
        ("locate x pixel 5", "(5); did you mean --number 5?"),
        ("map x y", "unexpected extra argument(s) (y)\n"),
        ("sheets x", "Missing option '--out' / '-o'. Folder to write to."),
        ("sheets", "Missing argument 'HOUSE'. The house file, or its folder."),
        ("locate x", "order: which colour comes first?\n"),
        ("play x", "No such command 'play'; did you mean stream or run?"),
        ("Web", "No such command 'Web'; did you mean desk?"),
        ("version", "No such command 'version'; did you mean --version?"),
        ("nonsense", "No such command 'nonsense'.\n"),
        ("schema houses", "Invalid value for 'file': 'houses' is not one of"),
        (
            "export examples/fern-lane/porch-light.toml -o y -f CSV",
            'no format "CSV"; did you mean "csv"?',
        ),
    ],
)
def test_a_natural_word_is_answered_with_ours(words, says, lumenmap):
    done = lumenmap(*words.split())
    assert done.code == 2 and says in done.err


def test_h_is_help_and_a_paper_may_be_in_capitals(lumenmap, tmp_path):
    assert "Map every pixel of a house" in lumenmap("map", "-h").out
    lumenmap("sheets", tmp_path / "x", "-o", tmp_path, "--paper", "A4").fails(2, "no such file")


def test_the_tables_name_only_what_there_is():
    """An option of ours that is renamed leaves no hint behind; a hint isn't an option itself."""
    register(COMMANDS)
    top = _built()
    inner = [*top.commands.values(), *top.commands["palette"].commands.values()]
    options = {o for c in [top, *inner] for p in c.params for o in (*p.opts, *p.secondary_opts)}
    named = {name for _, names in _OPTIONS for name in names.split()} | set(_LEFT_OVER.values())
    assert named <= options
    commands = {name for _, names in _COMMANDS for name in names.split()}
    assert commands <= {*top.commands, "--version"}
    assert not {w for words, _ in _COMMANDS for w in words.split()} & set(top.commands)
    assert all(re.fullmatch("--?[a-z0-9-]+", w) for words, _ in _OPTIONS for w in words.split())
