"""How plans are made, as the page on wiring has it."""

from __future__ import annotations

from lumenmap.reference.page import Section


def plan_section() -> Section:
    """Return how plans are made and judged."""
    rows = (
        (
            "light",
            "What `--light` says, in white everywhere at once. shows: the white that takes as much "
            "as any string takes in any frame of the shows in the folder.",
        ),
        (
            "places",
            "Feeds, ties and taps lie at connectors; cuts at every fifth of a string. With "
            "--anywhere, and on strings that aren't described, at pixels too.",
        ),
        (
            "sections",
            "The cheapest division of the line into sections of one feed each, by a quick model in "
            "which the minus is cut too; then feeds are made thinner as far as the network allows.",
        ),
        (
            "bound by",
            "What supplies give, fuses for hours, what wires and connectors may carry, and volts "
            "that are --margin above the pixels' least. What binds first is said.",
        ),
        (
            "held",
            "If volts bind, the plan's supplies get smaller amps, so that white everywhere stays "
            "within them. Light at the far end alone may still have fewer volts: lumenmap power "
            "measures each show.",
        ),
        (
            "faults",
            "A resistance between plus and minus at a pixel, dark and lit, while all fuses stand. "
            "A wire may carry more than its table's amps as long as a fuse of these amps would "
            "let it: 600 s from 1.35 times on, 5 s from 2, 0.5 s from 3.5 [P2].",
        ),
        (
            "money",
            "All wire, fuses, connectors and new supplies; by [buying] prices, of a foot or metre "
            "of one conductor, or guesses, marked as such. Hours are guesses [C].",
        ),
    )
    return Section("How plans are made", "", ("what", "how"), rows, code=())
