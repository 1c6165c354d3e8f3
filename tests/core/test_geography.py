from zoneinfo import available_timezones

import pytest

from lumenmap.core.errors import InputError
from lumenmap.core.geography import country, time_zone

#: Names of the database that mean one offset all year; people write them for a zone with summers.
FIXED = {"EST", "MST", "GMT", "CET", "EET"}


def test_every_zone_of_the_database_is_read():
    for name in available_timezones() - FIXED:
        if name.count("/"):
            assert time_zone(name) == name
    assert time_zone("UTC") == "UTC"


@pytest.mark.parametrize(
    ("name", "match"),
    [
        ("Central", 'did you mean "America/Chicago"'),
        ("US Central Time", 'did you mean "America/Chicago"'),
        ("EST", 'did you mean "America/New_York"'),
        ("America/New York", 'did you mean "America/New_York"'),
        ("America", "isn.t a time zone"),
        ("../../etc/passwd", "isn.t a time zone"),
        ("", 'expected a name such as "America/Chicago"'),
        ("qqqq", 'expected a name such as "America/Chicago"'),
    ],
)
def test_what_is_no_zone(name, match):
    with pytest.raises(InputError, match=match):
        time_zone(name)


def test_countries_are_the_holidays_librarys():
    """holidays lists the ISO 3166-1 codes it knows, and two-letter parts of ISO 3166-2."""
    import holidays

    for code, parts in holidays.list_supported_countries(include_aliases=False).items():
        assert country(code) == code
        for part in parts:
            if len(part) <= 3 and part.isascii() and part.isalnum() and part.isupper():
                assert country(f"{code}-{part}") == f"{code}-{part}"


@pytest.mark.parametrize(
    ("code", "match"),
    [
        ("USA", 'did you mean "US"'),
        ("usa", 'did you mean "US"'),
        ("us", 'did you mean "US"'),
        ("us or", 'did you mean "US-OR"'),
        ("UK", 'did you mean "GB"'),
        ("Canada", 'did you mean "CA"'),
        ("Ruritania", 'expected an ISO 3166 code such as "US" or "CA-BC"'),
    ],
)
def test_what_is_no_country(code, match):
    with pytest.raises(InputError, match=match):
        country(code)
