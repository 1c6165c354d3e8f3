"""Palettes that come with the package: for every day, and for occasions around the year.

Colours are chosen for LEDs: no browns, greys or blacks, which lights can't show, and no pastels,
which wash out. Customs vary: these are suggestions. The colours of an occasion are common
knowledge, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from lumenmap.colour.palette import Palette


@dataclass(frozen=True, slots=True)
class Row:
    """A palette, its occasion and its time of year."""

    palette: Palette
    occasion: str
    when: str


# name, occasion, when, stops; "steps" where colours are side by side, as in a flag.
_ROWS: tuple[tuple[str, str, str, str], ...] = (
    ("candlelight", "every day", "any evening", "#ffa033 #ff7a0f #ffc56b"),
    ("lamp-white", "every day", "any evening", "#ffd2a0 #ffe8cf"),
    ("moonlit", "every day", "any evening", "#bcd4ff #6f9bff #2b4fd6"),
    ("spectrum", "every day", "any evening", "red yellow lime cyan blue magenta"),
    ("ember", "every day", "autumn and winter", "#8f0a00 #d81e00 #ff5a00 #ffb02e"),
    (
        "frost",
        "winter",
        "December to February",
        "#dff3ff oklch(0.62 0.14 240) #0b2c8f oklch(0.8 0.09 220)",
    ),
    ("northern-sky", "winter", "clear nights", "#12d88a #1fb5c9 #3a4fd8 #8a2be2"),
    ("midnight-toast", "New Year's Eve", "31 December", "#ffd36b #fff4dc #ffb02e #2236c9"),
    ("red-packet", "Lunar New Year", "January or February", "#e60012 #ffb400 #ff2d55 #ffd24a"),
    ("love-letter", "Valentine's Day", "14 February", "#ff1f4b #ff5fa2 #c4003a #ffb3cf"),
    ("masked-parade", "Carnival, Mardi Gras", "the days before Lent", "#7a1fd1 #00a651 #ffc20e"),
    (
        "colour-powder",
        "Holi",
        "full moon of March",
        "#ff1493 #ff8c00 #ffe100 #20d060 #00b4ff #8a2be2",
    ),
    ("clover-hill", "Saint Patrick's Day", "17 March", "#00a83b #5fe36b #ffffff #ff9a1f"),
    ("sprouting-wheat", "Nowruz", "spring equinox", "#35c759 #ff4f5e #ffb02e #a06bff #ffe45c"),
    ("egg-hunt", "Easter", "March or April", "#ffd23f #ff7ab8 #7ad35f #5fb8ff #b57bff"),
    ("first-cup", "Passover", "March or April", "#2f6bff #e8f0ff #8f1d5a #ffd27a"),
    (
        "new-crescent",
        "Ramadan and Eid al-Fitr",
        "by the Islamic calendar",
        "#00a878 #ffd166 #f4fbff #1f3fbf",
    ),
    ("water-garden", "Songkran", "13 to 15 April", "#00c2ff #00e6b8 #ffd84a #ff6fb5"),
    ("lotus-lamp", "Vesak", "full moon of May", "#1f4fff #ffd400 #f0142f #fff6e6 #ff7a1a"),
    ("rainbow-street", "Pride", "June", "#ff0018 #ffa52c #ffff41 #00a030 #0033ff #9b00a8 steps"),
    ("freedom-day", "Juneteenth", "19 June", "#e0121f #ffffff #1f3fd6 #ffb81c #00963c"),
    ("meadow-wreath", "Midsummer", "the Friday after 19 June", "#4fd04a #fff3c4 #ffd21f #4f6bff"),
    ("maple-leaf", "Canada Day", "1 July", "#ff1a1a #fff4ea steps"),
    ("three-cheers", "Independence Day (United States)", "4 July", "#ff0a2e #fff6ec #1a2cff"),
    ("tricolour", "Bastille Day", "14 July", "#0070ff #ffffff #ff3b22 steps"),
    ("floating-lantern", "Obon", "July or August", "#ffa646 #ff7350 #4b3fe0 #1f49c4"),
    (
        "full-moon",
        "Mid-Autumn Festival, Chuseok",
        "September or October",
        "#ffe08a #ff9f2e #00b386 #3147c8",
    ),
    (
        "nine-nights",
        "Navaratri and Durga Puja",
        "September or October",
        "#ff8f00 #e6003c #2fbf4f #ffd500 #2a5bff #b02ee6 #00c9b1",
    ),
    ("row-of-lamps", "Diwali", "October or November", "#ffb000 #ff6a00 #ff1f8f #ffd86b #7a2be0"),
    ("jack-o-lantern", "Halloween", "31 October", "#ff6a00 #7a1fe0 #3fd000 #ff8f1f"),
    (
        "marigold-altar",
        "Day of the Dead",
        "1 and 2 November",
        "#ff9a00 #ff2e93 #ffc400 #00b5c8 #8e2de2",
    ),
    ("bonfire", "Guy Fawkes Night", "5 November", "#ff3b00 #ff8a00 #ffe14a #4468d8"),
    ("lantern-walk", "Saint Martin's Day", "11 November", "#ffc12e #ff4326 #fff0c9 #2746c4"),
    ("harvest-table", "Thanksgiving", "October or November", "#d4003f #ff7518 #86b84e #ffd06b"),
    ("crown-of-candles", "Saint Lucy's Day", "13 December", "#fff0d0 #ffd08a #e0182d #1f9d4d"),
    ("eight-nights", "Hanukkah", "November or December", "#1f57ff #f2f7ff #5fa0ff #ffd98a"),
    ("fir-and-berry", "Christmas", "25 December", "#00963c #e3122d #ffe2b0 #ffb02e"),
    ("seven-candles", "Kwanzaa", "26 December to 1 January", "#e01a22 #14a04a #ffc21f"),
)


@lru_cache(maxsize=1)
def rows() -> tuple[Row, ...]:
    """Return the palettes that come with the package, with their occasions."""
    made = []
    for name, occasion, when, text in _ROWS:
        stops = _split(text)
        steps = stops[-1] == "steps"
        made.append(Row(Palette(name, stops[:-1] if steps else stops, steps=steps), occasion, when))
    return tuple(made)


def _split(text: str) -> list[str]:
    """Split a row's colours at spaces, but not inside the parentheses of a CSS function."""
    words: list[str] = []
    for word in text.split():
        if words and words[-1].count("(") > words[-1].count(")"):
            words[-1] += " " + word
        else:
            words.append(word)
    return words


def builtin() -> dict[str, Palette]:
    """Return the palettes that come with the package, by name."""
    return {row.palette.name: row.palette for row in rows()}
