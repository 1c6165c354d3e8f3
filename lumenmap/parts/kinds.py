"""Pixel kinds: the electrical row of each addressable LED part.

Sources, carried from the facts they came from: [P] published text, [P2] a third-party copy or
summary, [M] from memory, [C] common practice, no source, [K] computed. Datasheet revisions
disagree, so every figure may be overridden with the user's own measurement.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from lumenmap.core.errors import InputError, unknown


@dataclass(frozen=True, slots=True)
class PixelKind:
    """What one addressable unit draws, carries and needs.

    Attributes
    ----------
    name
        The row's name.
    order
        Channel order on the wire, ``RGB``, ``GRB``, ``GRBW``…; its length is the channel count.
    volts, min_volts
        Nominal supply, and the least at the pixel for a full, true colour (V).
    channel_ma
        Current of each channel at full (mA), in the canonical order R, G, B(, W).
    idle_ma
        Current at code 0 (mA).
    bit_us, reset_us
        Time of one bit on the wire and the low time that latches a frame (µs).
    pwm_hz
        Dimming frequency (Hz).
    source
        Where the figures are from.
    """

    name: str
    order: str
    volts: float
    min_volts: float
    channel_ma: tuple[float, ...]
    idle_ma: float
    bit_us: float
    reset_us: float
    pwm_hz: float
    source: str

    @property
    def channels(self) -> int:
        """Channels a pixel has: 3, or 4 with a white die."""
        return len(self.order)

    @property
    def pixel_us(self) -> float:
        """Time one pixel's bits take on the wire (µs)."""
        return 8 * self.channels * self.bit_us

    def max_fps(self, pixels: int) -> float:
        """Return the highest refresh rate (frames/s) of a line of ``pixels``."""
        return 1e6 / (pixels * self.pixel_us + self.reset_us)


_ROWS = (
    PixelKind("ws2811-12v", "RGB", 12.0, 9.6, (18.5, 18.5, 18.5), 0.7, 1.25, 280.0, 2000.0,
              "WS2811 datasheet: 18.5 mA constant, 800 kb/s [P]; 0.7 mA idle [P2]; reset of later "
              "parts [M]; 12 V builds differ, measure yours [C]"),
    PixelKind("ws2811-5v", "RGB", 5.0, 4.5, (18.5, 18.5, 18.5), 0.7, 1.25, 280.0, 2000.0,
              "WS2811 datasheet: 18.5 mA constant, 800 kb/s [P]; 0.7 mA idle [P2]; 4.5 V [C]"),
    PixelKind("ws2812b", "GRB", 5.0, 4.5, (20.0, 20.0, 20.0), 0.4, 1.25, 280.0, 430.0,
              "60 mA full white, the usual worst case [P]; 0.4 mA idle measured [P2]; "
              "reset of newer parts, so that both kinds latch [P2]"),
    PixelKind("ws2812b-v5", "GRB", 5.0, 4.5, (12.0, 12.0, 12.0), 0.6, 1.25, 280.0, 2000.0,
              "WS2812B-2020 text: 12 mA, >280 us, 2 kHz [P]; 0.6 mA idle [P2]"),
    PixelKind("sk6812", "GRB", 5.0, 4.5, (20.0, 20.0, 20.0), 1.0, 1.25, 80.0, 1100.0,
              "12-20 mA by variant, the larger taken [P]; 1.0 mA idle [P2]"),
    PixelKind("sk6812-rgbw", "GRBW", 5.0, 4.5, (20.0, 20.0, 20.0, 20.0), 1.0, 1.25, 80.0, 1100.0,
              "12-20 mA by variant, the larger taken [P]; 1.0 mA idle [P2]"),
)  # fmt: skip

PIXEL_KINDS: dict[str, PixelKind] = {row.name: row for row in _ROWS}


def pixel_kind(name: str, **measured: object) -> PixelKind:
    """Return a row of the table, with the user's own figures put in.

    Raises
    ------
    InputError
        No such row; names the nearest.
    """
    if name not in PIXEL_KINDS:
        raise InputError(unknown("pixel kind", name, PIXEL_KINDS))
    row = PIXEL_KINDS[name]
    given = {k: v for k, v in measured.items() if v is not None}
    if not given:
        return row
    source = f"{row.source}; given by the house file: {', '.join(sorted(given))}"
    return replace(row, source=source, **given)  # type: ignore[arg-type]
