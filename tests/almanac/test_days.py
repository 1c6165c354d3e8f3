import re
from datetime import date, datetime, timedelta

import holidays
import pytest
from dateutil.easter import EASTER_ORTHODOX
from dateutil.easter import easter as dateutil_easter
from dateutil.rrule import rrulestr
from hijridate import Hijri
from lunardate import LunarDate
from pyluach import dates as hebrew

from lumenmap.almanac.days import parse_days
from lumenmap.almanac.feasts import easter, feast, orthodox_easter
from lumenmap.core.errors import InputError


def days(text, year, country="US"):
    return sorted(parse_days(text, country).find(year))


def test_easter_is_dateutils():
    """dateutil.easter is after Oudin and the US Naval Observatory; ours after Meeus.

    Every Gregorian year up to 3000, since the corrections change by the century.
    """
    assert all(easter(year) == dateutil_easter(year) for year in range(1583, 3000))
    for year in range(1900, 2100):
        assert orthodox_easter(year) == dateutil_easter(year, EASTER_ORTHODOX)


def test_dates_of_the_published_table():
    """Easter, Orthodox Easter, Thanksgiving, Memorial Day, Labor Day, as published calendars."""
    table = {
        2024: "03-31 05-05 11-28 05-27 09-02",
        2025: "04-20 04-20 11-27 05-26 09-01",
        2026: "04-05 04-12 11-26 05-25 09-07",
        2027: "03-28 05-02 11-25 05-31 09-06",
        2028: "04-16 04-16 11-23 05-29 09-04",
    }
    rules = [
        "easter",
        "orthodox easter",
        "4th thursday of november",
        "last monday of may",
        "first monday of september",
    ]
    for year, row in table.items():
        assert [f"{days(r, year)[0]:%m-%d}" for r in rules] == row.split()


@pytest.mark.parametrize("year", range(2010, 2041))
def test_thanksgiving_is_the_holidays_librarys(year):
    theirs = [
        d for d, n in holidays.country_holidays("US", years=year).items() if n == "Thanksgiving Day"
    ]
    assert days("4th thursday of november", year) == theirs
    assert days("holiday thanksgiving", year) == theirs


@pytest.mark.parametrize("year", range(2020, 2036))
def test_lunar_feasts_agree_with_other_calendars(year):
    """lunardate (Hong Kong Observatory's tables) and pyluach, which share nothing with holidays."""
    assert feast("lunar new year", year) == {LunarDate(year, 1, 1).to_solar_date()}
    assert feast("mid-autumn", year) == {LunarDate(year, 8, 15).to_solar_date()}
    first = hebrew.HebrewDate(year + 3761, 9, 25).to_pydate()  # 25 Kislev
    lit = {first + timedelta(days=i) for i in range(-1, 7)}
    got = {d for d in feast("hanukkah", year) if d.month > 10}
    assert got == {d for d in lit if d.year == year}


@pytest.mark.parametrize("year", range(2020, 2031))
def test_eid_agrees_with_umm_al_qura_within_a_day(year):
    """hijridate: the Umm al-Qura calendar; other countries look for the moon themselves."""
    around = [Hijri(h, 10, 1).to_gregorian() for h in range(year - 580, year - 576)]
    wanted = [date(g.year, g.month, g.day) for g in around if g.year == year]
    got = sorted(feast("eid al-fitr", year))
    assert len(got) == len(wanted)
    assert all(abs(a - b) <= timedelta(days=1) for a, b in zip(got, wanted, strict=True))


@pytest.mark.parametrize(
    "rule",
    [
        "FREQ=WEEKLY;BYDAY=FR,SA",
        "FREQ=YEARLY;BYMONTH=11;BYDAY=4TH",
        "FREQ=MONTHLY;BYMONTHDAY=-1",
        "FREQ=DAILY;BYMONTH=12",
        "FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-1",
        "FREQ=YEARLY;BYWEEKNO=20;BYDAY=MO",
        "FREQ=YEARLY;BYYEARDAY=1,100,200",
    ],
)
def test_rrule_is_dateutils(rule):
    theirs = rrulestr(rule, dtstart=datetime(2000, 1, 1))
    for year in (2026, 2027, 2028):
        found = theirs.between(datetime(year, 1, 1), datetime(year, 12, 31), inc=True)
        wanted = [d.date() for d in found]
        assert days(f"RRULE:{rule}", year) == wanted


def test_rrule_examples_of_rfc_5545():
    """Section 3.8.5.3: every other week on Monday, Wednesday and Friday from 1 September 1997
    until 24 December, and the 1997 presidential election day rule."""
    rule = (
        "DTSTART:19970901 RRULE:FREQ=WEEKLY;INTERVAL=2;UNTIL=19971224T000000Z;WKST=SU;"
        "BYDAY=MO,WE,FR"
    )
    got = days(rule, 1997)
    listed = (
        "09-01 09-03 09-05 09-15 09-17 09-19 09-29 10-01 10-03 10-13 10-15 10-17 10-27 "
        "10-29 10-31 11-10 11-12 11-14 11-24 11-26 11-28 12-08 12-10 12-12 12-22 12-24"
    )
    assert [f"{d:%m-%d}" for d in got] == listed.split()
    election = "RRULE:FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8"
    assert days(f"DTSTART:19961105 {election}", 2000) == [date(2000, 11, 7)]


@pytest.mark.parametrize(
    ("text", "year", "first", "last", "count"),
    [
        ("every day", 2028, "01-01", "12-31", 366),
        ("12-01..01-06", 2026, "01-01", "12-31", 37),
        ("friday..sunday", 2026, "01-02", "12-27", 156),
        ("saturday..monday", 2026, "01-03", "12-28", 156),
        ("weekend", 2026, "01-03", "12-27", 104),
        ("2026-12-24", 2026, "12-24", "12-24", 1),
        ("2026-12-24..2027-01-06", 2027, "01-01", "01-06", 6),
        ("02-29", 2026, "02-28", "02-28", 1),
        ("02-29", 2028, "02-29", "02-29", 1),
        ("easter - 2 days", 2026, "04-03", "04-03", 1),
        ("01-01 - 1 day", 2026, "12-31", "12-31", 1),
        ("12-31 + 1 day", 2026, "01-01", "01-01", 1),
        ("4th thursday of november + 1 day", 2026, "11-27", "11-27", 1),
        ("5th monday of june", 2026, "06-29", "06-29", 1),
    ],
)
def test_words_are_these_days(text, year, first, last, count):
    got = days(text, year)
    assert (f"{got[0]:%m-%d}", f"{got[-1]:%m-%d}", len(got)) == (first, last, count)


@pytest.mark.parametrize(
    ("text", "rule"),
    [
        ("first saturday of every month", "FREQ=MONTHLY;BYDAY=1SA"),
        ("last friday of each month", "FREQ=MONTHLY;BYDAY=-1FR"),
        ("5th sunday of every month", "FREQ=MONTHLY;BYDAY=5SU"),
        ("1st saturday of december", "FREQ=YEARLY;BYMONTH=12;BYDAY=1SA"),
        ("the first saturday in december", "FREQ=YEARLY;BYMONTH=12;BYDAY=1SA"),
        ("Thanksgiving", "FREQ=YEARLY;BYMONTH=11;BYDAY=4TH"),
        ("Mother's Day", "FREQ=YEARLY;BYMONTH=5;BYDAY=2SU"),
        ("father’s day", "FREQ=YEARLY;BYMONTH=6;BYDAY=3SU"),
        ("presidents' day", "FREQ=YEARLY;BYMONTH=2;BYDAY=3MO"),
        ("memorial day", "FREQ=YEARLY;BYMONTH=5;BYDAY=-1MO"),
    ],
)
def test_counted_days_are_dateutils(text, rule):
    theirs = rrulestr(rule, dtstart=datetime(2000, 1, 1))
    for year in range(2020, 2040):
        found = theirs.between(datetime(year, 1, 1), datetime(year, 12, 31), inc=True)
        assert days(text, year) == [d.date() for d in found]


@pytest.mark.parametrize(
    ("ours", "theirs", "country"),
    [
        ("martin luther king day", "Martin Luther King Jr. Day", "US"),
        ("presidents day", "Washington's Birthday", "US"),
        ("memorial day", "Memorial Day", "US"),
        ("juneteenth", "Juneteenth National Independence Day", "US"),
        ("the 4th of july", "Independence Day", "US"),
        ("labor day", "Labor Day", "US"),
        ("columbus day", "Columbus Day", "US"),
        ("veterans day", "Veterans Day", "US"),
        ("thanksgiving", "Thanksgiving Day", "US"),
        ("christmas", "Christmas Day", "US"),
        ("new year's day", "New Year's Day", "US"),
        ("thanksgiving", "Thanksgiving Day", "CA-ON"),
        ("good friday", "Good Friday", "CA-ON"),
    ],
)
def test_named_days_are_the_holidays_librarys(ours, theirs, country):
    code, _, part = country.partition("-")
    for year in range(2022, 2036):
        table = holidays.country_holidays(code, subdiv=part or None, years=year, observed=False)
        assert days(ours, year, country) == [d for d, n in table.items() if theirs in n.split("; ")]


#: Thanksgiving of the United States, as published calendars have it.
THANKSGIVING = {2024: 28, 2025: 27, 2026: 26, 2027: 25, 2028: 23, 2029: 22, 2030: 28}


@pytest.mark.parametrize(
    "text", ["thanksgiving..01-01", "4th thursday of november..new year's day"]
)
def test_range_from_thanksgiving_over_the_new_year(text):
    for year, day in THANKSGIVING.items():
        first = date(year, 11, day)
        wanted = [date(year, 1, 1)]
        wanted += [first + timedelta(days=i) for i in range((date(year, 12, 31) - first).days + 1)]
        assert days(text, year) == wanted


@pytest.mark.parametrize(
    ("text", "year", "first", "last", "count"),
    [
        ("easter - 2 days..easter + 1 day", 2026, "04-03", "04-06", 4),
        ("black friday..epiphany", 2026, "01-01", "12-31", 6 + 4 + 31),
        ("hanukkah..12-25", 2026, "12-04", "12-25", 22),
        ("12-01..hanukkah", 2026, "12-01", "12-11", 11),
        ("thanksgiving..thanksgiving", 2026, "11-26", "11-26", 1),
        ("2026-11-26..01-01", 2026, "11-26", "12-31", 36),
        ("2026-11-26..01-01", 2027, "01-01", "01-01", 1),
        ("thanksgiving..2027-01-01", 2026, "11-26", "12-31", 36),
        ("thanksgiving..2027-01-01", 2027, "01-01", "01-01", 1),
    ],
)
def test_ranges_of_any_two_days(text, year, first, last, count):
    got = days(text, year)
    assert (f"{got[0]:%m-%d}", f"{got[-1]:%m-%d}", len(got)) == (first, last, count)
    assert days(text, 2031) == [] or ("2026" not in text and "2027" not in text)


def test_every_example_of_the_error_can_be_copied():
    with pytest.raises(InputError) as caught:
        parse_days("soonish")
    examples = re.findall(r'"([^"]+)"', str(caught.value))[1:]
    assert len(examples) == 8
    for text in examples:
        assert parse_days(text).find(2026)


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("11/26..1/1", '"11-26..01-01" (month-day)'),
        ("24/12", '"12-24" (month-day)'),
        ("24.12.", '"12-24" (month-day)'),
        ("24.12..26.12", '"12-24..12-26" (month-day)'),
        ("24.12. – 6.1.", '"12-24..01-06" (month-day)'),
        ("1-6", '"01-06" (month-day)'),
        ("24/12..6/1", '"12-24..01-06" (month-day)'),
        ("6.1.", '"01-06" (month-day)'),
        ("december 24", '"12-24" (month-day)'),
        ("24th dec..jan 6", '"12-24..01-06" (month-day)'),
        ("12-01 to 01-06", '"12-01..01-06" (month-day)'),
        ("12-01 - 01-06", '"12-01..01-06" (month-day)'),
        ("friday to sunday", '"friday..sunday"'),
    ],
)
def test_what_was_meant_is_offered(text, meant):
    with pytest.raises(InputError, match=re.escape(f"isn't a day; write {meant}")):
        parse_days(text)


def test_fifth_monday_is_not_in_every_month():
    assert days("5th monday of february", 2026) == []


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("", "days are"),
        ("x" * 300, "expected days such as"),
        ("fryday", '"fryday" isn.t a day; did you mean "friday"'),
        ("eastr", 'did you mean "easter"'),
        ("every friday", 'isn.t a day; write "friday"$'),
        ("fridays", 'isn.t a day; write "friday"$'),
        ("monday-friday", 'isn.t a day; write "monday..friday"$'),
        ("Mon - Thurs", 'isn.t a day; write "monday..thursday"$'),
        ("fri to sun", 'isn.t a day; write "friday..sunday"$'),
        ("mon..fri", 'isn.t a day; write "monday..friday"$'),
        ("weekdays", 'isn.t a day; write "monday..friday"$'),
        ("tues and Saturdays", r'isn.t a day; write \["tuesday", "saturday"\]$'),
        ("2026-11-28, 12/5", r'isn.t a day; write \["2026-11-28", "12-05"\]$'),
        ("christmas and foo", "did you mean"),
        (
            "every other friday",
            'write "DTSTART:20260102 RRULE:FREQ=WEEKLY;INTERVAL=2;BYDAY=FR", with the date of',
        ),
        ("Xmas", 'isn.t a day; write "christmas"$'),
        ("mom's birthday", 'isn.t a day; write its date: month and day, as in "06-05"'),
        ("first day of december", '"day" isn.t a day of the week; expected monday to sunday'),
        ("13-01", 'isn.t a day; write "01-13"'),
        ("02-30", '^"02-30" isn.t a day of the year; expected one such as 06-05'),
        ("2026-02-30", '"2026-02-30" isn.t a date'),
        ("2026-12-24..2026-12-01", "ends before it begins"),
        ("4th thursday of novembre", 'isn.t a month; did you mean "november"'),
        ("6th thursday of november", "isn.t a count"),
        ("4th thorsday of november", 'isn.t a day of the week; did you mean "thursday"'),
        ("thanksgivin", 'did you mean "thanksgiving"'),
        ("friday..01-01", '"friday" comes more than once a year, so it can.t end a range'),
        ("first monday of every month..01-01", "can.t end a range"),
        ("holiday labour day", r'no public holiday "labour day" in US; did you mean "labor day"'),
        ("RRULE:FREQ=OFTEN", "isn.t an RRULE of RFC 5545"),
        ("RRULE:nothing at all", "isn.t an RRULE"),
        ("RRULE:FREQ=YEARLY;BYDAY=99MO", "has no days; check its BYDAY"),
        ("RRULE:FREQ=HOURLY", "repeats within a day"),
        ("RRULE:FREQ=WEEKLY;INTERVAL=2", "counts from a day; write"),
        ("RRULE:FREQ=DAILY;COUNT=5", "counts from a day; write"),
        ("12-01...01-06", "isn.t a d"),
    ],
)
def test_words_that_are_no_days(text, match):
    with pytest.raises(InputError, match=match):
        parse_days(text, "US")


def test_days_of_the_united_states_elsewhere():
    with pytest.raises(InputError, match='is a day of the United States, but country is "NL"'):
        parse_days("thanksgiving", "NL")
    assert parse_days("thanksgiving", "").find(2026) == {date(2026, 11, 26)}


def test_holidays_need_a_country_that_is_known():
    with pytest.raises(InputError, match=re.escape('write country = "US" in [almanac]')):
        parse_days("holiday")
    with pytest.raises(InputError, match='country is "XX"; no public holidays are known'):
        parse_days("holiday", "XX")
    assert date(2026, 4, 27) in parse_days("holiday", "NL"), "King's Day"
    assert date(2026, 7, 3) not in parse_days("holiday", "US"), "not the day off, the day itself"


def test_diwali_is_at_the_new_moon_before_the_middle_of_november():
    """Published dates, from memory. Its month is that in which the sun enters Libra by the stars,
    17 October, so the new moon that ends it is at most 30 days later [M].
    """
    known = ("2024-10-31", "2025-10-20", "2026-11-08", "2027-10-29", "2028-10-17", "2029-11-05")
    for text in (*known, "2030-10-26"):
        day = date.fromisoformat(text)
        assert feast("diwali", day.year) == {day}
    for year in range(2001, 2036):
        (day,) = feast("diwali", year)
        assert date(year, 10, 16) <= day <= date(year, 11, 15), year
    assert feast("diwali", 2050), "later ones are estimates"


@pytest.mark.parametrize(
    ("name", "month", "day", "length"),
    [
        ("passover", 1, 15, 8),
        ("rosh hashanah", 7, 1, 2),
        ("yom kippur", 7, 10, 1),
        ("sukkot", 7, 15, 7),
        ("shavuot", 3, 6, 2),
        ("purim", 0, 14, 1),
    ],
)
def test_hebrew_feasts_begin_on_the_evening_before(name, month, day, length):
    """By pyluach, an independent Hebrew calendar; days and lengths [M]. Purim is in the last month."""
    for year in range(2024, 2041):
        hebrew_year = year + 3760 + (month == 7)
        last = 13 if _leap(hebrew_year) else 12
        first = hebrew.HebrewDate(hebrew_year, month or last, day).to_pydate()
        wanted = {first + timedelta(days=i - 1) for i in range(length)}
        assert feast(name, year) == {d for d in wanted if d.year == year}, year


def _leap(year):
    """A Hebrew year of thirteen months: seven in nineteen [M]."""
    return (7 * year + 1) % 19 < 7


def test_advent_and_other_days_of_winter():
    """The first Sunday of Advent is the one nearest to 30 November (St Andrew's) [M]."""
    for year in range(2020, 2050):
        (first,) = days("first advent", year)
        assert first.weekday() == 6 and abs((first - date(year, 11, 30)).days) <= 3
        season = days("advent", year)
        assert season[0] == first and season[-1] == date(year, 12, 24)
        assert len(season) == (season[-1] - first).days + 1
    assert days("kwanzaa", 2026)[0] == date(2026, 1, 1) and len(days("kwanzaa", 2026)) == 7
    assert len(days("twelve days of christmas", 2026)) == 12
    assert days("ash wednesday", 2026) == [date(2026, 2, 18)]
    assert days("Burns Night", 2026) == [date(2026, 1, 25)]


def test_easter_sunday_is_easter():
    """Its Monday was proposed for it; 5 April 2026 from memory."""
    assert days("easter sunday", 2026) == days("easter", 2026) == [date(2026, 4, 5)]
