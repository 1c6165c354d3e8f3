"""The package as Python users meet it: names, one-line reprs, and a show composed without a file."""

import importlib
import os
import runpy
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest

import lumenmap
from lumenmap.core.errors import InputError

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"


@pytest.fixture
def site(examples):
    return lumenmap.Site.read(examples / "alder-cottage" / "house.toml")


def test_dir_lists_what_is_public_and_each_name_loads():
    assert dir(lumenmap) == sorted(lumenmap.__all__)
    for name in lumenmap.__all__:
        assert getattr(lumenmap, name) is not None
    assert lumenmap.__version__ == metadata.version("lumenmap")
    with pytest.raises(AttributeError, match="has no attribute 'nothing'"):
        _ = lumenmap.nothing


def test_importing_the_package_loads_no_numpy():
    code = "import sys, lumenmap; dir(lumenmap); print('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stdout == "False\n", done.stderr


def test_what_a_user_holds_prints_as_one_line(examples):
    project = lumenmap.load(examples / "alder-cottage" / "first-frost.toml")
    site = project.site
    light = next(lumenmap.render(project))
    held = [project, project.show, project.plan, site, site.house, site.pixels, site.wiring]
    held += [site.budgets, lumenmap.limit(light, site.budgets)]
    for thing in held:
        assert len(repr(thing)) < 120 and "\n" not in repr(thing), type(thing)


def test_a_composed_show_is_the_same_as_its_file(site, tmp_path):
    text = """
[show]
name = "Same"
unit = "ft"
length = "3 s"
seed = 7
[palette.two]
stops = ["gold", "#123456"]
[[cue]]
name = "one"
fade = "500 ms"
[[cue.layer]]
effect = "chase"
palette = "two"
on = ["rake"]
speed = 5
blend = "screen"
"""
    (tmp_path / "same.toml").write_text(text)
    read = importlib.import_module("lumenmap.show.load").load_show(tmp_path / "same.toml")
    made = lumenmap.compose(
        lumenmap.cue(
            lumenmap.layer("chase", palette="two", on="rake", speed=5, blend="screen"),
            name="one",
            fade="500 ms",
        ),
        name="Same",
        unit="ft",
        length="3 s",
        seed=7,
        palettes={"two": ["gold", "#123456"]},
    )
    ours, theirs = (lumenmap.Project.of(s, site) for s in (made, read))
    for a, b in zip(lumenmap.render(ours), lumenmap.render(theirs), strict=True):
        assert (a == b).all() and a.any()


def test_ramps_turns_values_and_defaults_are_composed_as_in_a_file(site):
    show = lumenmap.compose(
        lumenmap.cue(
            lumenmap.layer(
                "chase",
                speed={"from": 1, "to": "3 m/s", "over": "2 s"},
                turns={"parts": 4, "every": "500 ms", "way": "across"},
                opacity="{strength}",
            ),
            even=True,
            fade="1 s",
        ),
        length="3 s",
        values={"strength": 0.5},
        defaults={"palette": "frost"},
    )
    (layer,) = show.cues[0].layers
    assert layer.options["speed"].to == (1, 3)
    assert (layer.opacity, layer.turns.parts, layer.palette.name) == (0.5, 4, "frost")
    assert show.cues[0].even
    assert any(block.any() for block in lumenmap.render(lumenmap.Project.of(show, site)))


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"effect": "chsae"}, 'Porch: cue "one", layer.*did you mean "chase"'),
        ({"speeed": 3}, "Porch: .*no such option; did you mean"),
        ({"opacity": 3}, r"Porch: .*opacity"),
        ({"palette": "glod"}, "Porch: .*palette"),
    ],
)
def test_a_mistake_names_the_show_and_the_key(change, says):
    words = {"effect": "chase", **change}
    with pytest.raises(InputError, match=says):
        lumenmap.compose(
            lumenmap.cue(lumenmap.layer(**words), name="one"), name="Porch", length="3 s"
        )


@pytest.mark.long
def test_the_example_runs_and_type_checks_against_the_package(tmp_path, capsys):
    script = EXAMPLES / "compose.py"
    (tmp_path / "examples").symlink_to(EXAMPLES)
    here = Path.cwd()
    os.chdir(tmp_path)
    try:
        runpy.run_path(str(script))
    finally:
        os.chdir(here)
    said = capsys.readouterr().out
    assert "<Project 'Two Cues' on 'Alder Cottage'>" in said and "SHA-256" in said
    assert (tmp_path / "out" / "two-cues.gif").read_bytes()[:4] == b"GIF8"
    # An editable install isn't seen by the type checker; a wheel is, by its py.typed.
    home = Path(lumenmap.__file__).resolve().parents[1]
    path = {} if home.name == "site-packages" else {"MYPYPATH": str(home)}
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--follow-imports=silent", script],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env=os.environ | path,
    )
    assert done.returncode == 0, done.stdout + done.stderr
