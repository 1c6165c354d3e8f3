"""Easing functions against the specification's examples and an independent solution."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.errors import InputError
from lumenmap.motion.easing import easing


@pytest.mark.parametrize(
    ("text", "places", "values"),
    [
        # CSS Easing Functions 2, section 2.3: the examples of steps().
        ("steps(3, start)", [0, 0.2, 0.4, 0.8], [1 / 3, 1 / 3, 2 / 3, 1]),
        ("steps(3, end)", [0, 0.2, 0.4, 0.8, 1], [0, 0, 1 / 3, 2 / 3, 1]),
        ("steps(3)", [0.2, 0.4], [0, 1 / 3]),
        ("steps(3, jump-none)", [0, 0.5, 0.9], [0, 0.5, 1]),
        ("steps(3, jump-both)", [0, 0.5, 0.9, 1], [0.25, 0.5, 0.75, 1]),
        ("step-start", [0, 0.5], [1, 1]),
        ("step-end", [0, 0.99, 1], [0, 0, 1]),
        ("linear", [0, 0.3, 1], [0, 0.3, 1]),
        # Section 2.2.1: linear(0, 0.25, 1), linear(0, 0.25 75%, 1), and places out of order.
        ("linear(0, 0.25, 1)", [0.25, 0.5, 0.75], [0.125, 0.25, 0.625]),
        ("linear(0, 0.25 75%, 1)", [0.375, 0.75, 0.875], [0.125, 0.25, 0.625]),
        ("linear(0 0%, 1 50%, 0 100%)", [0.25, 0.5, 0.75], [0.5, 1, 0.5]),
        # Two places: 0.5 is held from 20 % to 60 %; the number may come last, and values may jump.
        ("linear(0, 0.5 20% 60%, 1)", [0.1, 0.2, 0.4, 0.6, 0.8], [0.25, 0.5, 0.5, 0.5, 0.75]),
        ("linear(0, 25% 75% 0.5, 1)", [0.25, 0.5, 0.75], [0.5, 0.5, 0.5]),
        ("linear(0 0% 50%, 1 50% 100%)", [0.25, 0.49, 0.5, 0.75], [0, 0, 1, 1]),
    ],
)
def test_examples_of_the_specification(text, places, values):
    assert easing(text)(np.array(places, float)) == pytest.approx(values, abs=1e-12)


@pytest.mark.parametrize(
    ("name", "curve"),
    [
        ("ease", "cubic-bezier(0.25, 0.1, 0.25, 1)"),
        ("ease-in", "cubic-bezier(0.42, 0, 1, 1)"),
        ("ease-out", "cubic-bezier(0, 0, 0.58, 1)"),
        ("ease-in-out", "cubic-bezier(0.42, 0, 0.58, 1)"),
    ],
)
def test_names_stand_for_their_curves(name, curve):
    x = np.linspace(0, 1, 41)
    assert easing(name)(x) == pytest.approx(easing(curve)(x), abs=1e-12)


@given(st.floats(0, 1), st.floats(-1, 2), st.floats(0, 1), st.floats(-1, 2), st.floats(0.01, 0.99))
def test_bezier_as_the_cubics_root_gives_it(x1, y1, x2, y2, x):
    """Independent solution: the real root of the cubic in closed form (numpy's companion matrix)."""
    with np.errstate(all="ignore"):
        roots = np.roots([1 + 3 * x1 - 3 * x2, 3 * x2 - 6 * x1, 3 * x1, -x])
    real = roots[(abs(roots.imag) < 1e-6) & (roots.real > -1e-6) & (roots.real < 1 + 1e-6)].real
    got = float(easing(f"cubic-bezier({x1:.17f}, {y1:.17f}, {x2:.17f}, {y2:.17f})")(np.array(x)))
    wants = [3 * y1 * s * (1 - s) ** 2 + 3 * y2 * s**2 * (1 - s) + s**3 for s in real]
    assert min((abs(got - w) for w in wants), default=0) < 2e-3


def test_bezier_as_published_for_ease():
    """At half time ``ease`` is at 0.8024 (from memory; any browser shows it)."""
    assert float(easing("ease")(np.array(0.5))) == pytest.approx(0.8024, abs=1e-4)


@pytest.mark.parametrize(
    "text",
    [
        "easy",
        "cubic-bezier(1.2, 0, 0, 1)",
        "cubic-bezier(0, 0, 1)",
        "steps(0)",
        "steps(1, jump-none)",
        "steps(2, sideways)",
        "steps(x)",
        "linear()",
        "linear(0 50, 1)",
        "linear(0, 10% 0.5 20%, 1)",
        "linear(0, 0.5 10% 20% 30%, 1)",
        "linear(0, 0.5 nan%, 1)",
        "linear(0, 10%, 1)",
        "linear(1)",
        "steps(1e9)",
        "cubic-bezier(nan, 0, 0, 1)",
        "linear(nan, 1)",
        "",
    ],
)
def test_what_is_no_easing_is_said(text):
    with pytest.raises(InputError, match=r"no easing|isn.t valid in CSS Easing"):
        easing(text)
