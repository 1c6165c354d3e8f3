"""The sound of a show as films and pages carry it."""

from __future__ import annotations

from pathlib import Path

from lumenmap.core.errors import InputError
from lumenmap.core.regular import read_regular
from lumenmap.sound.read import opened

#: Kinds of files that browsers play: libsndfile's name, and the media type (RFC 2361, RFC 9639,
#: RFC 5334, RFC 3003; WAV by the name that browsers know [C]).
MEDIA = {
    "WAV": "audio/wav",
    "FLAC": "audio/flac",
    "OGG": "audio/ogg",
    "MP3": "audio/mpeg",
    "MPEG": "audio/mpeg",
}
#: A page with a larger sound file (bytes) is too heavy for a phone.
LARGEST = 20_000_000
#: Samples that are copied at once.
_BLOCK = 1 << 16


def write_wav(sound: Path, wav: Path, seconds: float) -> None:
    """Write the first ``seconds`` of a sound file as plain WAV, for what shouldn't open anything.

    Raises
    ------
    InputError
        As `lumenmap.sound.read.read_sound`.
    """
    from soundfile import SoundFile

    with opened(sound) as source:
        left = round(seconds * source.samplerate)
        rate, channels = source.samplerate, min(source.channels, 2)
        with SoundFile(wav, "w", rate, channels, "PCM_16", format="WAV") as copy:
            while left > 0:
                block = source.read(min(_BLOCK, left), dtype="float32", always_2d=True)
                if not len(block):
                    break
                copy.write(block[:, :channels])
                left -= len(block)


def for_page(sound: Path) -> tuple[str, bytes]:
    """Return a sound file's media type and its bytes, for a page that plays it.

    Raises
    ------
    InputError
        It isn't sound, or no sound that browsers play, or it is too large.
    """
    with opened(sound) as source:
        kind = source.format
    if kind not in MEDIA:
        raise InputError(f"is {kind}; a page plays WAV, FLAC, Ogg or MP3", file=sound)
    size = sound.stat().st_size
    if size > LARGEST:
        raise InputError(
            f"has {size / 1e6:.0f} MB; a page carries {LARGEST / 1e6:.0f} MB at most. "
            "Save it as Ogg or MP3, or write an .mp4",
            file=sound,
        )
    try:
        return MEDIA[kind], read_regular(sound, LARGEST, "a sound file")
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror or error}", file=sound) from None
