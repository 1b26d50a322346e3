"""Groups that repeat, kept as small plant files: a few of ours, and the user's own in the settings folder.

Reading is tolerant: a file that cannot be taken is left out, and said so.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from pathlib import Path

from core.errors import Refusal, WetsideError
from core.files.places import SUFFIX
from core.plant.excerpt import Excerpt

FOLDER = "assemblies"
WORD = "assembly "
"""Before the name of an assembly where a kind might stand as well; no kind has a blank in it."""


@dataclass(frozen=True)
class Assembly:
    """One on the shelf. `key` is how shelf and drags call it; ours have no file the user could lose."""

    key: str
    title: str
    part: Excerpt
    file: Path
    own: bool


class Assemblies:
    """Ours and the user's; without a folder the user can keep none."""

    def __init__(self, folder: Path | None) -> None:
        self._folder = None if folder is None else folder / FOLDER
        self._known: dict[str, Assembly] = {}
        self.refused: list[str] = []
        """What is wrong with files that were left out, one line each."""

    def all(self) -> list[Assembly]:
        """The user's own first, each group by title."""
        return sorted(self._known.values(), key=lambda one: (not one.own, one.title.lower(), one.key))

    def get(self, key: str) -> Assembly | None:
        return self._known.get(key)

    def read(self) -> None:
        """Look at the files again."""
        self._known, self.refused = {}, []
        for folder, own in ((_shipped(), False), (self._folder, True)):
            files = sorted(folder.glob(f"*{SUFFIX}")) if folder is not None and folder.is_dir() else []
            for file in files:
                self._add(file, own)

    def _add(self, file: Path, own: bool) -> None:
        from core.files.read import load

        try:
            plant = load(file)
        except WetsideError as trouble:
            self.refused.append(str(trouble))
            return
        name = file.name.removesuffix(SUFFIX)
        key = f"{WORD}{'own ' if own else ''}{name}"
        if plant.items:
            self._known[key] = Assembly(key, plant.title or name, Excerpt(plant), file, own)

    def keep(self, part: Excerpt, title: str) -> Assembly:
        """Keep an excerpt under a name; one of the same name is written over.

        Raises
        ------
        Refusal
            There is no folder, or it cannot be written
        """
        if self._folder is None:
            raise Refusal("", "no settings folder", "a folder to keep assemblies in")
        name = re.sub(r"[^\w-]+", "-", title.lower()).strip("-_")[:60] or "assembly"
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise Refusal(
                "", f"no folder {self._folder} ({error.strerror})", "one that can be made"
            ) from None
        from core.files.save import save

        file = self._folder / f"{name}{SUFFIX}"
        save(replace(part.plant, title=title, cases=()), file)
        self.read()
        return self._known[f"{WORD}own {name}"]

    def drop(self, key: str) -> None:
        """Take one of the user's own away."""
        one = self._known.get(key)
        if one is not None and one.own:
            one.file.unlink(missing_ok=True)
            self.read()


def _shipped() -> Path | None:
    try:
        import sample_plants
    except ModuleNotFoundError:
        return None
    return Path(sample_plants.__file__).parent / FOLDER
