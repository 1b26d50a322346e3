"""Saving a plant so that a crash, a full disk or a pulled plug never costs the file that was there."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import tempfile
import zlib
from dataclasses import replace
from pathlib import Path

from core.errors import PlainRefusal, Refusal
from core.files import write
from core.files.holder import myself
from core.files.limits import LARGEST_FILE
from core.plant.model import Plant

ENDING = ".plant.json"
PART = ".part"


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
        put(content, Path(os.path.realpath(path)))
    except OSError as error:
        raise PlainRefusal(f"it cannot be written there: {why(error, Path(path))}", str(path)) from None


def keep_old(path: str | Path, version: int) -> Path:
    """Put a copy of a file of an older version beside it and return its name, before it is written anew.

    A copy that is there already stays; an equal one serves again.

    Raises
    ------
    Refusal
        The copy cannot be written; nothing has changed
    """
    file = Path(os.path.realpath(path))
    try:
        content = file.read_bytes()
        for number in range(1, 1000):
            copy = file.with_name(f"{file.name}.v{version}{'' if number == 1 else f'-{number}'}.bak")
            if copy.exists():
                if copy.read_bytes() != content:
                    continue
            else:
                put(content, copy)
            return copy
        raise OSError(0, "too many old copies lie there")
    except OSError as error:
        words = f"its old form cannot be kept beside it: {why(error, file)}"
        raise PlainRefusal(words, str(path)) from None


def why(error: OSError, path: Path) -> str:
    """Why something cannot be written, in plain words."""
    if not path.parent.is_dir():
        return f"there is no folder {path.parent}" if not path.parent.exists() else "that is no folder"
    known = {
        errno.EACCES: "you may not write in this folder",
        errno.EPERM: "you may not write in this folder",
        errno.EROFS: "this disk can only be read",
        errno.ENOSPC: "the disk is full",
        errno.EDQUOT: "your share of the disk is full",
        errno.ENAMETOOLONG: "the name is too long",
        errno.EISDIR: "a folder has that name",
    }
    return known.get(error.errno or 0) or f"the system says: {(error.strerror or str(error)).lower()}"


def put(content: bytes, target: Path) -> None:
    """Replace a file by new content in one step, on the disk when this returns. Raises OSError."""
    if target.exists() and not target.is_file():
        raise IsADirectoryError(errno.EISDIR, "it is not a file")
    mode = _mode_of(target)
    _clean(target)
    prefix = f"{_beginning(target)}{os.getpid()}-"
    handle, fresh = tempfile.mkstemp(prefix=prefix, suffix=PART, dir=target.parent)
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


def _beginning(target: Path) -> str:
    """How the names of files begin that this machine writes on the way to a target."""
    host = zlib.crc32(myself().host.encode("utf-8", "replace"))
    return f".{target.name[:80]}-{host:08x}-"


def _clean(target: Path) -> None:
    """Take away what a process that was killed while it wrote the target has left half written."""
    beginning = _beginning(target)
    with contextlib.suppress(OSError):
        for left in target.parent.iterdir():
            pid = left.name.removeprefix(beginning).partition("-")[0]
            ours = left.name.startswith(beginning) and left.name.endswith(PART) and pid.isdecimal()
            if ours and replace(myself(), pid=int(pid), started="").gone:
                left.unlink()


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
