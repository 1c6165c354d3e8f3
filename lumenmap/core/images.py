"""Opening pictures that people give: four formats, by content, and none too large to decode.

The library knows some fifty formats. Some of them start other programs, and few are tried as
hard as these four; whatever a decoder raises, the picture is bad and not the program.
"""

from __future__ import annotations

import contextlib
import io
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import IO, TYPE_CHECKING

from lumenmap.core.errors import InputError
from lumenmap.core.regular import open_regular

if TYPE_CHECKING:
    from PIL.Image import Image

#: As Pillow names them, and as people do.
FORMATS = ("PNG", "JPEG", "GIF", "WEBP")
NAMES = "PNG, JPEG, GIF or WebP"
#: What a file says, after its first four bytes, that holds HEIC or AVIF (ISO/IEC 23008-12) [M].
_PHONES = (b"ftypheic", b"ftypheix", b"ftypheim", b"ftypmif1", b"ftypmsf1", b"ftypavif")
#: Most pixels of one frame, and of all frames together: about 500 MB, and ten seconds.
MOST_PIXELS, MOST_IN_ALL = 40_000_000, 400_000_000
MOST_FRAMES = 600


@contextlib.contextmanager
def opened(path: Path | str, name: str = "") -> Iterator[Image]:
    """Open a picture; nothing of it is decoded yet. Decode it inside the block, and do no more.

    Parameters
    ----------
    path
        The picture.
    name
        What to call it in errors, instead of giving the file.

    Raises
    ------
    InputError
        Not a regular file, not one of the four formats, too large, damaged.
    FileNotFoundError
        There is none.
    """
    subject, file = (f'"{name}" ', None) if name else ("", path)
    try:
        with _mended(subject, file), open_regular(path) as data:
            yield from _decodable(data, subject, file)
    except IsADirectoryError:
        raise InputError(f"{subject}is a folder; expected a picture", file=file) from None


@contextlib.contextmanager
def decoded(data: bytes, what: str) -> Iterator[Image]:
    """Open a picture that is in memory, as `opened` does.

    Parameters
    ----------
    what
        What to call it in errors: the photo.

    Raises
    ------
    InputError
        Not one of the four formats, too large, damaged.
    """
    with _mended(f"{what} ", None):
        yield from _decodable(io.BytesIO(data), f"{what} ", None)


@contextlib.contextmanager
def _mended(subject: str, file: Path | str | None) -> Iterator[None]:
    """Have one error for all that decoders raise."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of odd metadata, and of sizes that are checked here
            yield
    except (FileNotFoundError, IsADirectoryError, InputError):
        raise
    # Decoders raise anything: struct.error, KeyError, IndexError, zlib.error, EOFError, …
    except Exception as error:
        raise InputError(
            f"{subject}isn't a readable picture; expected {NAMES}", file=file
        ) from error


def _decodable(data: IO[bytes], subject: str, file: Path | str | None) -> Iterator[Image]:
    from PIL import Image

    if data.read(12)[4:] in _PHONES:
        raise InputError(
            f"{subject}is a HEIC or AVIF picture, as phones take them; save it as JPEG", file=file
        )
    data.seek(0)
    try:
        found = Image.open(data, formats=FORMATS)
    except Image.DecompressionBombError:  # which is about the size alone, but doesn't tell it
        raise InputError(
            f"{subject}is too large: over {2 * (Image.MAX_IMAGE_PIXELS or 0) / 1e6:.0f} million "
            f"pixels; at most {MOST_PIXELS // 1_000_000} million can be read. Save a smaller copy",
            file=file,
        ) from None
    with found as image:
        wide, high = image.size
        frames = getattr(image, "n_frames", 1)
        pixels = wide * high
        if frames == 1 and pixels > MOST_PIXELS:
            raise InputError(
                f"{subject}is too large: {wide} × {high} are {pixels / 1e6:.0f} million pixels; at "
                f"most {MOST_PIXELS // 1_000_000} million can be read. Save a smaller copy",
                file=file,
            )
        if pixels > MOST_PIXELS or pixels * frames > MOST_IN_ALL or frames > MOST_FRAMES:
            raise InputError(
                f"{subject}is too large: {frames} frame{'s' * (frames > 1)} of "
                f"{wide} × {high} pixels. At most {MOST_FRAMES} frames, "
                f"{MOST_PIXELS // 1_000_000} million pixels in a frame and "
                f"{MOST_IN_ALL // 1_000_000} million in all can be read",
                file=file,
            )
        try:
            yield image
        except (FileNotFoundError, IsADirectoryError, InputError, MemoryError):
            raise
        except Exception as error:
            raise InputError(
                f"{subject}isn't a readable picture: it is a {found.format}, but damaged or cut "
                "short; copy it once more from where it came",
                file=file,
            ) from error


def as_rgb(image: Image) -> Image:
    """Return a picture in sRGB, in 8 bits a channel.

    A picture in another colour space, as telephones take them, is converted by the profile in its
    file (ICC.1:2022), if that can be read.
    """
    if image.mode.startswith("I"):  # grey in 16 bits, of which the library would keep the lowest
        return image.point(lambda code: code / 256).convert("L").convert("RGB")
    return (
        _in_srgb(image, image.info["icc_profile"])
        if "icc_profile" in image.info
        else image.convert("RGB")
    )


def _in_srgb(image: Image, profile: bytes) -> Image:
    from PIL import ImageCms

    try:
        own, srgb = ImageCms.ImageCmsProfile(io.BytesIO(profile)), ImageCms.createProfile("sRGB")
        made = ImageCms.profileToProfile(image, own, srgb, outputMode="RGB")
    except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
        made = None
    return made or image.convert("RGB")
