import csv
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from astral import LocationInfo
from astral import sun as astral_sun

from lumenmap.almanac.sun import CIVIL, Place, crossing, noon

TABLE = Path(__file__).parents[1] / "tables" / "sunsets.csv"


def rows():
    lines = [x for x in TABLE.read_text().splitlines() if not x.startswith("#")]
    return list(csv.DictReader(lines))


def place(latitude, longitude, zone):
    return Place(float(latitude), float(longitude), ZoneInfo(zone))


OSLO = place(59.91, 10.75, "Europe/Oslo")
TROMSO = place(69.65, 18.96, "Europe/Oslo")
NEW_YORK = place(40.71, -74.01, "America/New_York")
YEAR = [date(2026, 1, 1) + timedelta(days=i) for i in range(365)]


@pytest.mark.parametrize("row", rows(), ids=lambda r: f"{r['place']} {r['day']}")
def test_sunset_is_the_published_one(row):
    """Within a minute, half of which is the table's own rounding; two would be allowed."""
    where = place(row["latitude"], row["longitude"], row["zone"])
    day = date.fromisoformat(row["day"])
    got = crossing(where, day, rising=False).astimezone(where.zone)
    wanted = datetime.combine(day, datetime.strptime(row["local"], "%H:%M").time(), where.zone)
    assert abs(got - wanted) < timedelta(seconds=60)


@pytest.mark.parametrize(
    "where",
    [
        NEW_YORK,
        OSLO,
        place(-36.8, 174.8, "Pacific/Auckland"),
        place(1.28, 103.83, "Asia/Singapore"),
        place(44.06, -121.31, "America/Los_Angeles"),
    ],
)
def test_sun_agrees_with_astral(where):
    """astral 3.2, which is early by 10 to 30 s against the Naval Observatory's tables."""
    theirs = LocationInfo("", "", where.zone.key, where.latitude, where.longitude).observer
    for day in YEAR[::9]:
        for rising, function in ((False, astral_sun.sunset), (True, astral_sun.sunrise)):
            wanted = function(theirs, date=day, tzinfo=where.zone)
            assert abs(crossing(where, day, rising=rising) - wanted) < timedelta(seconds=75)
    dusk = crossing(NEW_YORK, YEAR[100], rising=False, below=CIVIL)
    new_york = LocationInfo("", "", "America/New_York", 40.71, -74.01).observer
    wanted = astral_sun.dusk(new_york, date=YEAR[100], tzinfo=NEW_YORK.zone)
    assert abs(dusk - wanted) < timedelta(seconds=75)


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Apia", "Asia/Shanghai"])
def test_every_local_day_has_its_own_noon_and_sunset(zone):
    where = {
        "Pacific/Kiritimati": (1.87, -157.4),
        "Pacific/Apia": (-13.8, -171.8),
        "Asia/Shanghai": (43.8, 87.6),
    }[zone]
    there = place(*where, zone)
    for day in YEAR:
        assert noon(there, day).astimezone(there.zone).date() == day
        assert crossing(there, day, rising=False).astimezone(there.zone).date() == day


def test_sunset_after_midnight_belongs_to_the_day_before():
    """Reykjavik in June: the sun sets after midnight by the clock (14 times in 2026)."""
    there = place(64.15, -21.94, "Atlantic/Reykjavik")
    late = [d for d in YEAR if crossing(there, d, rising=False).astimezone(UTC).date() != d]
    assert len(late) == 14 and all(d.month in (6, 7) for d in late)


def test_polar_day_and_night():
    """Tromsø has no sunset on 117 days of 2026 (as the two computations before this one found)."""
    got = [crossing(TROMSO, d, rising=False) for d in YEAR]
    assert sum(isinstance(g, str) for g in got) == 117
    assert got[date(2026, 6, 21).timetuple().tm_yday - 1] == "day"
    assert got[date(2026, 12, 21).timetuple().tm_yday - 1] == "night"
    north, south = place(90, 0, "UTC"), place(-90, 0, "UTC")
    assert crossing(north, date(2026, 6, 21), rising=False) == "day"
    assert crossing(south, date(2026, 6, 21), rising=False) == "night"
