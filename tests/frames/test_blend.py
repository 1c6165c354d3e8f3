"""Blend modes against coloraide's independent implementation of the W3C formulas."""

import coloraide
import numpy as np
import pytest

from lumenmap.colour import css
from lumenmap.colour.palette import Palette
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


def published(mode: str, b: float, s: float) -> float:
    """Outside check: the formulas of W3C Compositing and Blending Level 1, section 10.1, by hand."""
    if mode == "color-dodge":
        return 0.0 if b == 0 else 1.0 if s == 1 else min(1.0, b / (1 - s))
    if mode == "color-burn":
        return 1.0 if b == 1 else 0.0 if s == 0 else 1 - min(1.0, (1 - b) / s)
    if mode == "hard-light":
        return b * 2 * s if s <= 0.5 else b + (2 * s - 1) - b * (2 * s - 1)
    if mode == "overlay":
        return published("hard-light", s, b)
    if mode == "soft-light":
        d = ((16 * b - 12) * b + 4) * b if b <= 0.25 else b**0.5
        return b - (1 - 2 * s) * b * (1 - b) if s <= 0.5 else b + (2 * s - 1) * (d - b)
    return {
        "normal": s,
        "multiply": b * s,
        "screen": b + s - b * s,
        "darken": min(b, s),
        "lighten": max(b, s),
        "difference": abs(b - s),
        "exclusion": b + s - 2 * b * s,
        "plus-lighter": min(1.0, b + s),
    }[mode]


PURE = ("black", "red", "lime", "blue", "yellow", "cyan", "magenta", "white")


@pytest.mark.parametrize("mode", BLENDS)
def test_pure_colours_blend_exactly_though_palettes_round_them(mode):
    """Through OKLab and float32 a palette's white may be 0.9999999: it is white all the same."""
    pure = np.array([css.colour(name) for name in PURE])
    tables = np.array([Palette("", [name])(0.0) for name in PURE])
    off = np.float32(1e-7) * (1 - 2 * pure.astype(np.float32))
    for given in (tables, np.clip(tables + off, 0, 1)):
        b, s = (np.repeat(given, 8, 0)[None], np.tile(given, (8, 1))[None])
        got = b.astype(np.float32).copy()
        blend(got, s.astype(np.float32).copy(), mode, 1.0)
        due = [
            [published(mode, x, y) for x, y in zip(pure[i], pure[j], strict=True)]
            for i in range(8)
            for j in range(8)
        ]
        assert np.abs(got[0] - due).max() < 1e-6
