"""What open shows stand on: the folder's house, and the effects, as last read without a mistake."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.core.toml.reading import parsed
from lumenmap.desk.files.folder import Folder
from lumenmap.desk.light.rendering import Rendering
from lumenmap.jobs.project import Project
from lumenmap.show.effects.effect import Effect
from lumenmap.show.effects.registry import effects
from lumenmap.show.load import show_from
from lumenmap.site import Site


class Ground:
    """The house and the effects of one folder.

    Parameters
    ----------
    folder
        The folder.
    rendering
        What tries a frame of each show.
    effect_folders
        Folders of effects that the user named; their code is run.

    Attributes
    ----------
    site
        The house; None until it could be read.
    problems
        Why a file can't be read as it stands, by its name; of effects under "effects".
    """

    def __init__(
        self, folder: Folder, rendering: Rendering, effect_folders: Iterable[Path] = ()
    ) -> None:
        self._effect_folders = tuple(effect_folders)
        self.site: Site | None = None
        self.effects: dict[str, Effect] = {}
        self.problems: dict[str, InputError] = {}
        self._folder, self._rendering = folder, rendering
        self.read_effects()
        self.read_house()

    def read_effects(self) -> None:
        """Find the effects again; the last good ones stay if one is broken."""
        try:
            self.effects = dict(effects(self._effect_folders))  # read now, all of them
            self.problems.pop("effects", None)
        except InputError as error:
            self.problems["effects"] = error
            if not self.effects:
                self.effects = dict(effects())
        self._rendering.forget()

    def read_house(self) -> None:
        """Read the house again; the last good one stays if it is broken."""
        name = self._folder.house
        if name is None:
            return
        try:
            site = Site.read(self._folder.path_of(name))
            _ = site.pixels, site.budgets
        except LumenmapError as error:
            self.problems[name] = as_input(error)
            return
        self.problems.pop(name, None)
        self.site = site

    def project(self, path: Path, text: str, frame: int = 0) -> Project:
        """Return the project that a show file's text makes; one of its frames is tried.

        Raises
        ------
        LumenmapError
            Anything wrong in it, or with an effect.
        """
        if self.site is None:
            house = self._folder.house or "the house file"
            raise InputError(f"{house} can't be read yet; mend it first")
        show = show_from(parsed(text, path), path, unit=self.site.house.unit, known=self.effects)
        project = Project.of(show, self.site)
        frame = min(frame, show.frames - 1)
        self._rendering(project.plan, frame, frame + 1)
        return project


def as_input(error: LumenmapError) -> InputError:
    """Return any of our errors as one about a person's file."""
    return error if isinstance(error, InputError) else InputError(str(error))
