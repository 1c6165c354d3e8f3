"""`Steps`: one progress for work of several kinds, so that it is never full while work goes on."""

from __future__ import annotations

from lumenmap.jobs.project import Progress

#: What a whole piece of work counts as.
_WHOLE = 10_000
#: About how long a frame takes for each pixel of the house to render, and for each pixel of the
#: picture to draw; and a scene for each of its pixels, and at least (s) [K, one core].
_RENDER, _DRAW, _SCENE, _LEAST = 1e-6, 25e-9, 2e-6, 0.3


class Steps:
    """Splits a progress among pieces of work by how long each takes, one after another.

    Parameters
    ----------
    progress
        Told of all pieces together; None for nobody.
    seconds
        About how long each piece takes; only their ratios count.
    """

    def __init__(self, progress: Progress | None, *seconds: float) -> None:
        self._progress, self._seconds = progress, seconds
        self._piece = -1

    def next(self) -> Progress | None:
        """Return the progress of the next piece; those before it are done."""
        self._piece += 1
        before, own = sum(self._seconds[: self._piece]), self._seconds[self._piece]
        whole, tell = sum(self._seconds), self._progress
        if tell is None:
            return None

        def told(done: int, total: int) -> None:
            share = (before + own * min(1.0, done / max(total, 1))) / whole
            tell(int(_WHOLE * share), _WHOLE)

        return told


def part_of(progress: Progress | None, part: float) -> Progress | None:
    """Return the progress of work that ends when this part (0..1) of what it counts is done."""
    if progress is None:
        return None
    return lambda done, total: progress(done, max(1, round(total * part)))


def picture_steps(
    progress: Progress | None, rendered: int, drawn: int, size: tuple[int, int]
) -> Steps:
    """Return the steps of a preview: rendering, then the scene and its frames.

    Parameters
    ----------
    rendered
        Pixels of the house × frames.
    drawn
        Frames of the picture.
    size
        Of the picture, in pixels.
    """
    area = size[0] * size[1]
    return Steps(progress, _RENDER * rendered, _LEAST + _SCENE * area + _DRAW * area * drawn)
