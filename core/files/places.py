"""Where the program keeps what it must remember between two runs, and the names beside a plant file."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from core.errors import Refusal

SUFFIX = ".plant.json"
Stamp = tuple[int, int]
"""When a file was last written [ns], and its size."""


def spare_plants(out: Path, expected: str, option: str = "") -> None:
    """Refuse a file to write to that is a plant's, by its own name or by the name a link leads to.

    Raises
    ------
    Refusal
        A plant file, which no output ever overwrites
    """
    if any(path.name.lower().endswith(SUFFIX) for path in (out, out.resolve())):
        raise Refusal(option, str(out), expected, "A plant file is never overwritten.")


def stamp_of(file: Path) -> Stamp | None:
    """When a file was last written, and its size; None where there is none."""
    try:
        found = file.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size


def state_folder() -> Path:
    """The user's own folder for journals and locks that cannot lie beside their plant."""
    if given := os.environ.get("XDG_STATE_HOME"):
        return Path(given) / "wetside"
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home()) / "wetside"
    return Path.home() / ".local" / "state" / "wetside"


def beside(file: Path, ending: str) -> Path:
    """A hidden name in the plant's own folder."""
    return file.with_name(f".{file.name}{ending}")


def instead(file: Path, ending: str, state: Path) -> Path:
    """A name in the user's state folder that no other plant has."""
    import hashlib

    mark = hashlib.sha256(str(file).encode("utf-8", "surrogateescape")).hexdigest()[:12]
    return state / f"{file.name[:80]}-{mark}{ending}"


def places_of(file: Path, ending: str, state: Path) -> tuple[Path, Path]:
    """Where something about a plant file may lie: beside it, or where that cannot be, in the state folder."""
    real = Path(os.path.realpath(file))
    return beside(real, ending), instead(real, ending, state)
