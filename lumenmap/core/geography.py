"""Time zones and countries by their standard names, with hints for everyday ones.

Zones: the IANA time zone database. Countries: ISO 3166-1 alpha-2, with ISO 3166-2 parts.
"""

from __future__ import annotations

import re
from zoneinfo import ZoneInfo, available_timezones

from lumenmap.core.errors import InputError, near

#: Everyday names of zones, to their names in the database.
_ZONES = {
    "eastern": "America/New_York",
    "est": "America/New_York",
    "edt": "America/New_York",
    "central": "America/Chicago",
    "cst": "America/Chicago",
    "cdt": "America/Chicago",
    "mountain": "America/Denver",
    "mst": "America/Denver",
    "mdt": "America/Denver",
    "arizona": "America/Phoenix",
    "pacific": "America/Los_Angeles",
    "pst": "America/Los_Angeles",
    "pdt": "America/Los_Angeles",
    "alaska": "America/Anchorage",
    "hawaii": "Pacific/Honolulu",
    "atlantic": "America/Halifax",
    "newfoundland": "America/St_Johns",
    "gmt": "Europe/London",
    "bst": "Europe/London",
    "uk": "Europe/London",
    "cet": "Europe/Berlin",
    "cest": "Europe/Berlin",
    "eet": "Europe/Helsinki",
    "ist": "Asia/Kolkata",
    "jst": "Asia/Tokyo",
    "aest": "Australia/Sydney",
    "aedt": "Australia/Sydney",
    "nzst": "Pacific/Auckland",
}
#: Everyday names of countries, to their ISO 3166-1 codes.
_COUNTRIES = {
    "USA": "US",
    "UNITED STATES": "US",
    "UNITED STATES OF AMERICA": "US",
    "AMERICA": "US",
    "UK": "GB",
    "UNITED KINGDOM": "GB",
    "GREAT BRITAIN": "GB",
    "ENGLAND": "GB-ENG",
    "SCOTLAND": "GB-SCT",
    "WALES": "GB-WLS",
    "CAN": "CA",
    "CANADA": "CA",
    "AUS": "AU",
    "AUSTRALIA": "AU",
    "NEW ZEALAND": "NZ",
    "NZL": "NZ",
    "IRELAND": "IE",
    "GERMANY": "DE",
    "DEUTSCHLAND": "DE",
    "DEU": "DE",
    "NETHERLANDS": "NL",
    "NEDERLAND": "NL",
    "HOLLAND": "NL",
    "FRANCE": "FR",
    "FRA": "FR",
    "SPAIN": "ES",
    "ITALY": "IT",
    "MEXICO": "MX",
    "INDIA": "IN",
    "JAPAN": "JP",
    "SWEDEN": "SE",
    "NORWAY": "NO",
    "DENMARK": "DK",
}


def time_zone(name: str) -> str:
    """Return the name of a time zone of the IANA database.

    Raises
    ------
    InputError
        Not a name of the database; suggests the nearest.
    """
    # The database's three-letter names, such as EST, have no summer time: hardly what was intended.
    suggestion = _ZONES.get(_common(name))
    if suggestion is None and re.fullmatch(r"[\w+-]+(/[\w+-]+)*", name):
        try:
            return ZoneInfo(name).key
        except (OSError, ValueError, KeyError):  # a folder of them, no zone, not found
            pass
    hint = f'; did you mean "{suggestion}"?' if suggestion else near(name, available_timezones())
    hint = hint or '; expected a name such as "America/Chicago"'
    raise InputError(f'is "{name[:40]}", which isn\'t a time zone{hint}')


def _common(name: str) -> str:
    """Return the main word of ``US Central``, ``Central Time``, ``central standard time``."""
    words = re.sub(r"[^a-z]+", " ", name.lower()).split()
    distinctive = [w for w in words if w not in ("us", "time", "standard", "daylight", "summer")]
    return distinctive[0] if len(distinctive) == 1 and "/" not in name else ""


def country(code: str) -> str:
    """Return the ISO 3166 code of a country, or of a part of one.

    Raises
    ------
    InputError
        Not such a code; suggests the nearest.
    """
    if re.fullmatch(r"[A-Z]{2}(-[A-Z0-9]{1,3})?", code) and code not in _COUNTRIES:
        return code
    suggestion = _COUNTRIES.get(code.strip().upper(), "")
    if not suggestion and re.fullmatch(r"[A-Za-z]{2}([-_ ][A-Za-z0-9]{1,3})?", code.strip()):
        suggestion = re.sub(r"[_ ]", "-", code.strip().upper())
    offer = (
        f'did you mean "{suggestion}"?'
        if suggestion
        else 'expected an ISO 3166 code such as "US" or "CA-BC"'
    )
    raise InputError(f'is "{code[:40]}", which isn\'t a country code; {offer}')
