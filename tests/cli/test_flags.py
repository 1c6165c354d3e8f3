"""Errors of the library, in the words of the command that was called."""

import typer

from lumenmap.cli.shared.flags import command_named, flags, in_flags
from lumenmap.core.errors import CheckError, InputError

app = typer.Typer()
inner = typer.Typer()
app.add_typer(inner, name="inner")


@app.callback()
def _top() -> None:
    pass


@app.command()
def draw(
    show: str,
    width: int = 0,
    max_mb: float = 0,
    number: int = typer.Option(0, "--count", "-n"),
    as_format: str = typer.Option("", "--format"),
) -> None:
    pass


@inner.command()
def check(house: str = typer.Argument(metavar="HOUSE"), line: str = "") -> None:
    pass


TOP = typer.main.get_command(app)
DRAW = command_named(TOP, ["draw", "show.toml", "--width", "3"])


def test_the_command_is_found_by_the_words_typed():
    assert command_named(TOP, ["inner", "check", "x"]).name == "check"
    assert command_named(TOP, ["inner"]).name == "inner"
    assert command_named(TOP, []) is TOP
    assert command_named(TOP, ["--version"]) is TOP
    assert command_named(TOP, ["drwa"]) is TOP
    assert command_named(TOP, ["drwa", "draw"]) is TOP


def test_parameters_have_their_flags_and_arguments_their_names():
    names = flags(DRAW)
    assert names["show"] == "SHOW" and names["width"] == "--width"
    assert names["max_mb"] == "--max-mb"
    assert names["number"] == names["count"] == "--count", "by the parameter or by the flag"
    assert names["format"] == names["as_format"] == "--format"
    assert flags(command_named(TOP, ["inner", "check"]))["house"] == "HOUSE"


def test_a_key_that_is_a_parameter_becomes_its_flag():
    assert in_flags(InputError("is 0; expected 64", key="width"), DRAW) == (
        "--width: is 0; expected 64"
    )
    assert in_flags(InputError("no such show", key="show"), DRAW) == "SHOW: no such show"
    assert in_flags(InputError("is 0", key="height"), DRAW) == "height: is 0"


def test_a_key_of_a_file_stays():
    error = InputError("is 0", file="house.toml", key="width")
    assert in_flags(error, DRAW) == "house.toml: width: is 0"
    error = InputError("is 0", key='mass "main", width')
    assert in_flags(error, DRAW) == 'mass "main", width: is 0'


def test_parameters_inside_a_sentence():
    error = InputError("add `max_mb` or `height`; not max_mb", file="a.toml", excerpt="1 | `width`")
    assert in_flags(error, DRAW) == "a.toml: add --max-mb or `height`; not max_mb\n1 | `width`"
    assert in_flags(CheckError("see `width`"), DRAW) == "see --width"


def test_from_the_command_line(lumenmap, tmp_path):
    """Arguments, options and words inside sentences, as a person meets them."""
    new = tmp_path / "h"
    assert lumenmap("new", new).code == 0
    house, show = new / "house.toml", new / "show.toml"
    lumenmap("locate", house, "wakl").fails(2, '^QUESTION: no question "wakl"; did you mean "walk"')
    lumenmap("locate", house, "walk", "--brightness", "1").fails(2, "^--brightness: is 1; expected")
    lumenmap("locate", house, "walk", "--line", "x").fails(2, '^--line: no line "x"')
    lumenmap("stream", show, "--to", "1.2").fails(2, "^--to: .*isn't an address")
    lumenmap("export", show, "-o", tmp_path / "o", "-f", "npy", "--option", "x").fails(
        2, '^--option: is "x"; expected NAME=VALUE'
    )
    lumenmap("make", show, "-o", tmp_path / "o", "--workers", "0").fails(2, "^--workers: is 0")
