"""`PreviewOptions`: how a preview looks, and which options its kind of file can take."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from lumenmap.core.errors import InputError
from lumenmap.pictures.drawn.preview import LARGEST, Preview
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.view import View, ViewName
from lumenmap.site import Site

#: Width in pixels where none is asked for, by the file's ending; `USUAL` for the others.
WIDTHS = {".html": 800, ".png": 1280, ".jpg": 1280, ".jpeg": 1280}
#: Kinds of files that show one moment, or a sheet of several.
STILLS = (".png", ".jpg", ".jpeg")
USUAL, SHEET = 640, 480


@dataclass(frozen=True, slots=True)
class PreviewOptions:
    """How a preview looks.

    Attributes
    ----------
    width, height
        In pixels; the usual width for the kind of file if None, and 9/16 of it if 0.
    fps
        Frames a second, at most the show's own.
    seconds
        Stop after this much of the show; None for all of it, or its first half minute in a file
        that loops.
    view, look
        The viewpoint; the surroundings of the house, and the exposure.
    brightness
        0..1: what the show's light is dimmed by, as an almanac does.
    as_powered
        Draw the light that the wiring gives: pixels with too low a voltage are dim and warm.
    loop
        Times to play; 0 for endless.
    dither
        GIF only: ordered dithering, also of what moves.
    max_mb
        Largest file size (10⁶ bytes); the picture is made smaller until it fits.
    at
        Stills only: the moment (s); by default the brightest.
    sheet
        Stills only: a sheet of this many moments.
    cache
        Keep the light transport for the next preview.
    """

    width: int | None = None
    height: int = 0
    fps: float = 15.0
    seconds: float | None = None
    view: ViewName | View | None = None
    look: Look = field(default_factory=Look)
    brightness: float = 1.0
    as_powered: bool = False
    loop: int = 0
    dither: bool = False
    max_mb: float | None = None
    at: float | None = None
    sheet: int = 0
    cache: bool = True

    def filled(self, ending: str) -> PreviewOptions:
        """Return the options with the usual width of a kind of file, where none was asked for."""
        if self.width is not None:
            return self
        usual = SHEET if self.sheet else WIDTHS.get(ending, USUAL)
        return replace(self, width=usual)

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels, worked out where they aren't given."""
        width = USUAL if self.width is None else self.width
        return width, self.height or round(width * 9 / 16)

    def viewed(self, site: Site) -> Preview:
        """Return the pictures of a house in this size, view, look and exposure.

        Raises
        ------
        InputError
            As `Preview`.
        """
        width, height = self.size
        return Preview(
            site,
            width=width,
            height=height,
            view=self.view,
            look=self.look,
            cache=self.cache,
        )

    def sized(self, width: int) -> PreviewOptions:
        """Return the options for another width, the shape kept."""
        height = round(self.height * width / self.size[0]) if self.height else 0
        return replace(self, width=width, height=height)


def check_options(ending: str, options: PreviewOptions) -> None:
    """Refuse options that don't apply to the kind of picture, rather than ignore them.

    Raises
    ------
    InputError
        A sheet or a moment in what isn't a still, dithering without ``.gif``, a page with a size
        limit.
    """
    limited = (
        ("sheet", options.sheet, STILLS),
        ("at", options.at is not None, STILLS),
        ("dither", options.dither, (".gif",)),
    )
    for key, given, kinds in limited:
        if given and ending not in kinds:
            named = " and ".join(k for k in kinds if k != ".jpeg")
            raise InputError(f"applies to {named} files only, not to {ending}", key=key)
    if ending == ".html" and options.as_powered:
        raise InputError("doesn't apply to a page, which plays the codes", key="as_powered")
    if ending == ".html" and options.max_mb is not None:
        raise InputError("doesn't apply to a page, which holds the whole show", key="max_mb")


def check_width(width: int) -> None:
    """Refuse a width that no picture can have.

    Raises
    ------
    InputError
        Outside 64..`LARGEST`.
    """
    if not 64 <= width <= LARGEST:
        raise InputError(f"is {width}; expected 64 to {LARGEST}", key="width")
