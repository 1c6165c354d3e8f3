"""Pixel kinds: the electrical row of each addressable LED part.

Few rows come from a data sheet alone: each says which of its figures are [P] published text, [P2]
a copy, a summary or somebody's measurement, [M] from memory, [C] common practice without a source,
[K] computed. Revisions of the sheets disagree too, so a house may give its own figures instead.
"""

from __future__ import annotations

import math
from dataclasses import fields, replace

from lumenmap.core.errors import InputError, unknown
from lumenmap.parts.kind import PixelKind

#: Three LEDs in series in the usual 12 V build; one in a 5 V pixel. An LED goes dark some 0.5 V
#: below its forward volts at full current: red 2.0-2.2, green and blue 3.0-3.4 V [P: WS2812B
#: datasheet text]; the 0.5 V from memory [M].
_OFF_5V = (1.6, 2.6, 2.6)
_OFF_12V = (4.8, 7.8, 7.8)

_ROWS = (
    PixelKind(
        "ws2811-12v",
        "RGB",
        12.0,
        9.6,
        (18.5,) * 3,
        0.7,
        1.25,
        280.0,
        2000.0,
        "WS2811 datasheet: 18.5 mA constant, 800 kb/s [P]; 0.7 mA idle [P2]; reset of later "
        "parts [M]; 9.6 V is three green or blue LEDs of 3.2 V in series [K]; 12 V builds "
        "differ, measure yours [C]",
        _OFF_12V,
    ),
    PixelKind(
        "ws2811-12v-400k",
        "RGB",
        12.0,
        9.6,
        (18.5,) * 3,
        0.7,
        2.5,
        50.0,
        400.0,
        "WS2811 datasheet in its slow mode: 400 kb/s, 50 us reset, 400 Hz [P]; the rest as "
        "ws2811-12v",
        _OFF_12V,
    ),
    PixelKind(
        "ws2811-5v",
        "RGB",
        5.0,
        4.5,
        (18.5,) * 3,
        0.7,
        1.25,
        280.0,
        2000.0,
        "WS2811 datasheet: 18.5 mA constant, 800 kb/s [P]; 0.7 mA idle [P2]; reset of later "
        "parts [M]; 4.5 V [C]",
        _OFF_5V,
    ),
    PixelKind(
        "ws2812b",
        "GRB",
        5.0,
        4.5,
        (20.0,) * 3,
        0.4,
        1.25,
        280.0,
        430.0,
        "60 mA full white, the usual worst case [P]; 0.4 mA idle and 430 Hz measured [P2]; "
        "reset of newer parts, so that both kinds latch [P2]; 4.5 V [C]; dies 620-625 nm "
        "390-420 mcd, 522-525 nm 660-720 mcd, 465-467 nm 180-200 mcd [P]",
        _OFF_5V,
        None,
        (622.5, 523.5, 466.0),
        (405.0, 690.0, 190.0),
    ),
    PixelKind(
        "ws2812b-v5",
        "GRB",
        5.0,
        4.5,
        (12.0,) * 3,
        0.6,
        1.25,
        280.0,
        2000.0,
        "WS2812B-2020 text: 12 mA, >280 us, 2 kHz [P]; 0.6 mA idle [P2]; 4.5 V [C]",
        _OFF_5V,
    ),
    PixelKind(
        "sk6812",
        "GRB",
        5.0,
        4.5,
        (20.0,) * 3,
        1.0,
        1.25,
        80.0,
        1100.0,
        "12-20 mA by variant, the larger taken [P]; 1.0 mA idle [P2]; 1.1 kHz measured [P]; "
        "4.5 V [C]",
        _OFF_5V,
    ),
    PixelKind(
        "sk6812-rgbw",
        "GRBW",
        5.0,
        4.5,
        (20.0,) * 4,
        1.0,
        1.25,
        80.0,
        1100.0,
        "12-20 mA by variant, the larger taken [P]; 1.0 mA idle [P2]; 1.1 kHz measured [P]; "
        "the white die is a blue one under phosphor, so its volts are blue's; 4.5 V [C]; sold "
        "from 2700 to 6500 K, 4000 K taken, 6 lm from 20 mA [C]: 1900 mcd spread evenly (cosine "
        "law) [K]",
        (*_OFF_5V, 2.6),
        white_kelvin=4000.0,
        white_intensity=1900.0,
    ),
    PixelKind(
        "apa102",
        "BGR",
        5.0,
        4.5,
        (20.0,) * 3,
        1.0,
        0.1,
        10.0,
        19000.0,
        "about 20 mA a channel, 1.0 mA idle, 32 bits, 19 kHz [P2]; clocked at 10 MHz here, "
        "the part takes more [P]; 4.5 V [C]",
        _OFF_5V,
        32,
    ),
)

PIXEL_KINDS: dict[str, PixelKind] = {row.name: row for row in _ROWS}

#: Plausible measurements, low and high: anything beyond is a mistake, perhaps of the unit.
_PLAUSIBLE = {
    "volts": (2.0, 60.0),
    "min_volts": (1.0, 60.0),
    "channel_ma": (0.1, 2000.0),
    "idle_ma": (0.0, 500.0),
    "bit_us": (0.01, 100.0),
    "reset_us": (0.0, 100_000.0),
    "pwm_hz": (10.0, 1e6),
    "off_volts": (0.0, 60.0),
    "dominant_nm": (400.0, 680.0),
    "intensity": (1e-3, 1e6),
    "white_kelvin": (1500.0, 20_000.0),
    "white_intensity": (1e-3, 1e6),
}


def pixel_kind(name: str, **measured: object) -> PixelKind:
    """Return a row of the table, with the user's own figures in it; its source lists them.

    Raises
    ------
    InputError
        No such row (suggests the nearest), or an implausible figure.
    """
    if name not in PIXEL_KINDS:
        raise InputError(unknown("pixel kind", name, PIXEL_KINDS))
    row = PIXEL_KINDS[name]
    given = {k: v for k, v in measured.items() if v is not None and v != getattr(row, k)}
    if not given:
        return row
    source = f"{row.source}; given by the house file: {', '.join(sorted(given))}"
    made = replace(row, source=source, **given)  # type: ignore[arg-type]
    _check(made)
    return made


def _check(kind: PixelKind) -> None:
    """Raise `InputError` for figures that are implausible, alone or together."""
    names = {f.name for f in fields(kind)}
    for key in names & _PLAUSIBLE.keys():
        low, high = _PLAUSIBLE[key]
        value = getattr(kind, key)
        for one in value if isinstance(value, tuple) else () if value is None else (value,):
            if not (math.isfinite(one) and low <= one <= high):
                raise InputError(f"is {one:g}; expected {low:g} to {high:g}", key=key)
    if sorted(kind.order) not in (sorted("RGB"), sorted("RGBW")):
        raise InputError(
            f'is "{kind.order}"; expected the letters RGB or RGBW in the order of the wire, as GRB',
            key="order",
        )
    for key in ("white_kelvin", "white_intensity"):
        if getattr(kind, key) is not None and kind.channels < 4:
            raise InputError(f"{kind.name} pixels have no white die", key=key)
    for key in ("channel_ma", "off_volts"):
        if len(getattr(kind, key)) != kind.channels:
            raise InputError(
                f"has {len(getattr(kind, key))} figures, but order {kind.order} has "
                f"{kind.channels} channels",
                key=key,
            )
    if not max(kind.off_volts) < kind.min_volts <= kind.volts:
        raise InputError(
            f"is {kind.min_volts:g} V; expected above {max(kind.off_volts):g} V, where a "
            f"channel is dark, and not above the {kind.volts:g} V of the supply",
            key="min_volts",
        )
