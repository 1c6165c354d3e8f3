"""Colours of materials, as linear reflectance."""

from __future__ import annotations

from lumenmap.core.errors import InputError


def paint(text: str) -> tuple[float, float, float]:
    """Return a CSS colour as linear reflectance (IEC 61966-2-1 transfer).

    Raises
    ------
    InputError
        It isn't a CSS colour.
    """
    from PIL import ImageColor

    try:
        rgb = ImageColor.getrgb(text[:60])[:3]
    except ValueError:
        raise InputError(
            f'"{text[:40]}" isn\'t a CSS colour; expected one like "#b8b09c"'
        ) from None
    r, g, b = (_decode(v / 255) for v in rgb)
    return r, g, b


def _decode(v: float) -> float:
    return float(v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4)
