"""The figures of pixels as a house file gives them."""

import pytest

from lumenmap.parts.kinds import pixel_kind


@pytest.mark.parametrize(
    ("figures", "named"),
    [
        ("", None),
        ('order = "RGB"', None),  # what the row says already
        ('order = "GRB"', "order"),
        ("volts = 12\nchannel_ma = [12, 12, 11]", "channel_ma"),
        ("dominant_nm = [622, 525, 466]\nintensity = [400, 900, 200]", "dominant_nm, intensity"),
    ],
)
def test_the_source_names_what_the_owner_gave_and_no_more(load, figures, named):
    house = load(('"ws2811-12v"', f'"ws2811-12v"\n{figures}'))
    row = pixel_kind("ws2811-12v").source
    assert house.kind.source == (f"{row}; given by the house file: {named}" if named else row)


def test_dies_are_as_given(load):
    house = load(
        ('"ws2811-12v"', '"ws2811-12v"\ndominant_nm = [622, 525.5, 466]\nintensity = [2, 5, 1]')
    )
    assert house.kind.dominant_nm == (622, 525.5, 466) and house.kind.intensity == (2, 5, 1)
