"""Laying a show on a site: which pixels a layer lights, and what makes layers differ."""

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.frames.plan import spans
from lumenmap.frames.render import render_block
from lumenmap.jobs.project import Project
from lumenmap.show.compose import compose, cue
from lumenmap.show.compose import layer as make_layer
from tests.frames.shows import one

FOOT = 0.3048


def layer(effect, **options):
    lines = [f"{name} = {value}" for name, value in options.items()]
    return "\n".join(["\n[[cue.layer]]", f'effect = "{effect}"', 'palette = "one"', *lines])


def layers(work):
    return [planned for cue in work.plan.tiles[0].cues for planned in cue.layers]


def test_layers_that_share_a_show_do_not_share_its_seed(lay):
    """Two layers of one effect twinkle apart, by the same numbers at every start."""
    show = one("glint", 1) + layer("glint", blend='"screen"')
    first, second = layers(lay(show))
    assert first.options["seed"] != second.options["seed"]
    assert [p.options["seed"] for p in layers(lay(show))] == [
        first.options["seed"],
        second.options["seed"],
    ]
    other = layers(lay(show.replace("fps = 40", "fps = 40\nseed = 8")))
    seeds = {p.options["seed"] for p in (*other, first, second)}
    assert len(seeds) == 4, "another show's seed, another picture"


def test_a_layers_own_seed_is_kept(lay):
    (first,) = layers(lay(one("glint", 1, seed=12)))
    assert first.options["seed"] == 12


def test_a_box_has_six_sides(lay):
    """``within`` keeps what lies between, its faces included, and leaves the rest dark."""
    work = lay(
        one("still", 1, level=1, within='{ across = ["5 ft", "9 ft"], up = ["0 ft", "14 ft"] }')
    )
    lit = render_block(work.plan, 0, 1)[0, :, 0] > 0
    x, _, z = work.site.pixels.xyz.T / FOOT
    assert (lit == ((x >= 5) & (x <= 9) & (z <= 14))).all()
    assert 0 < lit.sum() < len(lit)
    assert ((x > 9) & (z <= 14)).any() and ((x >= 5) & (x <= 9) & (z > 14)).any()


@pytest.mark.parametrize("on", ['["front 3-7"]', '["front 3-7", "front 9"]', '["back"]'])
def test_a_layer_lights_the_pixels_it_names_and_no_other(lay, on):
    """Neighbours in wiring order, and pixels with a gap between."""
    work = lay(one("still", 1, level=1, on=on))
    lit = np.flatnonzero(render_block(work.plan, 0, 1)[0, :, 0])
    front, back = (s.slice for s in work.site.pixels.lines)
    wanted = {
        '["front 3-7"]': [*range(2, 7)],
        '["front 3-7", "front 9"]': [*range(2, 7), 8],
        '["back"]': [*range(back.start, back.stop)],
    }
    assert front.start == 0
    assert lit.tolist() == wanted[on]


def test_each_pixel_knows_the_length_of_its_own_line(lay):
    work = lay(one("still", 1))
    (planned,) = layers(work)
    for number, span in enumerate(work.site.pixels.lines):
        mine = planned.at.line_length[work.site.pixels.line == number]
        assert mine == pytest.approx(span.length)
    lengths = [span.length for span in work.site.pixels.lines]
    assert lengths[0] != pytest.approx(lengths[1])


def test_spares_stay_dark(lay, tmp_path):
    from lumenmap.jobs.project import load

    lay(one("still", 1, level=1).replace("fps = 40", "fps = 40\nmatch_screen = false"))
    house = tmp_path / "house.toml"
    house.write_text(
        house.read_text().replace(
            'path = ["main/eave-left"]', 'path = ["main/eave-left", { spares = 2 }]'
        )
    )
    light = render_block(load(tmp_path / "show.toml").plan, 0, 1)[0]
    assert (light[-2:] == 0).all()
    assert light[:-2] == pytest.approx(1, abs=1e-6)


@pytest.mark.parametrize("pixels", [1, 7_999, 8_000, 8_001, 100_000])
def test_tiles_cover_every_pixel_once(pixels):
    got = spans(pixels)
    assert [n for s in got for n in range(s.start, s.stop)] == list(range(pixels))
    assert max(s.stop - s.start for s in got) <= 8_001


GROUPS = """
[group]
gable = ["main/rake-*"]
here = { of = ["main/*"], except = ["porch"] }
"""


def lit_of(work):
    return render_block(work.plan, 0, 1)[0, :, 0] > 0


def test_except_leaves_places_alone_and_a_show_has_groups_of_its_own(lay):
    work = lay(one("still", 1, level=1, on='["here"]', **{"except": '["main/rake-left"]'}) + GROUPS)
    pixels = work.site.pixels
    names = np.array([*pixels.edge_names, ""])[pixels.edge]
    assert set(names[lit_of(work)]) == {"main/rake-right", "main/eave-left"}
    work = lay(one("still", 1, level=1, **{"except": '["gable"]'}) + GROUPS)
    assert (lit_of(work) == ~np.isin(names, ["main/rake-left", "main/rake-right"])).all()


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"on": '["her"]'}, 'layer 1, on item 1: no place "her"; did you mean "here"'),
        ({"except": '["main/rake-lft"]'}, 'layer 1, except item 1: no place "main/rake-lft"'),
        ({"on": '["gable"]', "except": '["main"]'}, "layer 1, except: leaves no pixels"),
    ],
)
def test_mistakes_in_places_name_the_key(lay, options, says):
    with pytest.raises(InputError, match=says):
        lay(one("still", 1, **options) + GROUPS)


def test_a_mistake_in_a_group_of_the_show_names_the_group(lay):
    with pytest.raises(InputError, match=r'group.gable item 1: no place "main/rakes"'):
        lay(one("still", 1, on='["gable"]') + GROUPS.replace("main/rake-*", "main/rakes"))


def test_a_show_composed_in_python_has_groups_and_routes_too(lay):
    site = lay(one("still", 1)).site
    show = compose(
        cue(make_layer("still", on="gable", except_=["main/rake-left"], way="along over")),
        length=1,
        group={"gable": ["main/rake-*"]},
        route=[{"name": "over", "edges": ["main/rake-left", "main/rake-right"]}],
    )
    work = Project.of(show, site)
    names = np.array([*site.pixels.edge_names, ""])[site.pixels.edge]
    assert (render_block(work.plan, 0, 1)[0].any(-1) == (names == "main/rake-right")).all()
