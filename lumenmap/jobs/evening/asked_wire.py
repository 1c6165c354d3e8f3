"""The house's wire, as the evening holds and lends it."""

from __future__ import annotations

from pathlib import Path

from lumenmap.jobs.wire import Wire


class AskedWire(Wire):
    """The house's wire, and whether somebody asks for it, as a thread finds out."""

    def __init__(self, folder: Path) -> None:
        super().__init__(folder, "run")
        self.asked = True  # until it is taken

    def look(self) -> None:
        """Find out whether somebody asks for it."""
        self.asked = not self.held or self.wanted() is not None

    def take(self) -> bool:
        """Take it, if it is free and nobody asks for it."""
        taken = super().take()
        self.asked = not taken
        return taken
