"""Tables of parts: pixel kinds, ampacity, rail materials, each with its source."""

from __future__ import annotations

from lumenmap.parts.ampacity import AMPACITY
from lumenmap.parts.kinds import PIXEL_KINDS
from lumenmap.parts.rails import RAIL_MATERIALS
from lumenmap.reference.page import Section


def kind_section() -> Section:
    """Return the figures of every pixel kind."""
    rows = []
    for k in PIXEL_KINDS.values():
        each = sorted(set(k.channel_ma))
        rows.append(
            (
                k.name,
                k.order,
                f"{k.volts:g}",
                f"{k.min_volts:g}",
                " to ".join(f"{v:g}" for v in each),
                f"{k.idle_ma:g}",
                f"{k.pixel_us:g}",
                f"{k.reset_us:g}",
            )
        )
    return Section(
        "Figures",
        "volts: nominal; least: the voltage at the pixel for full, true colour; channel, idle: "
        "the current of each channel at full and of a dark pixel, mA; pixel, reset: the time of "
        "a pixel on the wire and of the pause that ends a frame, microseconds.",
        ("kind", "order", "volts", "least", "channel", "idle", "pixel", "reset"),
        tuple(rows),
    )


def kind_source_section() -> Section:
    """Return where the figures of every pixel kind are from."""
    rows = tuple((k.name, _sentence(k.source)) for k in PIXEL_KINDS.values())
    return Section("Where the figures are from", "", ("kind", "source"), rows)


def ampacity_section() -> Section:
    """Return the tables that `[wiring] ampacity` may name."""
    rows = tuple((t.name, _sentence(f"{t.answers}. {t.source}")) for t in AMPACITY.values())
    return Section(
        "Tables for [wiring] ampacity",
        "Local code and the wire's own data sheet win over all of them. NEC23 is NFPA 70, 2023. "
        "[P] published text; [P2] a copy or summary; [M] from memory; [C] common practice, no "
        "source; [K] computed.",
        ("table", "what it answers, and its source"),
        rows,
    )


def material_section() -> Section:
    """Return the materials that `[rail] material` may name."""
    rows = tuple((m.name, _sentence(m.source)) for m in RAIL_MATERIALS.values())
    return Section("Materials for [rail] material", "", ("material", "expansion"), rows)


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:].rstrip('.')}."
