"""Time zones and countries by their standard names, with a hint where people call them otherwise.

Zones: the IANA time zone database. Countries: ISO 3166-1 alpha-2, with ISO 3166-2 parts.
"""

from __future__ import annotations

import re
from zoneinfo import ZoneInfo, available_timezones

from lumenmap.core.errors import InputError, near

#: What people call a zone, to its name in the database (its largest place, as that names them).
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
#: What people call a country, to its ISO 3166-1 code.
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
    """Return the name of a time zone if it is one of the IANA database.

    Raises
    ------
    InputError
        It is none; offers the one that is meant.
    """
    # Three-letter names of the database, such as EST, know no summer time: hardly what is meant.
    meant = _ZONES.get(_common(name))
    if meant is None and re.fullmatch(r"[\w+-]+(/[\w+-]+)*", name):
        try:
            return ZoneInfo(name).key
        except (OSError, ValueError, KeyError):  # a folder of them, no zone, not found
            pass
    hint = f'; did you mean "{meant}"?' if meant else near(name, available_timezones())
    hint = hint or '; wanted one like "America/Chicago"'
    raise InputError(f'is "{name[:40]}", which no time zone is called{hint}')


def _common(name: str) -> str:
    """Return the telling word of ``US Central``, ``Central Time``, ``central standard time``."""
    words = re.sub(r"[^a-z]+", " ", name.lower()).split()
    telling = [w for w in words if w not in ("us", "time", "standard", "daylight", "summer")]
    return telling[0] if len(telling) == 1 and "/" not in name else ""


def country(code: str) -> str:
    """Return the code of a country, or of a part of one, if it is written as ISO 3166 has it.

    Raises
    ------
    InputError
        It is not; offers the code that is meant.
    """
    if re.fullmatch(r"[A-Z]{2}(-[A-Z0-9]{1,3})?", code) and code not in _COUNTRIES:
        return code
    meant = _COUNTRIES.get(code.strip().upper(), "")
    if not meant and re.fullmatch(r"[A-Za-z]{2}([-_ ][A-Za-z0-9]{1,3})?", code.strip()):
        meant = re.sub(r"[_ ]", "-", code.strip().upper())
    offer = f'did you mean "{meant}"?' if meant else 'wanted its ISO 3166 code, as "US" or "CA-BC"'
    raise InputError(f'is "{code[:40]}", which is no code of a country; {offer}')
