"""`Finding`: something wrong or worth knowing about the wiring, and what to do about it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from lumenmap.core.errors import CheckError

#: A danger stops every command that lights the house; a warning doubts; a note is worth knowing.
Severity = Literal["danger", "warning", "note"]


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding.

    Attributes
    ----------
    code
        What kind of finding it is: ``fuse-too-large``.
    severity
        How bad it is.
    of
        The feed, line, bus or supply that it is about.
    says
        What is wrong, in one sentence.
    remedy
        What to do about it.
    """

    code: str
    severity: Severity
    of: str
    says: str
    remedy: str = ""

    def __str__(self) -> str:
        return f"{self.says} {self.remedy}".rstrip()

    def report(self) -> dict[str, Any]:
        """Return the finding as plain data."""
        return {
            "finding": self.code,
            "severity": self.severity,
            "of": self.of,
            "says": self.says,
            "remedy": self.remedy,
        }


@dataclass(frozen=True, slots=True)
class AcceptedFinding:
    """A danger that the house file accepts, and the reason that it gives."""

    finding: Finding
    reason: str

    def __str__(self) -> str:
        return f"{self.finding.says} Accepted in the house file, because: {self.reason}"

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
