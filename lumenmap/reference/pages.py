"""The reference pages by topic. A page is made when it is asked for, from what reads the files."""

from __future__ import annotations

from lumenmap.reference.page import Page


def house(unit: str) -> Page:
    """Return the page of house.toml."""
    from lumenmap.house.reading.file import HouseFile
    from lumenmap.reference.keys import sections, written
    from lumenmap.reference.parts import ampacity_section, material_section

    del unit
    return Page(
        "house",
        "The house file",
        (
            "A house file is TOML. It describes the building, the pixels on it and their wiring, "
            "in the units on your tape measure. `lumenmap new my-house` writes one to start from.",
            "A mass makes its edges: eaves, rakes, ridge, hips, posts, and one round each window "
            "and door. Lines, groups and shows name them: `main/eave-front`, `main/window 1`.",
            "Masses may overlap, and count as one solid: what is inside another isn't drawn, and "
            "where roofs cut each other there is a valley. In a line's path, "
            '`stop = "meets main"` ends an edge where it goes into that mass. '
            '`leans_on = "main"` has a porch, a dormer or a wing go on until it meets main; you '
            "needn't work out how far.",
            "x runs right along the front as seen from the street, y away from the street, z up. "
            "An edge starts at its left end as you face that side of the house. So at a gable end "
            "the rake on your left runs up from the eave, and that on your right down from the "
            "ridge; at the left side of a shed roof that rises to the back the rake runs down.",
            "Put a fuse at the supply end of every wire, sized for the thinnest wire after it, and "
            "leave mains to a licensed electrician. lumenmap computes; local code and the parts' "
            "own data sheets win. `lumenmap help wiring` says how.",
        ),
        (*sections(HouseFile), written(HouseFile), ampacity_section(), material_section()),
    )


def show(unit: str) -> Page:
    """Return the page of show.toml."""
    from lumenmap.motion.ramp_reading import RampTable
    from lumenmap.reference.keys import section, sections, written
    from lumenmap.reference.words import blend_section, easing_section
    from lumenmap.show.file import ShowFile

    del unit
    return Page(
        "show",
        "The show file",
        (
            "A show file is TOML: cues in time, each with layers, each with one effect, its "
            "palette and its options. `lumenmap help effects` lists the effects and their options.",
            "Cues that overlap add their light, so fades that overlap cross. A layer's `on` takes "
            "an edge, a mass, a kind of edge, a pattern such as `main/*`, pixels such as "
            "`front 10-20`, or a group or route of the show or the house; `except` takes the same "
            "and leaves it alone.",
            "An option called `way` says what an effect runs along. A [[route]] is a way of your "
            "own: edges in order, in metres of their own length.",
            "A layer's time counts from its cue's start. Where a number, a length, a speed or a "
            "share may stand, a ramp may: `speed = { from = 2, to = 8, over = '10 s' }`. "
            "`lumenmap help effects` says which options can't: mostly times from one event to the "
            "next, since what has begun ends as it began.",
            "With a `tempo`, times may be in beats and bars, and speeds in feet a beat. With a "
            "`sound` they follow the beats that are played, also where the players slow down: a "
            "cue may start at `bar 3` or `beat 17`, which is 16 beats after the first one that is "
            "played, and a layer that counts in beats keeps them. "
            "Its other times are then as long as at the usual tempo. `lumenmap beats` finds the "
            "beats and says what it found; they are kept next to the sound as a text of times and "
            "labels, for you to correct in an audio editor. Films and pages play with the sound; "
            "`lumenmap stream --sound` and `lumenmap run --sound` play it on the computer that "
            "sends the light, in step. Without a sound device the light plays all the same.",
            "A number in [values] stands for its name in any text: `first = '{candles}'`, "
            "`length = '{days} s'`, `'{year + 1}'`. `--set candles=3` and an almanac's `values` "
            "give others, so that one file serves every night.",
        ),
        (
            *sections(ShowFile),
            section(RampTable, "A ramp, in place of a number"),
            written(ShowFile),
            blend_section(),
            easing_section(),
        ),
    )


def limit(unit: str) -> Page:
    """Return the page of a show's [limit] table."""
    from lumenmap.reference.keys import section
    from lumenmap.show.file import LimitTable

    del unit
    return Page(
        "limit",
        "The [limit] table of a show file",
        (
            "Every frame that leaves is inside the budget of every supply, fuse and wire of the "
            "house. Where a show asks for more, the limiter dims it; [limit] says how. Without "
            "this table it glides: the light falls slowly ahead of a bright moment, so that you "
            "don't see it pump.",
            "A branch's budget is 80 % of its fuse, a wire's comes from the table that "
            "[wiring] ampacity names. `lumenmap check` says how many frames are dimmed, and how "
            "far.",
        ),
        (section(LimitTable, "[limit]"),),
    )


def almanac(unit: str) -> Page:
    """Return the page of almanac.toml."""
    from lumenmap.almanac.file import AlmanacFile
    from lumenmap.reference.keys import sections, written

    del unit
    return Page(
        "almanac",
        "The almanac file",
        (
            "An almanac is TOML. It says which show plays on which evening, from when to when. "
            "`lumenmap tonight`, `lumenmap year` and `lumenmap run` go by it.",
        ),
        (*sections(AlmanacFile), written(AlmanacFile)),
    )


def effects(unit: str) -> Page:
    """Return the page of all installed effects, lengths in ``unit``."""
    from lumenmap.reference.words import corner_section, effect_section, way_section
    from lumenmap.show.effects.registry import effects as registry

    return Page(
        "effects",
        "The effects",
        (
            "A layer of a show names one of these and gives its options beside it. Every option "
            "has a default. `lumenmap try NAME` draws an effect on your house without a show file.",
            "More than three flashes a second can trigger seizures. `lumenmap check` counts the "
            "flashes of a show.",
        ),
        (
            *(effect_section(effect, unit) for effect in registry().values()),
            way_section(),
            corner_section(),
        ),
    )


def kinds(unit: str) -> Page:
    """Return the page of the pixel kinds."""
    from lumenmap.reference.parts import kind_section, kind_source_section

    del unit
    return Page(
        "kinds",
        "The pixel kinds",
        (
            "Figures of common pixels, for `kind` in [pixel]. Sheets, revisions and builds "
            "differ, those sold for 12 V most of all: measure a string of yours and put its "
            "figures in [pixel]. Test the colour order on the real string.",
            "Sources: [P] published text; [P2] a copy or summary of one; [M] from memory; "
            "[C] common practice, no source; [K] computed.",
        ),
        (kind_section(), kind_source_section()),
    )


def wiring(unit: str) -> Page:
    """Return the page of the electrical model."""
    from lumenmap.reference import wiring as model
    from lumenmap.reference.feeding import plan_section

    del unit
    return Page(
        "wiring",
        "How the wiring is computed",
        model.LEAD,
        (
            model.place_section(),
            model.node_section(),
            model.resistance_section(),
            model.wire_section(),
            model.pixel_section(),
            model.ampacity_section(),
            plan_section(),
        ),
    )


def marks(unit: str) -> Page:
    """Return the page of a file of marks."""
    from lumenmap.camera.marks.file import MarksFile
    from lumenmap.reference.keys import sections

    del unit
    return Page(
        "marks",
        "A photograph's file of marks",
        (
            "A file of marks is TOML next to the house file. It says where points of the house "
            "are on a photograph; from five or more, better eight, follows where the camera stood. "
            "`lumenmap marks my-house/house.toml --photo my-house/front.jpg -o mark.html` writes a "
            "page on which you mark the points by touch and save the file; -o points.png draws "
            "them, and --photo alone begins the file for an editor. `lumenmap marks` with that "
            "file says how far off each mark is and which is wrong.",
            "In [mark], a point's name has two numbers, pixels from the photograph's left and "
            'upper edge: `"wing/front-left" = [412, 388]`.',
            "Mark points far apart: left and right, high and low, near and far. A picture viewer "
            "shows the pixel under the pointer. `lumenmap preview SHOW --photo FILE` draws the "
            "show on the photograph, made dark if it was taken by day.",
            "A [[trace]] is a line drawn on the photograph, on a wall or a roof plane: "
            "`lumenmap marks` says how long it is, and writes it as an [[edge]] for the house "
            "file. Measure one such length with a tape before you cut rails to it.",
        ),
        sections(MarksFile),
    )


def formats(unit: str) -> Page:
    """Return the page of the files that are written."""
    from lumenmap.reference.files import (
        format_sections,
        output_section,
        sidecar_sections,
        version_section,
    )

    del unit
    return Page(
        "formats",
        "The files it writes",
        (
            "`lumenmap make` writes the first five files; if anything fails, the old ones stay. "
            "`lumenmap export --format` writes the same frames in other formats as well.",
        ),
        (output_section(), *sidecar_sections(), *format_sections(), version_section()),
    )
