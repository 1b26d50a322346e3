"""`wetside desktop`: has the desktop open plant files with this program, and list it among its programs.

Written as the Desktop Entry Specification 1.5 and the Shared MIME-info Database of freedesktop.org ask, from
memory. Only in the user's own folders.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

from core.commands.arguments import Arguments
from core.errors import PlainRefusal, escaped

MIME = "application/x-wetside-plant+json"
ENTRY, TYPES = "applications/wetside.desktop", "mime/packages/wetside.xml"
PATIENCE = 30  # [s] for the desktop's own helpers


def run(argv: list[str]) -> int:
    """Write both files, or take them away; say what was done."""
    parser = Arguments(
        "wetside desktop",
        description="Have the desktop open plant files with Wetside. For the user who runs it alone.",
        allow_abbrev=False,
    )
    parser.add_argument("--remove", action="store_true", help="take the entry and the file type away again")
    given = parser.parse_args(argv)
    if not sys.platform.startswith("linux"):
        raise PlainRefusal("this is for Linux desktops; elsewhere choose Wetside in the file's own settings")
    data = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share")
    files = {data / ENTRY: entry(command()), data / TYPES: types()}
    try:
        for file, text in files.items():
            _put(file, None if given.remove else text)
    except OSError as error:
        raise PlainRefusal(f"{error.filename}: it cannot be written ({error.strerror})") from None
    for helper, folder in (("update-mime-database", "mime"), ("update-desktop-database", "applications")):
        _tell(helper, data / folder)
    return 0


def command() -> str:
    """How this program is called, with its whole path."""
    found = shutil.which("wetside")
    words = [found] if found else [sys.executable, "-m", "app"]
    return " ".join('"' + word.replace("\\", "\\\\").replace('"', '\\"') + '"' for word in words)


def entry(call: str) -> str:
    """The desktop entry; `call` is what runs the program."""
    return "\n".join(
        (
            "[Desktop Entry]",
            "Type=Application",
            "Name=Wetside",
            "Comment=Draw the water side of a mechanical room, and size it",
            f"Exec={call} %f",
            "Icon=applications-engineering",
            "Terminal=false",
            "Categories=Science;Engineering;",
            f"MimeType={MIME};",
            "",
        )
    )


def types() -> str:
    """The type of a plant file, known by the end of its name."""
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<mime-info xmlns="http://www.freedesktop.org/standards/shared-mime-info">
  <mime-type type="{MIME}">
    <comment>Wetside plant</comment>
    <sub-class-of type="application/json"/>
    <glob pattern="*.plant.json" weight="80"/>
  </mime-type>
</mime-info>
"""


def _put(file: Path, text: str | None) -> None:
    """Write a file, or take it away; say so."""
    if text is None:
        there = file.exists()
        file.unlink(missing_ok=True)
        print(escaped(f"{file}: {'removed' if there else 'was not there'}"))
        return
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(text, encoding="utf-8")
    print(escaped(f"{file}: written"))


def _tell(helper: str, folder: Path) -> None:
    """Have the desktop look again, where its helper is there; else it looks at the next start."""
    if (found := shutil.which(helper)) and folder.is_dir():
        with contextlib.suppress(OSError, subprocess.SubprocessError):
            subprocess.run([found, str(folder)], capture_output=True, timeout=PATIENCE, check=False)
