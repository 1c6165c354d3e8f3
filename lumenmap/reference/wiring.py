"""The page of the electrical model: nodes, resistances, what a pixel draws, what a wire may carry.

It says enough to write the circuit of a house down for another program.
"""

from __future__ import annotations

from lumenmap.parts.ampacity import BUNDLES, TABLE_AIR
from lumenmap.parts.fuses import BLADE_VOLTS, CONTINUOUS, INRUSH, OF_LABEL
from lumenmap.parts.kinds import PIXEL_KINDS
from lumenmap.parts.wires import ALPHA_20, IEC_60228, RHO_20, STOCK_AWG, STRANDED, wire
from lumenmap.reference.page import Section

#: Below this a resistance counts as this (ohm); as in the circuit.
LEAST_OHMS = "0.000 001 ohm"

LEAD = (
    "lumenmap solves the wiring of a house as a network of resistors: every pair of pixels, both "
    "conductors, every connector and fuse. This page says what is in it, so that you can check its "
    "figures by hand or with a circuit simulator.",
    "Every part has a plus conductor and a minus conductor. Unless the text says otherwise, each "
    "of the two has the resistance that is given. Lengths are one way. Data wires are not part of "
    "it.",
    "A figure is computed, not measured: check the wiring with a meter, and leave mains to a "
    "licensed electrician.",
)


def place_section() -> Section:
    """Return where the places on a line are: along it, and along the string's own wire."""
    rows = (
        (
            "x",
            "How far a place is from the line's start, along the line, jumpers included. "
            "`lumenmap map HOUSE --json` gives it for each pixel as along_line, and the whole "
            "line's as wire in lines, in the house's unit.",
        ),
        ("start, end", "x = 0, and x = the whole line."),
        ("middle", "Half of the whole line's x."),
        ("a length", "x is that length."),
        ("pixel N", "The N-th pixel in the order of the data, from 1, hidden pixels included."),
        (
            "connector K",
            "With [string] pixels = P: connector 1 is the start. Connector K joins two strings, "
            "half-way between pixel P·(K - 1) and the next one. The last connector is the end.",
        ),
        (
            "s",
            "How much of the string's own wire lies before a place. s is 0 at the start. To pixel "
            "1 it is x of pixel 1 or [string] tail, whichever is longer. From a pixel to the next "
            "it is the longest of: their distance in x; [string] spacing; and, if a connector "
            "joins two strings there, two tails. From the last pixel to the end it is their "
            "distance in x or the tail.",
        ),
        (
            "if left out",
            "With [string] pixels, tail is 6 in and connector_milliohms 10; without, both are 0, "
            "and there are no connectors but start and end.",
        ),
        (
            "hidden pixels",
            "{ spares = N } are all at one x. Their wire from one to the next is [string] spacing "
            "or, without it, [rail] hole_spacing.",
        ),
        (
            "between pixels",
            "A place divides the wire from pixel to pixel in the same proportion as x; a "
            "connector lies in the middle of both.",
        ),
        (
            "one place",
            "A length within 0.001 mm of a pixel's x, the start or the end is that one: the first "
            "of several, as with hidden pixels. Any two places less than 0.001 mm of the string's "
            "own wire apart, in s, are one place: so a length comes to a connector.",
        ),
    )
    return Section("Places on a line", "", ("place", "where it is"), rows, code=(0,))


def node_section() -> Section:
    """Return the nodes of the network."""
    rows = (
        (
            "a line",
            "A plus node and a minus node at each pixel, and at each place where a feed, a tap or "
            "a tie joins. They are chained in the order of s.",
        ),
        (
            "a supply",
            "A plus and a minus terminal with its volts between them, whatever it gives. Minus "
            "terminals are joined by nothing but the wires.",
        ),
        ("a bus", "A plus and a minus node at each tie."),
        ("a trunk", "A plus and a minus node at its start, and where each tap leaves it."),
    )
    return Section("Nodes", "", ("part", "its nodes"), rows, code=())


def resistance_section() -> Section:
    """Return every resistance between nodes."""
    rows = (
        (
            "string",
            "From each node of a line to the next: the difference in s, of the string's wire: "
            "[string] wire or, without it, [wiring] string or, without that, 18 AWG stranded. If a "
            "connector that joins two strings lies between them: connector_milliohms more. If such "
            "a connector is itself a node, because something joins there: half of it on either "
            "side.",
        ),
        (
            "feed",
            "From the supply to the line's node at its place: its length, of its wire. In the plus "
            "also contact_milliohms, if it has a fuse. In each also connector_milliohms, if its "
            "place is a connector: start and end are.",
        ),
        (
            "trunk",
            "From the supply to the trunk's first node: its length, of its wire, and in the plus "
            "contact_milliohms, if it has a fuse. Then from node to node: the difference in x, of "
            "the same wire. A tap leaves the trunk at the tap's own x, or at the nearer end of the "
            "trunk if the trunk doesn't reach that far; the tap's length must cover the gap.",
        ),
        (
            "tap",
            "From the trunk's node to the line's node at its place: as a feed, from the trunk in "
            "place of the supply. Without `at` its place is the connector nearest to the trunk's "
            "stop in x, the earlier one of two.",
        ),
        (
            "bus",
            "From tie to tie: the difference in x, of its wire. Its ties are at `ties`; or at "
            "start and stop and, with tie_every, between them, in equal steps of x: "
            "round((stop - start) / tie_every) of them, at least one.",
        ),
        (
            "tie",
            "From the bus's node to the line's node at its place: contact_milliohms in the plus, "
            "if it has a fuse; connector_milliohms in each, if its place is a connector; else 0.",
        ),
        (
            "no feed",
            "A line with neither feed nor tap joins the only supply at its start, with 0.",
        ),
        ("least", f"Any resistance below {LEAST_OHMS}, 0 too, counts as that."),
        (
            "cut",
            "A cut takes one stretch of the plus away. `after pixel N`: the one from pixel N to "
            "the next node. Any other place: the one that it lies in or, if it is a node, the one "
            "before it. The minus stays.",
        ),
        (
            "missing cut",
            "Where two neighbours in s, each a feed or a tap, are from different supplies and the "
            "file has no cut after the first and up to the second, the plus is cut after pixel N, "
            "the last whose s isn't beyond half-way between them; if that pixel lies before the "
            "first, half-way. lumenmap asks for the cut in the file.",
        ),
    )
    return Section("Resistances", "", ("between", "resistance"), rows, code=())


def wire_section() -> Section:
    """Return the resistance of wire."""
    rows = [
        (f"{size}{make}", f"{wire(size + make).ohm_per_km:.4f}")
        for size in (*STOCK_AWG, "22 AWG", "24 AWG")
        for make in ("", " stranded")
    ]
    rows += [
        (f"{area:g} mm2" + ("" if make == "flexible" else f" {make}"), f"{ohms:g}")
        for make, table in IEC_60228.items()
        for area, ohms in table.items()
    ]
    return Section(
        "Wire",
        f"AWG: diameter 0.127 mm × 92^((36 - n) / 39) (ASTM B258 [P]); {RHO_20} ohm mm2/km at 20 C "
        f"over its area [K]; stranded × {STRANDED}, the mean of NEC Chapter 9 Table 8 [K]. mm2: "
        f"IEC 60228 [P2], from 4 mm2 on [M]. Warm copper: × (1 + {ALPHA_20} × (T - 20 C)) [P], "
        "with T from [wiring] celsius or, without it, ambient or, without that, 40 C.",
        ("size", "ohm/km of one conductor at 20 C"),
        tuple(rows),
    )


def pixel_section() -> Section:
    """Return what a pixel draws at every voltage."""
    rows = tuple(
        (
            k.name,
            " ".join(f"{v:g}" for v in k.off_volts),
            " ".join(f"{v:g}" for v in k.full_volts),
            " ".join(f"{v:g}" for v in k.channel_ma),
            f"{k.idle_ma:g}",
        )
        for k in PIXEL_KINDS.values()
    )
    return Section(
        "What a pixel draws",
        "A pixel draws from its plus node to its minus node. At V volts between them each channel "
        "draws mA × code / 255 × f, with f = (V - off) / (full - off), and the driver idle mA × g, "
        "with g = V / (lowest off). f and g are never below 0 nor above 1. full is off + min_volts "
        "- (highest off), so [pixel] min_volts moves it. Full white is what pixels want: "
        "every code 255, those of hidden and dead pixels too, and every f 1. Where volts are too "
        "low, less flows, and the report gives both. Channels are in the order R G B (W).",
        ("kind", "off, V", "full, V", "channels, mA", "idle, mA"),
        rows,
    )


def ampacity_section() -> Section:
    """Return what a wire, a fuse, a connector and a supply may carry."""
    bundles = ", ".join(f"from {n} on {factor:g}" for n, factor in reversed(BUNDLES) if n > 1)
    rows = (
        (
            "a wire",
            "The amps of the table that [wiring] ampacity names, times heat, times bundling, "
            "rounded down to 0.01 A.",
        ),
        (
            "heat",
            f"√((insulation - ambient) / (insulation - {TABLE_AIR:g} C)), at most 1: NEC "
            "310.15(B)(1)(1) is this formula, rounded [P, K]. A table for 60 C terminals takes 60 "
            "C insulation. Without [wiring] ambient it is 40 C, a pipe in the sun; without "
            "insulation 75 C.",
        ),
        (
            "bundling",
            f"By the conductors that carry current in one pipe: {bundles} (NEC 310.15(C)(1) [P]; "
            "from 21 on [M]). For a string, and each bus and trunk along it: two, and two more "
            "for each bus and trunk. For feeds and taps: two. [wiring] conductors takes their "
            "place for all.",
        ),
        (
            "a fuse",
            f"{_percent(1 / CONTINUOUS)} of it for hours (the 125 % rule of NEC 210.20(A) [P]; on "
            f"the low-voltage side common practice). Blade fuses are for up to {BLADE_VOLTS:g} V "
            "d.c. [P2].",
        ),
        (
            "a supply",
            f"amps; or, without it, {_percent(OF_LABEL)} of label_amps [C]. {INRUSH}",
        ),
        ("a connector", "[string] connector_amps in each contact; what the wire may, without it."),
    )
    return Section("What each may carry", "", ("part", "A"), rows, code=())


def _percent(share: float) -> str:
    return f"{100 * share:g} %"
