"""Palettes for mourning, and for what a month asks to be aware of."""

from __future__ import annotations

#: Name, occasion, when, stops, and words that lead to it; "steps" where colours are side by side.
ROWS: tuple[tuple[str, str, str, str, str], ...] = (
    (
        "memory-candle",
        "Days of mourning",
        "27 January and others",
        "#ffd9a0 #ff9a3c",
        "holocaust memorial yahrzeit mourning memory vigil",
    ),
    (
        "dawn-service",
        "ANZAC Day",
        "25 April",
        "#ff4a2f #ffa860 #3457d6",
        "anzac remembrance australia zealand dawn",
    ),
    (
        "quiet-salute",
        "Memorial Day (United States)",
        "the last Monday of May",
        "#ff2440 #ffe9cf #3450ff",
        "memorial veterans remembrance usa",
    ),
    (
        "poppy-field",
        "Remembrance Day",
        "11 November",
        "#ff1020 #2fa04a #fff2dc",
        "remembrance armistice poppy veterans",
    ),
    (
        "strong-heart",
        "Heart awareness",
        "February",
        "#ff1a2b #ff7a6a",
        "awareness month heart red february",
    ),
    (
        "many-minds",
        "Autism awareness",
        "April",
        "#1f6bff #ff3b4a #ffd21f #30c060",
        "awareness month autism neurodiversity april",
    ),
    (
        "green-may",
        "Mental health awareness",
        "May",
        "#1fb84a #b6f06b",
        "awareness month mental health green may",
    ),
    (
        "gold-september",
        "Childhood cancer awareness",
        "September",
        "#ffb000 #ffe29a",
        "awareness month childhood cancer gold september",
    ),
    (
        "pink-october",
        "Breast cancer awareness",
        "October",
        "#ff3f9a #ffa0d0",
        "awareness month breast cancer pink ribbon october",
    ),
    (
        "violet-vigil",
        "Domestic violence awareness",
        "October",
        "#7a1fe0 #c08bff",
        "awareness month domestic violence epilepsy purple",
    ),
    (
        "blue-november",
        "Men's health awareness",
        "November",
        "#1f6bff #7fc0ff",
        "awareness month men health november diabetes",
    ),
    (
        "orange-days",
        "Days against violence towards women",
        "25 November to 10 December",
        "#ff6a00 #ffb85c",
        "awareness women violence orange",
    ),
    (
        "sky-rose-white",
        "Transgender awareness",
        "31 March and 20 November",
        "#42c4ff #ff8fb0 #ffffff",
        "awareness transgender trans visibility",
    ),
    (
        "red-december",
        "World AIDS Day",
        "1 December",
        "#ff0a1e #ff6a5a",
        "awareness aids hiv red ribbon",
    ),
)
