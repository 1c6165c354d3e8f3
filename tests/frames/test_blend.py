"""Blend modes against coloraide's independent implementation of the W3C formulas."""

import coloraide
import numpy as np
import pytest

from lumenmap.frames.blend import MODES, blend
from lumenmap.show.model import BLENDS

RNG = np.random.default_rng(2)


def pairs(n: int = 300) -> tuple[np.ndarray, np.ndarray]:
    """Random pairs, and all pairs of the values where formulas branch."""
    ends = np.array([0, 0.25, 0.5, 1])
    b, s = (np.repeat(v.ravel()[:, None], 3, 1) for v in np.meshgrid(ends, ends))
    both = [np.concatenate([v, RNG.random((n, 3))]).astype(np.float32)[None] for v in (b, s)]
    return both[0], both[1]


def test_the_models_list_is_what_is_there():
    assert set(BLENDS) == set(MODES)


@pytest.mark.parametrize("mode", sorted(set(BLENDS) - {"plus-lighter"}))
@pytest.mark.parametrize("opacity", [1.0, 0.35])
def test_each_mode_as_coloraide_blends(mode, opacity):
    """Outside check: W3C Compositing and Blending Level 1, section 10.1, in linear light."""
    backdrop, source = pairs()
    got = backdrop.copy()
    blend(got, source.copy(), mode, opacity)
    for b, s, g in zip(backdrop[0].tolist(), source[0].tolist(), got[0].tolist(), strict=True):
        want = coloraide.Color.layer(
            [coloraide.Color("srgb-linear", s, opacity), coloraide.Color("srgb-linear", b)],
            blend=mode,
            space="srgb-linear",
        )
        assert g == pytest.approx(want.coords(), abs=3e-5)


def test_plus_lighter_adds_and_stops_at_full():
    """Section 9.1.14: Co = min(1, αs Cs + αb Cb)."""
    backdrop, source = pairs()
    got = backdrop.copy()
    blend(got, source.copy(), "plus-lighter", 1.0)
    assert got == pytest.approx(np.minimum(1, backdrop + source), abs=1e-6)


@pytest.mark.parametrize("mode", BLENDS)
def test_light_stays_light(mode):
    backdrop, source = pairs(4000)
    blend(backdrop, source, mode, 0.7)
    assert np.isfinite(backdrop).all()
    assert backdrop.min() >= -1e-6
    assert backdrop.max() <= 1 + 1e-6
