"""Sunrise and sunset by the NOAA equations: no library, within a minute of the published tables.

Source: NOAA Global Monitoring Laboratory, "General solar position calculations" and its
spreadsheet, after Meeus, Astronomical Algorithms. Stated accuracy: a minute between 72° south and
north, 10 minutes beyond; a real horizon and the weather matter more. The sun sets when its centre
is 50 arc-minutes (0.833°) below a level horizon.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache
from typing import Literal
from zoneinfo import ZoneInfo

#: Degrees of the sun's centre below the horizon: at sunset, and at the end of civil twilight.
SET, CIVIL = 0.833, 6.0
#: Days and heights kept: rules name the same sunset, and each is asked for many times a day.
_KEPT = 4096


@dataclass(frozen=True, slots=True)
class Place:
    """Degrees north and east, and the house's time zone."""

    latitude: float
    longitude: float
    zone: ZoneInfo


def _sun(moment: datetime) -> tuple[float, float]:
    """Return the sun's declination (degrees) and the equation of time (minutes)."""
    century = ((moment - datetime(2000, 1, 1, 12, tzinfo=UTC)) / timedelta(days=1)) / 36525
    mean_longitude = (280.46646 + century * (36000.76983 + century * 0.0003032)) % 360
    anomaly = math.radians(357.52911 + century * (35999.05029 - 0.0001537 * century))
    eccentricity = 0.016708634 - century * (0.000042037 + 0.0000001267 * century)
    centre = (
        math.sin(anomaly) * (1.914602 - century * (0.004817 + 0.000014 * century))
        + math.sin(2 * anomaly) * (0.019993 - 0.000101 * century)
        + math.sin(3 * anomaly) * 0.000289
    )
    node = math.radians(125.04 - 1934.136 * century)
    longitude = math.radians(mean_longitude + centre - 0.00569 - 0.00478 * math.sin(node))
    seconds = 21.448 - century * (46.815 + century * (0.00059 - century * 0.001813))
    obliquity = math.radians(23 + (26 + seconds / 60) / 60 + 0.00256 * math.cos(node))
    declination = math.asin(math.sin(obliquity) * math.sin(longitude))
    y = math.tan(obliquity / 2) ** 2
    twice = 2 * math.radians(mean_longitude)
    time = 4 * math.degrees(
        y * math.sin(twice)
        - 2 * eccentricity * math.sin(anomaly)
        + 4 * eccentricity * y * math.sin(anomaly) * math.cos(twice)
        - 0.5 * y * y * math.sin(2 * twice)
        - 1.25 * eccentricity * eccentricity * math.sin(2 * anomaly)
    )
    return math.degrees(declination), time


@lru_cache(_KEPT)
def noon(place: Place, day: date) -> datetime:
    """Return when the sun is highest on a local day, in UTC."""
    moment = datetime(day.year, day.month, day.day, 12, tzinfo=place.zone).astimezone(UTC)
    for _ in range(3):
        minutes = 720 - 4 * place.longitude - _sun(moment)[1]
        midnight = datetime(moment.year, moment.month, moment.day, tzinfo=UTC)
        found = midnight + timedelta(minutes=minutes)
        # Near the date line the UTC date of local noon is not the local date.
        clock = datetime(day.year, day.month, day.day, 12, tzinfo=place.zone)
        moment = found + timedelta(days=round((clock - found) / timedelta(days=1)))
    return moment


Polar = Literal["day", "night"]


@lru_cache(_KEPT)
def crossing(place: Place, day: date, *, rising: bool, below: float = SET) -> datetime | Polar:
    """Return when the sun comes up or goes down on the day of that local noon, in UTC.

    Parameters
    ----------
    below
        Degrees under the horizon: `SET`, or `CIVIL` for dawn and dusk.

    Returns
    -------
    The moment; or "day" if the sun stays above that height all day, "night" if below. A sunset
    that falls after local midnight belongs to the day before it.
    """
    middle = noon(place, day)
    moment = middle
    latitude = math.radians(max(-89.99, min(89.99, place.latitude)))
    for _ in range(5):
        declination, time = _sun(moment)
        turn = math.radians(declination)
        cosine = (math.sin(math.radians(-below)) - math.sin(latitude) * math.sin(turn)) / (
            math.cos(latitude) * math.cos(turn)
        )
        if abs(cosine) > 1:
            return "night" if cosine > 1 else "day"
        angle = math.degrees(math.acos(cosine)) * (-1 if rising else 1)
        drift = time - _sun(middle)[1]  # the equation of time moves a little since noon
        moment = middle + timedelta(minutes=4 * angle - drift)
    return moment
