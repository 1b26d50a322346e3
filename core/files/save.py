"""Saving a plant so that a crash, a full disk or a pulled plug never costs the file that was there."""

from __future__ import annotations

import contextlib
import os
import stat
import tempfile
from pathlib import Path

from core.errors import Refusal
from core.files import write
from core.files.limits import LARGEST_FILE
from core.plant.model import Plant

ENDING = ".plant.json"


def save(plant: Plant, path: str | Path) -> None:
    """Write a plant whole beside its place, then put it there in one step.

    The text goes to a new file in the same folder, is forced to the disk, and takes the old one's
    name and permissions. A link is followed, so that it stays a link.

    Raises
    ------
    Refusal
        The folder or file cannot be written, or the name does not end in ``.plant.json``; what was
        there before is untouched
    """
    if not str(path).endswith(ENDING):
        raise Refusal("", Path(path).name, f"a name ending in {ENDING}", file=str(path))
    content = write.dumps(plant).encode("utf-8")
    if len(content) > LARGEST_FILE:
        raise Refusal("", f"{len(content)} bytes", f"at most {LARGEST_FILE} bytes", file=str(path))
    try:
        _put(content, Path(os.path.realpath(path)))
    except OSError as error:
        found = f"it cannot be written ({error.strerror or error})"
        raise Refusal("", found, "a folder with room and permission", file=str(path)) from None


def _put(content: bytes, target: Path) -> None:
    if target.exists() and not target.is_file():
        raise IsADirectoryError(0, "it is not a file")
    mode = _mode_of(target)
    handle, fresh = tempfile.mkstemp(prefix=f".{target.name[:80]}-", suffix=".part", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(fresh, mode)
        os.replace(fresh, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(fresh)
        raise
    _settle(target.parent)


def _mode_of(target: Path) -> int:
    """Permissions of the file that is there, else those a new one would get."""
    try:
        return stat.S_IMODE(target.stat().st_mode)
    except FileNotFoundError:
        mask = os.umask(0)
        os.umask(mask)
        return 0o666 & ~mask


def _settle(folder: Path) -> None:
    """Force the folder's entry to the disk where the system can: else the new name may be lost."""
    with contextlib.suppress(OSError, AttributeError):
        handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
