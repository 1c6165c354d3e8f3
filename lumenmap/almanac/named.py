"""Days known by name whose dates follow a rule: no library needed.

Federal holidays: 5 U.S.C. 6103(a); Mother's and Father's Day: 36 U.S.C. 117 and 109; Thanksgiving
in Canada: the proclamation of 31 January 1957. All [M].
"""

from __future__ import annotations

from lumenmap.core.errors import InputError

_EVERYWHERE = {
    "new years day": "01-01",
    "epiphany": "01-06",
    "valentines day": "02-14",
    "st patricks day": "03-17",
    "halloween": "10-31",
    "st martins day": "11-11",
    "st nicholas day": "12-06",
    "st lucys day": "12-13",
    "christmas eve": "12-24",
    "christmas": "12-25",
    "christmas day": "12-25",
    "boxing day": "12-26",
    "new years eve": "12-31",
    "twelfth night": "01-05",
    "three kings day": "01-06",
    "burns night": "01-25",
    "candlemas": "02-02",
    "st davids day": "03-01",
    "st georges day": "04-23",
    "walpurgis night": "04-30",
    "may day": "05-01",
    "all saints day": "11-01",
    "all souls day": "11-02",
    "guy fawkes night": "11-05",
    "bonfire night": "11-05",
    "st andrews day": "11-30",
    "mardi gras": "easter - 47 days",
    "shrove tuesday": "easter - 47 days",
    "ash wednesday": "easter - 46 days",
    "maundy thursday": "easter - 3 days",
    "ascension day": "easter + 39 days",
    "whit monday": "easter + 50 days",
    "corpus christi": "easter + 60 days",
    "good friday": "easter - 2 days",
    "easter sunday": "easter",
    "easter monday": "easter + 1 day",
    "palm sunday": "easter - 7 days",
    "pentecost": "easter + 49 days",
}
_UNITED_STATES = {
    "martin luther king day": "3rd monday of january",
    "presidents day": "3rd monday of february",
    "mothers day": "2nd sunday of may",
    "memorial day": "last monday of may",
    "juneteenth": "06-19",
    "fathers day": "3rd sunday of june",
    "independence day": "07-04",
    "4th of july": "07-04",
    "july 4th": "07-04",
    "labor day": "1st monday of september",
    "columbus day": "2nd monday of october",
    "indigenous peoples day": "2nd monday of october",
    "veterans day": "11-11",
    "thanksgiving": "4th thursday of november",
    "thanksgiving day": "4th thursday of november",
    "black friday": "4th thursday of november + 1 day",
}
_CANADA = {
    "canada day": "07-01",
    "thanksgiving": "2nd monday of october",
    "thanksgiving day": "2nd monday of october",
}

NAMES = tuple({**_EVERYWHERE, **_UNITED_STATES})


def rule_of(words: str, country: str) -> str | None:
    """Return the rule of a named day, or None if it has no such name.

    Where the almanac names no country, they are the days of the United States.

    Raises
    ------
    InputError
        A day of the United States in an almanac of another country.
    """
    plain = words.replace("’", "").replace("'", "").removeprefix("the ")
    plain = plain.replace("saint ", "st ").replace("st. ", "st ")
    if plain in _EVERYWHERE:
        return _EVERYWHERE[plain]
    if country.startswith("CA") and plain in _CANADA:
        return _CANADA[plain]
    if plain in _UNITED_STATES and country and not country.startswith("US"):
        raise InputError(
            f'"{words}" is a day of the United States, but country is "{country}"; '
            f'write "holiday {words}", or "{_UNITED_STATES[plain]}"'
        )
    return _UNITED_STATES.get(plain)
