"""What a name may be, in every file; and how any text is made fit to be shown on one line.

A name is printed on terminals, pictures, accounts and in unit files. One with a line break
could add a row to an account of currents; one with an escape could repaint a terminal; one with a
bidirectional control could show its letters in another order than they are in.
"""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator

from lumenmap.core.errors import InputError
from lumenmap.core.plain import plain, strange

#: Longest name (characters).
LONGEST = 80
#: What other names refer to, as edges and lines; the order of a pixel's channels.
NAME, CHANNELS = r"^[\w][\w ./'-]*$", "^[RGBW]{3,4}$"


def check_name(name: str) -> str:
    """Return a name that fits the rule: one line, printable, at most 80 characters.

    Raises
    ------
    InputError
        Anything else.
    """
    return _printable(name, LONGEST, "a name")


#: A name in a file, as people write it.
Title = Annotated[str, AfterValidator(check_name)]

#: Longest sentence (characters).
LONGEST_SENTENCE = 300


def check_sentence(text: str) -> str:
    """Return a sentence that may be printed beside figures: one line, printable, not too long.

    Raises
    ------
    InputError
        Anything else.
    """
    return _printable(text, LONGEST_SENTENCE, "a sentence")


def _printable(text: str, longest: int, what: str) -> str:
    if len(text) > longest:
        raise InputError(f"has {len(text)} characters; {what} may have {longest}")
    if odd := strange(text):
        raise InputError(
            f'is "{plain(text, 60)}"; {what} is one line of printable characters, without {odd}'
        )
    return text


#: A reason that people write, which reports repeat.
Sentence = Annotated[str, AfterValidator(check_sentence)]
