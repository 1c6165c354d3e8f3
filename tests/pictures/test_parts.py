"""A picture worked out in small parts is the picture, byte for byte: large ones are made so."""

import numpy as np
import pytest

from lumenmap.pictures import inner
from lumenmap.pictures.drawn import preview, transport
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.inner import plain
from lumenmap.pictures.light import base, images, mix
from lumenmap.pictures.scene import fragments, raster
from lumenmap.pictures.scene.look import Look
from lumenmap.site import Site

#: Module -> what it works on at once; small, and no divisors of the picture.
SMALL = {
    (raster, "AT_ONCE"): 5000,
    (images, "AT_ONCE"): 3000,
    (fragments, "AT_ONCE"): 1024,
    (base, "AT_ONCE"): 7,
    (mix, "BAND"): 3333,
    (plain, "CHUNK"): 999,
    (plain, "KEEP"): 0,
}


@pytest.mark.parametrize("look", [Look(), Look(time="night", snow=True, street_lamp=True)])
@pytest.mark.parametrize("loops", [plain, inner], ids=["in numpy", "as installed"])
def test_parts_change_nothing(house, pixelmap, monkeypatch, look, loops):
    for name in ("BLOCK", "Nodes", "Painter"):
        monkeypatch.setattr(preview, name, getattr(loops, name))
    light = np.random.default_rng(1).random((10, len(pixelmap), 3)).astype(np.float32) ** 3

    def made():
        view = Preview(Site(house, pixelmap), width=240, height=135, look=look)
        return view, view.frames(light)

    whole, expected = made()
    for (module, name), small in SMALL.items():
        monkeypatch.setattr(module, name, small)
    parts, got = made()
    assert (got == expected).all()
    for name in ("base", "colours", "places", "levels"):
        assert np.allclose(getattr(parts.parts, name), getattr(whole.parts, name), rtol=1e-6)
    for name in ("mix", "images", "wash"):
        a, b = (getattr(view.parts, name).matrix() for view in (parts, whole))
        assert a.shape == b.shape and a.nnz == b.nnz and abs(a - b).max() < 1e-6


def test_a_transport_as_large_as_the_cache_is_not_kept(house, pixelmap, monkeypatch, tmp_path):
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(transport, "LARGEST", 1000)
    Preview(Site(house, pixelmap), width=160, height=90, cache=True)
    assert not list(tmp_path.rglob("pictures/*"))
    monkeypatch.undo()
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    Preview(Site(house, pixelmap), width=160, height=90, cache=True)
    assert list(tmp_path.rglob("pictures/*"))
