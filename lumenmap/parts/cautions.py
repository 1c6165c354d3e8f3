"""Cautions: what can hurt you. They don't replace local code or licensed people.

They are worded here only. Sources: ladder angle and the height above an edge [P2: OSHA 29 CFR
1926.1053(b), as quoted by others]; distance from power lines, and that it grows with the voltage
[M: 29 CFR 1910.333(c)(3)]; asbestos in cement boards and lead in paint of older houses [C]; the
rest is common practice, no source.
"""

from __future__ import annotations

#: Heading and text of each; distances stand in braces.
_CAUTIONS = (
    (
        "Ladder",
        "Set the feet about one quarter of the working length out from the wall. Where you step "
        "off onto a roof, let the side rails extend about {step} above the edge. Face the ladder, "
        "keep three points of contact, and stay between the side rails. Never work alone, in wind, "
        "on ice or when a storm is near.",
    ),
    (
        "Overhead wires",
        "Look up first. Keep yourself, the ladder and the rail at least {lines} from the wires "
        "that serve a house: a long rail can bridge that gap. Lines on poles and towers carry more "
        "voltage and need more distance: ask their owner before you put up a ladder.",
    ),
    (
        "Mains",
        "Unplug before you touch wiring. Leave mains work to a licensed electrician. Use an outlet "
        "with {device}. On a supply with open screw terminals the mains screws are bare: mount it "
        "in a closed box, and never reach into it while it is plugged in. Keep the supply in a "
        "dry, ventilated, rated box unless it is marked for wet places.",
    ),
    (
        "Fire",
        "Stay with the first long run, at the brightest that you will use. After an hour, unplug "
        "and feel the supply, the fuse holders and the joints: what is too hot to hold must be put "
        "right first. Keep supplies out of attics and cupboards, and away from leaves, insulation "
        "and anything that burns.",
    ),
    (
        "Low voltage still burns",
        "5 V and 12 V rarely shock, but a large supply can melt wire. Put a fuse at the supply end "
        "of every wire, sized for the thinnest wire behind it. Never replace a blown fuse with a "
        "larger one.",
    ),
    (
        "Water",
        "IP67 is tested on new parts. Seal every cut end, make drip loops, point cable entries "
        "down, and drill a drain hole at the low end of each rail.",
    ),
    (
        "Storms",
        "Unplug the supply and the controller when a thunderstorm is near, and stay off the ladder "
        "until it is over. After a storm, look for loose rails and water before you switch on.",
    ),
    (
        "Power and data",
        "Switch off before you plug or unplug pixels. Connect the minus wires before data. Never "
        "connect the plus of two supplies.",
    ),
    (
        "Drilling",
        "Wear eye protection and clamp the rail. Let the drill stop before you move it. Deburr "
        "every hole in metal, on both sides: a sharp edge cuts through wire. Don't breathe the "
        "dust of PVC, and put the shavings in the bin, not in the garden.",
    ),
    (
        "Behind what you drill",
        "Before you drill into the house, make sure that no cable or pipe runs there. Boards and "
        "soffits of older houses may hold asbestos, and old paint lead: don't drill or sand them "
        "until they have been tested.",
    ),
    (
        "Viewers",
        "Fast flashing can trigger seizures. Keep to three flashes a second or fewer, avoid hard "
        "red flashes, and give people a way to stop the show.",
    ),
    (
        "Road",
        "Don't let red and blue alternate, or flash, towards a road: drivers may take them for an "
        "emergency vehicle, and the law may forbid it.",
    ),
    (
        "Who decides",
        "These figures are calculated from the house file and data sheets. Measure before you "
        "rely on them. Local code, the makers' data sheets and licensed people override any figure "
        "here.",
    ),
)
_FEET = {"step": "3 ft", "lines": "10 ft", "device": "a GFCI"}
_METRES = {"step": "1 m", "lines": "3 m", "device": "an RCD"}
#: Those that concern the wiring.
_POWER = (
    "Mains",
    "Fire",
    "Low voltage still burns",
    "Water",
    "Power and data",
    "Overhead wires",
    "Who decides",
)
#: One line on each page that goes to the bench.
BENCH = (
    "At the bench: unplug first, wear eye protection, clamp the rail, deburr metal, and don't "
    "breathe the dust."
)


def cautions(unit: str) -> list[tuple[str, str]]:
    """Return heading and text of every caution, with distances for a house in ``unit``."""
    words = _FEET if unit in ("ft", "in") else _METRES
    return [(title, text.format_map(words)) for title, text in _CAUTIONS]


def power_cautions(unit: str) -> list[str]:
    """Return the cautions that concern the wiring, a paragraph each."""
    return [f"{title}. {text}" for title, text in cautions(unit) if title in _POWER]


def ladder(unit: str) -> str:
    """Return the one line on each page that goes up the ladder."""
    words = _FEET if unit in ("ft", "in") else _METRES
    return (
        "Unplug first. Ladder: feet out a quarter of its length, three points of contact, "
        f"{words['lines']} from power lines; never alone, in wind, on ice or near a storm."
    )
