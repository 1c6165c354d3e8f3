"""Moments as people write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.errors import InputError
from lumenmap.pictures.moments import read_moment, show_moment


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("2:00", 120),
        ("0:05.5", 5.5),
        ("1:02:03", 3723),
        ("90", 90),
        ("90 s", 90),
        ("2 min", 120),
        (" 12.25 ", 12.25),
    ],
)
def test_moments(text, seconds):
    assert read_moment(text) == seconds


@pytest.mark.parametrize("text", ["1:60", "1:61:00", "99:99"])
def test_more_than_a_clock_has(text):
    with pytest.raises(InputError, match="at: is .*; after a colon, 59 is the most"):
        read_moment(text)


@pytest.mark.parametrize("text", ["", "-1", "-1:00", "nan", "inf", "1:2", "a:00", "1:00:", "2 ft"])
def test_what_is_no_moment(text):
    with pytest.raises(InputError, match="at: is .*; expected a moment such as 2:05"):
        read_moment(text)


@given(st.integers(0, 5_999_999))
def test_what_is_shown_is_read_back(tenths):
    assert read_moment(show_moment(tenths / 10)) == pytest.approx(tenths / 10)
