"""The `wetside` command: picks what the words ask for. Nothing slow and no Qt before it is needed."""

import errno
import io
import os
import signal
import sys
from collections.abc import Sequence
from pathlib import Path

from core import commands
from core.errors import WetsideError, escaped

_USAGE = """\
Wetside draws the water side of a mechanical room and does its arithmetic.

  wetside FILE                   open a plant in the window (no display: print it solved)
  wetside                        open an empty board
{commands}

`wetside COMMAND --help` tells more, `wetside --version` which this is.
Exit codes: 0 done, 1 done but something needs attention, 2 refused.
"""
_PRINT = ("FILE -o OUT.pdf|svg|png [--case NAME] [--sheet a3|tabloid|…]", "the labeled diagram on a sheet")
_REPORT = (
    "FILE -o OUT.pdf [--case NAME] [--sheet tabloid|a3|…] [--prices CSV]",
    "design report: what it does, sizes, and how each number came about",
)
_TEXT_PAPERS = {
    "wiring": ("FILE [--json] [-o OUT.pdf] [--sheet SIZE]", "wiring points and the load on each circuit"),
    "start-up": (
        "FILE -o OUT.pdf [--sheet SIZE]",
        "start-up sheet: test, fill, purge, set, expected readings",
    ),
    "service": ("FILE -o OUT.pdf [--sheet SIZE]", "service calendar with the valves to shut"),
}
_TABLE = {**commands.TABLE, "print": _PRINT, "report": _REPORT, **_TEXT_PAPERS}
COMMANDS = tuple(_TABLE)
_PROMISED = ("readings", "takeoff")
NOT_BUILT = tuple(name for name in _PROMISED if name not in COMMANDS)
USAGE = _USAGE.format(
    commands="\n".join(
        f"  wetside {name} {words}\n{' ' * 33}{gives}" for name, (words, gives) in _TABLE.items()
    )
)
REFUSED = 2
INTERRUPTED = 130
SHORT = ("-h", "--help", "--version")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one `wetside` command and return its exit code; never lets a traceback through."""
    words = list(sys.argv[1:] if argv is None else argv)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a terminal without ° or ² gets an escape, not an error
            stream.reconfigure(errors="backslashreplace")
    try:
        if sys.stdout is None and words and words[0] in (*COMMANDS, *SHORT):
            return _refuse("standard output is closed; expected one to write to.")
        code = dispatch(words)
        if sys.stdout is not None:
            sys.stdout.flush()
    except KeyboardInterrupt:
        if words:  # on a line of its own, below what a command last said of its progress
            print("\nwetside: stopped before it was done.", file=sys.stderr)
        return INTERRUPTED
    except WetsideError as error:
        print(error, file=sys.stderr)
        return REFUSED
    except OSError as error:
        return _refuse(trouble) if (trouble := _stream_trouble(error)) else _unforeseen(error)
    except Exception as error:
        return _unforeseen(error)
    return code


def _stream_trouble(error: OSError) -> str:
    """Why standard output takes no more; empty where the error is about something else."""
    said = {
        errno.EPIPE: "whoever read standard output has gone",
        errno.ENOSPC: "the disk that standard output goes to is full",
        errno.EBADF: "standard output is closed",
        errno.EIO: "standard output cannot be written",
    }
    if error.filename is not None or error.errno not in said or sys.stdout is None:
        return ""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # else Python's own last flush complains
    return f"{said[error.errno]}; expected one that takes all."


def _version() -> str:
    from importlib import metadata

    try:
        return metadata.version("wetside")
    except metadata.PackageNotFoundError:
        return "unknown"


def dispatch(words: list[str]) -> int:
    """Send the words to the command they name; a bare file name asks for the window."""
    if not words:
        return _window([])
    first, *rest = words
    if first in ("-h", "--help"):
        print(USAGE, end="")
        return 0
    if first == "--version":
        print(f"wetside {_version()}")
        return 0
    if first in NOT_BUILT:
        return _refuse(f"`wetside {first}` is not built yet; built so far: {', '.join(COMMANDS)}.")
    card = first == "shut-off" and any(word.startswith(("-o", "--out")) for word in rest)
    if card or first in ("print", "report", *_TEXT_PAPERS):
        return _print(first, rest)
    if first in COMMANDS:
        return _core_command(words)
    if first.startswith("-"):
        return _refuse(f"found option {first}; expected a command or a plant file. Try `wetside --help`.")
    return _file(first, rest)


def _file(name: str, rest: list[str]) -> int:
    if not Path(name).is_file():
        found = f"{name}: found a folder" if Path(name).is_dir() else f"found {name!r}"
        return _refuse(f"{found}; expected a command or a plant file. {_nearest(name)}")
    if rest:
        return _refuse(
            f"found {rest[0]!r} after {name}; expected the file alone. Try `wetside solve --help`."
        )
    return _window([name])


def _nearest(name: str) -> str:
    """The command or the plant file nearby that was probably meant."""
    import difflib

    place = Path(name) if Path(name).is_dir() else Path(name).parent
    files = {path.name: str(path) for path in sorted(place.glob("*.plant.json"))}
    if Path(name).is_dir():
        near = list(files)
    else:
        near = difflib.get_close_matches(Path(name).name, (*COMMANDS, *NOT_BUILT, *files), n=1, cutoff=0.5)
    return f"Did you mean `{files.get(near[0], near[0])}`?" if near else "Try `wetside --help`."


def _core_command(words: list[str]) -> int:
    code = commands.main(words)
    return _refuse(f"`wetside {words[0]}` is not built yet.") if code is None else code


def _print(command: str, rest: list[str]) -> int:
    from app.preflight import load_qt, picture_trouble

    no_picture = any(word in ("-h", "--help") for word in rest)
    no_picture |= command == "wiring" and not any(word.startswith(("-o", "--out")) for word in rest)
    if not no_picture and (trouble := picture_trouble()):
        return _refuse(trouble)
    if not no_picture:
        load_qt()
    if command == "shut-off":
        from app.paper import card

        return card.run(rest)
    if command == "report":
        from app.paper import report_command

        return report_command.run(rest)
    if command in _TEXT_PAPERS:
        from app.paper import text_papers

        return text_papers.run(rest, command)
    from app.paper.command import run

    return run(rest)


def _window(files: list[str]) -> int:
    """Open the window; where none can be, show the file as a table and say how to get a picture."""
    from app.preflight import load_qt, window_trouble

    trouble = window_trouble()
    if not trouble:
        load_qt()
        from app.window import run

        # Qt's loop runs no Python while it waits, so Python's own handler would leave Ctrl-C unheard.
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        return run(files)
    if not files:
        return _refuse(trouble)
    code = _core_command(["solve", files[0]])
    if code != REFUSED:
        import shlex

        sys.stdout.flush()
        print(f"{trouble} For a picture: wetside print {shlex.quote(files[0])} -o OUT.pdf", file=sys.stderr)
    return code


def _refuse(text: str) -> int:
    print(f"wetside: {escaped(text)}", file=sys.stderr)
    return REFUSED


def _unforeseen(error: Exception) -> int:
    """One line for the person, the details in a file for whoever mends it."""
    from app import crash

    what = f"{type(error).__name__}: {error}"
    file = crash.report(error)
    details = f" The details are in {file}" if file else ""
    return _refuse(f"the program failed in a way it did not foresee ({what}).{details}")
