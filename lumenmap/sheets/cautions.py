"""Cautions: what can hurt you. They don't replace local code or licensed people."""

from __future__ import annotations

#: Heading and text of each. Sources: ladder angle and the 3 ft above an edge [P2: OSHA 29 CFR
#: 1926.1053(b), as quoted by others]; 10 ft from power lines [M: 29 CFR 1910.333(c)(3)]; the rest
#: is common practice, no source.
CAUTIONS = (
    (
        "Ladder",
        "Set the feet about one quarter of the working length out from the wall. Where you "
        "step off onto a roof, let the side rails extend about 3 ft (1 m) above the edge. Face "
        "the ladder, keep three points of contact, and stay between the side rails. Never work "
        "alone, in wind or on ice.",
    ),
    (
        "Overhead wires",
        "Look up first. Keep yourself, the ladder and the rail at least 10 ft (3 m) "
        "from power lines: a long rail can bridge that gap.",
    ),
    (
        "Mains",
        "Unplug before you touch wiring. Leave 120/230 V work to a licensed electrician. Use "
        "an outlet with a GFCI or RCD. Keep the supply in a dry, ventilated, rated box unless it "
        "is marked for wet places.",
    ),
    (
        "Low voltage still burns",
        "5 V and 12 V rarely shock, but a large supply can melt wire. "
        "Put a fuse at the supply end of every wire, sized for the thinnest wire behind it. Never "
        "replace a blown fuse with a larger one.",
    ),
    (
        "Water",
        "IP67 is tested on new parts. Seal every cut end, make drip loops, point cable "
        "entries down, and drill a drain hole at the low end of each rail.",
    ),
    (
        "Power and data",
        "Switch off before you plug or unplug pixels. Connect the minus wires before data. "
        "Never connect the plus of two supplies.",
    ),
    (
        "Drilling",
        "Wear eye protection. Clamp the rail. Let the drill stop before you move it. "
        "Put plastic shavings in the bin, not in the garden.",
    ),
    (
        "Viewers",
        "Fast flashing can trigger seizures. Keep to three flashes a second or fewer, "
        "avoid hard red flashes, and give people a way to stop the show.",
    ),
    (
        "Who decides",
        "These sheets are calculated from the house file. Measure twice before you cut. "
        "Local code, the makers' data sheets and licensed people override any figure here.",
    ),
)
