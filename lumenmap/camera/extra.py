"""The libraries of the extra `camera`, loaded when they are first needed."""

from __future__ import annotations

from typing import Any

from lumenmap.core.errors import InputError
from lumenmap.core.extras import install


def opencv() -> Any:
    """Return OpenCV, kept to one thread.

    Raises
    ------
    InputError
        It isn't installed.
    """
    try:
        import cv2
    except ImportError:
        raise InputError(f"photographs and films need OpenCV: {install('camera')}") from None
    cv2.setNumThreads(1)
    return cv2


def pyav() -> Any:
    """Return PyAV.

    Raises
    ------
    InputError
        It isn't installed.
    """
    try:
        import av
    except ImportError:
        raise InputError(f"films need PyAV: {install('camera')}") from None
    return av
