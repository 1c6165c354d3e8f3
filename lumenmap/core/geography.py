"""Time zones and countries by their standard names, with hints for everyday ones.

Zones: the IANA time zone database. Countries: ISO 3166-1 alpha-2, with ISO 3166-2 parts.
"""

from __future__ import annotations

import contextlib
import re
from functools import cache
from importlib import resources
from pathlib import Path
from zoneinfo import TZPATH, ZoneInfo, available_timezones

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


#: A place this near its zone's chief place (degrees) is in it; one this far away hardly is.
_NEAR, _FAR = 15.0, 16.0


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


@cache
def _zone_places() -> dict[str, tuple[float, float]]:
    """Return where each zone's chief place lies, degrees north and east: the database's zone.tab.

    Nothing where the machine has no such table.
    """
    texts = []
    for folder in TZPATH:
        with contextlib.suppress(OSError):
            texts.append(Path(folder, "zone.tab").read_text("utf-8"))
    with contextlib.suppress(OSError, ImportError):
        texts.append((resources.files("tzdata") / "zoneinfo" / "zone.tab").read_text("utf-8"))
    found = {}
    for line in texts[0].splitlines() if texts else ():
        m = re.match(r"[A-Z]{2}\t([+-]\d+)([+-]\d+)\t(\S+)", line)
        if m:  # ISO 6709: +DDMM+DDDMM or +DDMMSS+DDDMMSS
            found[m[3]] = (_degrees(m[1], 2), _degrees(m[2], 3))
    return found


def _degrees(text: str, digits: int) -> float:
    sign, number = text[0], text[1:]
    minutes, seconds = number[digits : digits + 2], number[digits + 2 :] or "0"
    value = int(number[:digits]) + int(minutes) / 60 + int(seconds) / 3600
    return -value if sign == "-" else value


def check_sign(latitude: float, longitude: float, zone: str, what: str) -> None:
    """Ask about a latitude or longitude that fits its time zone only with the other sign.

    Raises
    ------
    InputError
        It lies far from the zone's chief place, and its mirror image near.
    """
    there = _zone_places().get(zone)
    if there is None:
        return
    east = what == "longitude"
    given, chief = (longitude, there[1]) if east else (latitude, there[0])
    if abs(given - chief) > _FAR and abs(-given - chief) < _NEAR:
        side = ("east", "west") if east else ("north", "south")
        raise InputError(
            f"is {given:g}, {side[given < 0]}, but {zone} lies {side[given > 0]}; "
            f"did you mean {-given:g}?"
        )


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
