"""Light in pictures against an independent renderer, `tests.pictures.tracer`.

``python -m tests.pictures.traced`` has the figures of six houses, larger.
"""

import numpy as np
import pytest

pytest.importorskip("embreex", reason="no wheel of the ray engine for this system")

from lumenmap.site import Site
from tests.pictures.traced import compare, lights_of, lit_by
from tests.pictures.tracer import Points, Sky, World, intensity


@pytest.fixture(scope="module")
def porch(examples):
    """The light of all pixels on a house with a porch."""
    site = Site.read(examples / "juniper-flat" / "house.toml")
    white = list(lights_of(site).values())[:1]
    return compare(site, white, width=360, height=203, most=500)[0]


def test_light_straight_from_the_lamps_is_that_of_the_tracer(porch):
    """Boards and soffits cast shadows: without them the porch is lit through its roof, twice as
    bright as it should be.
    """
    for kind, usual, nearly_all in (("wall", 0.04, 0.35), ("ground", 0.02, 0.08)):
        rows = (porch.kind == kind) & lit_by(porch)
        off = np.abs(porch.straight[rows] / porch.direct[rows] - 1)
        assert rows.sum() > 200
        assert np.median(off) < usual
        assert np.quantile(off, 0.95) < nearly_all


@pytest.mark.parametrize(("kind", "least"), [("wall", 300), ("ground", 300), ("soffit", 10)])
def test_light_that_faces_throw_on_each_other_is_that_of_the_tracer(porch, kind, least):
    """Without it walls and ground are 6 to 8 % too dark, and soffits 60 %."""
    rows = (porch.kind == kind) & lit_by(porch)
    assert rows.sum() >= least
    true = porch.true[rows].sum()
    bounced = porch.model[rows].sum() - porch.straight[rows].sum()
    assert bounced == pytest.approx(porch.bounced[rows].sum(), rel=0.25)
    off, without = (abs(m[rows].sum() / true - 1) for m in (porch.model, porch.straight))
    assert off < without / 2


@pytest.fixture(scope="module")
def world(examples):
    return World(Site.read(examples / "kelder-studio" / "house.toml"))


def test_the_tracer_follows_the_laws_of_photometry(world):
    """E = I cos / d² on open ground, by hand, and E = π L under an even sky."""
    far = Points(np.array([[-6.0, -9, 0]]), np.array([[0.0, 0, 1]]), np.array([0]))
    seen = world.direct(far)[0]
    lamp = int(np.argmax(seen))
    way = far.xyz[0] - world.lamps[lamp]
    d = np.linalg.norm(way)
    cosine = way @ world.aims[lamp] / d
    assert seen[lamp] == pytest.approx(intensity(cosine) * -way[2] / d / d**2)
    none = np.zeros((len(world.lamps), 3))
    open_field = Points(np.array([[-40.0, -40, 0]]), np.array([[0.0, 0, 1]]), np.array([0]))
    sky = Sky(dome=np.array([1.0, 2, 3]))
    found = world.around(open_field, none, sky, np.random.default_rng(1), paths=400)[0]
    assert found == pytest.approx(np.pi * sky.dome, rel=0.03)


def test_one_lamp_at_a_time_gives_the_light_of_all(world):
    """The estimate that bounces are made with has the mean of the sum over all lamps."""
    rng = np.random.default_rng(2)
    spots = Points(
        np.tile([[0.0, -1.5, 0.0]], (4000, 1)),
        np.tile([[0.0, 0, 1]], (4000, 1)),
        np.zeros(4000, int),
    )
    light = np.ones((len(world.lamps), 3))
    light[::2] = 0.25
    exact = world.direct(spots[:1])[0] @ light
    assert world.one_lamp(spots, light, rng).mean(0) == pytest.approx(exact, rel=0.05)
