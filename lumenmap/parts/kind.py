"""`PixelKind`: the electrical figures of one addressable LED part."""

from __future__ import annotations

from dataclasses import dataclass

#: Dies for kinds that give none: WS2813A at 18 mA, 620-622 nm 480 mcd, 522-525 nm 1500 mcd,
#: 467-470 nm 320 mcd [M: from a strip maker's manual whose title was not kept].
DOMINANT_NM = (621.0, 523.5, 468.5)


INTENSITY = (480.0, 1500.0, 320.0)


@dataclass(frozen=True, slots=True)
class PixelKind:
    """The electrical figures of one addressable unit.

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
        Source of the figures.
    off_volts
        Voltage at the pixel below which each channel is dark, canonical order. Between this and
        the voltage it needs, a channel fades: see `full_volts`.
    wire_bits
        Bits a pixel takes on the wire, if not 8 a channel.
    dominant_nm
        Dominant wavelengths of the red, green and blue dies (nm).
    intensity
        Their luminous intensities at full, in any one unit: only the ratios count.
    white_kelvin, white_intensity
        Colour temperature of the white die (K), and its luminous intensity at full in the unit of
        ``intensity``; None without one.
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
    off_volts: tuple[float, ...]
    wire_bits: int | None = None
    dominant_nm: tuple[float, ...] = DOMINANT_NM
    intensity: tuple[float, ...] = INTENSITY
    white_kelvin: float | None = None
    white_intensity: float | None = None

    @property
    def channels(self) -> int:
        """Channels a pixel has: 3, or 4 with a white die."""
        return len(self.order)

    @property
    def pixel_us(self) -> float:
        """Time one pixel's bits take on the wire (µs)."""
        return (self.wire_bits or 8 * self.channels) * self.bit_us

    @property
    def full_volts(self) -> tuple[float, ...]:
        """Voltage at the pixel from which each channel has its full current, canonical order.

        For the channel that needs most this is ``min_volts``. The others need less by the
        difference of their ``off_volts``, since the driver's own drop is the same for all.
        """
        drop = self.min_volts - max(self.off_volts)
        return tuple(volts + drop for volts in self.off_volts)

    def max_fps(self, pixels: int) -> float:
        """Return the highest refresh rate (frames/s) of a line of ``pixels``."""
        return 1e6 / (pixels * self.pixel_us + self.reset_us)
