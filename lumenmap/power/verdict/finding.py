"""`Finding`: something wrong or worth knowing about the wiring, and what to do about it.

Strategy: one cause is one finding, which names all that it is about: of eight feeds of one wire
their fuses are told once. So what a finding says holds for each of its subjects, and what differs
from one to the next is a figure behind its name.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from typing import Any, Literal, NamedTuple

from lumenmap.core.errors import CheckError
from lumenmap.core.wording import listed, sentence, several

#: A danger stops every command that lights the house; a warning doubts; a note is worth knowing.
Severity = Literal["danger", "warning", "note"]


class Subject(NamedTuple):
    """What a finding is about.

    Attributes
    ----------
    name
        Of the feed, line, bus or supply.
    kind
        Which of these it is; empty if the finding's sentence names it.
    figure
        What holds for this one alone: ``7.08 A``.
    """

    name: str
    kind: str = ""
    figure: str = ""

    def __str__(self) -> str:
        return f'"{self.name}"' + (f" ({self.figure})" if self.figure else "")


class Finding(NamedTuple):
    """One finding.

    Attributes
    ----------
    code
        What kind of finding it is: ``fuse-too-large``.
    severity
        How bad it is.
    subjects
        The feeds, lines, buses or supplies that it is about, at least one.
    says
        What is wrong, in a sentence or two.
    remedy
        What to do about it.
    """

    code: str
    severity: Severity
    subjects: tuple[Subject, ...]
    says: str
    remedy: str = ""

    @property
    def names(self) -> tuple[str, ...]:
        """The names of what it is about."""
        return tuple(subject.name for subject in self.subjects)

    @property
    def sentence(self) -> str:
        """What it is about, and what is wrong."""
        about = subjects_in_words(self.subjects)
        return f"{about}: {self.says}" if about else self.says

    def __str__(self) -> str:
        return f"{self.sentence} {self.remedy}".rstrip()

    def report(self) -> dict[str, Any]:
        """Return the finding as plain data."""
        return {
            "finding": self.code,
            "severity": self.severity,
            "of": list(self.names),
            "says": self.sentence,
            "remedy": self.remedy,
        }


def subjects_in_words(subjects: Iterable[Subject]) -> str:
    """Return them by kind and name, such as ``Feeds "a" and "b"``, but for those without kind."""
    groups = groupby((s for s in subjects if s.kind), key=lambda s: s.kind)
    return sentence(listed([several(kind, [str(s) for s in own]) for kind, own in groups]))


def merged(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings in which those that say the same are one, about the subjects of all."""
    found: dict[Finding, list[Subject]] = {}
    for f in findings:
        found.setdefault(f._replace(subjects=()), []).extend(f.subjects)
    return [f._replace(subjects=tuple(_by_kind(subjects))) for f, subjects in found.items()]


def _by_kind(subjects: list[Subject]) -> list[Subject]:
    """Return each subject once, those of one kind next to each other, otherwise as they came."""
    kinds = list(dict.fromkeys(s.kind for s in subjects))
    return sorted(dict.fromkeys(subjects), key=lambda s: kinds.index(s.kind))


class AcceptedFinding(NamedTuple):
    """A danger that the house file accepts, and the reason that it gives."""

    finding: Finding
    reason: str

    def __str__(self) -> str:
        return f"{self.finding.sentence} Accepted in the house file, because: {self.reason}"

    def report(self) -> dict[str, Any]:
        """Return the same as plain data."""
        return {**self.finding.report(), "reason": self.reason}


class DangerError(CheckError):
    """The wiring is dangerous as the house file describes it; nothing is lit.

    Parameters
    ----------
    house
        The name of the house file.
    dangers
        At least one.
    """

    def __init__(self, house: str, dangers: tuple[Finding, ...]) -> None:
        self.dangers = dangers
        super().__init__("\n".join(f"{house}: DANGER: {danger}" for danger in dangers))
