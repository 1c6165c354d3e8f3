"""Palettes for every day, for families and for clubs."""

from __future__ import annotations

#: Name, occasion, when, stops, and words that lead to it; "steps" where colours are side by side.
ROWS: tuple[tuple[str, str, str, str, str], ...] = (
    ("candlelight", "every day", "any evening", "#ffa033 #ff7a0f #ffc56b", "candle fire warm cosy"),
    ("lamp-white", "every day", "any evening", "#ffd2a0 #ffe8cf", "warm white plain lamp bulb"),
    ("moonlit", "every day", "any evening", "#bcd4ff #6f9bff #2b4fd6", "moon night cool blue"),
    (
        "spectrum",
        "every day",
        "any evening",
        "red yellow lime cyan blue magenta",
        "rainbow colours all",
    ),
    (
        "ember",
        "every day",
        "autumn and winter",
        "#8f0a00 #d81e00 #ff5a00 #ffb02e",
        "fire coals warm autumn",
    ),
    (
        "paper-streamers",
        "Birthday",
        "any day",
        "#ff2d6f #ffd21f #19c3ff #7a3cff #36d65a",
        "birthday party cake balloons",
    ),
    (
        "veil-and-rose",
        "Wedding",
        "any day",
        "#fff1e0 #ff9f7a #ff6f9c #ffd98a",
        "wedding marriage bride anniversary",
    ),
    (
        "first-cradle",
        "A newborn child",
        "any day",
        "#4fbcff #ff7fb5 #ffdf7a #7fe0a8",
        "newborn baby boy girl birth shower christening",
    ),
    (
        "red-white-scarf",
        "A club's two colours",
        "match days",
        "#ff1020 #fff6ea steps",
        "club team football match red white",
    ),
    (
        "blue-white-scarf",
        "A club's two colours",
        "match days",
        "#1f4fff #f4f8ff steps",
        "club team football match blue white",
    ),
    (
        "blue-gold-scarf",
        "A club's two colours",
        "match days",
        "#1f3fff #ffc21f steps",
        "club team match blue gold yellow",
    ),
    (
        "green-white-scarf",
        "A club's two colours",
        "match days",
        "#00b04a #f6fff2 steps",
        "club team football match green white",
    ),
    (
        "red-blue-scarf",
        "A club's two colours",
        "match days",
        "#ff1a30 #2040ff steps",
        "club team football match red blue",
    ),
    (
        "black-gold-scarf",
        "A club's colours beside black",
        "match days",
        "#ffb400 #fff1d0 steps",
        "club team match black gold",
    ),
)
