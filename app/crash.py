"""A short log and crash reports in the user's state folder, with versions, for whoever mends the program.

Nothing of a plant is written but file names. Without Qt; never raises: a log must not end what it tells of.
"""

from __future__ import annotations

import contextlib
import datetime
import os
import sys
from pathlib import Path

from core.files.places import state_folder

LOG, FAULTS = "log.txt", "faults.txt"
MOST = 200_000
"""Bytes of the log; the one before is kept as `log.old.txt`."""
KEPT = 20
PACKAGES = ("PySide6_Essentials", "shiboken6", "numpy", "scipy", "networkx", "Pint", "openpyxl")


def versions() -> dict[str, str]:
    """The program, Python, the system, and the packages it stands on; "not there" for one that is not."""
    import platform
    from importlib import metadata

    found = {"wetside": "", "Python": platform.python_version(), "System": platform.platform()}
    for name in ("wetside", *PACKAGES):
        try:
            found[name] = metadata.version(name)
        except metadata.PackageNotFoundError:
            found[name] = "not there" if name != "wetside" else "from its source"
    return found


def note(words: str, folder: Path | None = None) -> None:
    """One line in the log, with the time."""
    with contextlib.suppress(OSError):
        place = _folder(folder) / LOG
        if place.exists() and place.stat().st_size > MOST:
            os.replace(place, place.with_name("log.old.txt"))
        with place.open("a", encoding="utf-8", errors="backslashreplace") as out:
            out.write(f"{_now()} {' '.join(words.split())}\n")


def report(error: BaseException, folder: Path | None = None) -> str:
    """Write down a fault nobody foresaw; the path of what was written, empty where nothing could be."""
    import tempfile
    import traceback

    what = "".join(traceback.format_exception(error))
    lines = [f"{name}: {version}" for name, version in versions().items()]
    text = "\n".join([_now(), " ".join(sys.argv), *lines, "", what])
    note(f"fault: {type(error).__name__}: {error}", folder)
    for here in (folder or state_folder(), Path(tempfile.gettempdir())):
        with contextlib.suppress(OSError):
            here.mkdir(parents=True, exist_ok=True)
            stamp = datetime.datetime.now().strftime("%Y-%m-%d-%H%M%S-%f")
            file = here / f"crash-{stamp}-{os.getpid()}.txt"
            file.write_text(text, encoding="utf-8", errors="backslashreplace")
            _keep_few(here)
            return str(file)
    return ""


def watch_for_faults() -> None:
    """Have what ends the process outright, such as a fault in a library, written down too."""
    import faulthandler

    with contextlib.suppress(OSError, ValueError):
        faulthandler.enable((_folder(None) / FAULTS).open("a", encoding="utf-8"))


def _folder(given: Path | None) -> Path:
    folder = given or state_folder()
    folder.mkdir(parents=True, exist_ok=True)
    return folder


def _keep_few(folder: Path) -> None:
    for old in sorted(folder.glob("crash-*.txt"))[:-KEPT]:
        old.unlink(missing_ok=True)


def _now() -> str:
    return datetime.datetime.now().strftime("%Y-%m-%d %H:%M:%S")
