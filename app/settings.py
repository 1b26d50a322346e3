"""The user's own preferences: one declared table, kept in one small JSON file.

Nothing of a plant lives here.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

from core.vocabulary.guesses import Guess


class Setting(NamedTuple):
    """One preference: its name in the file, what it is when nobody chose, what it means, what it may be."""

    name: str
    default: Any
    meaning: str
    accepts: Callable[[Any], bool]


def _is_word(value: Any) -> bool:
    return isinstance(value, str)


def _is_words(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(word, str) for word in value)


def _is_length(value: Any) -> bool:
    """A positive length as a file spells it; the number alone is looked at, for this runs at start."""
    number, _, unit = value.partition(" ") if isinstance(value, str) else ("", "", "")
    return unit in ("ft", "in", "m", "cm") and number.replace(".", "", 1).isdigit() and float(number) > 0


def _is_place(value: Any) -> bool:
    whole = isinstance(value, list) and all(isinstance(one, int) for one in value)
    return whole and (not value or (len(value) == 5 and min(value[2:4]) > 0))


LOOKS = ("system", "light", "dark")
QUANTITIES = ("tube", "flow", "velocity", "temperature", "head_loss")

TABLE: tuple[Setting, ...] = (
    Setting("look", "system", "light or dark window; 'system' follows the system", LOOKS.__contains__),
    Setting(
        "quantities",
        ["tube", "flow", "velocity", "temperature"],
        "figures written beside the pipes, in this order",
        lambda value: _is_words(value) and set(value) <= set(QUANTITIES),
    ),
    Setting("new_length", "6 ft", "length of a new pipe, a guess until another is typed", _is_length),
    Setting(
        "new_length_within",
        0.5,
        "share by which that guess may be off, either way",
        lambda value: isinstance(value, float) and 0.0 < value <= 1.0,
    ),
    Setting("place", [], "where the window was left: x, y, width, height, whole screen", _is_place),
    Setting("last_used", [], "kinds taken from the shelf, newest first", _is_words),
    Setting("recent", [], "plant files opened or saved, newest first", _is_words),
    Setting("price_list", "", "the user's own price list, a CSV file; none: no costs are shown", _is_word),
    Setting(
        "notes_shown", True, "the list of the solver's notes below the board", lambda v: isinstance(v, bool)
    ),
    Setting("shelf_shown", True, "the shelf beside the board", lambda v: isinstance(v, bool)),
    Setting(
        "stages_shown", True, "letters of the stage beside items and pipes", lambda v: isinstance(v, bool)
    ),
    Setting(
        "controls_shown",
        True,
        "lines from signals to what they run, and from outlets to what they feed",
        lambda v: isinstance(v, bool),
    ),
    Setting("marks_shown", True, "marks of findings on the board", lambda v: isinstance(v, bool)),
    Setting("particulars_shown", True, "the particulars beside the board", lambda v: isinstance(v, bool)),
)
_BY_NAME = {setting.name: setting for setting in TABLE}


class Settings:
    """Reads and writes the table. Without a file everything stays in memory, as the tests want it.

    Keys of a newer program are kept, defaults are not stored, and a value that cannot be used counts as
    absent: a spoiled preference file must never keep the window from opening.

    `state` is the folder for journals and locks that cannot lie beside their plant; None: there are none.
    """

    def __init__(self, file: Path | None = None, state: Path | None = None) -> None:
        self._file = file
        self.state = state
        self._values: dict[str, Any] = {}
        if file is not None:
            self._values = _read(file)

    @property
    def folder(self) -> Path | None:
        """Where the user's own things lie; None where nothing is kept."""
        return None if self._file is None else self._file.parent

    def get(self, name: str) -> Any:
        setting = _BY_NAME[name]
        value = self._values.get(name, setting.default)
        return value if setting.accepts(value) else setting.default

    def set(self, name: str, value: Any) -> None:
        setting = _BY_NAME[name]
        if not setting.accepts(value):
            raise ValueError(f"{name}: found {value!r}; expected {setting.meaning}")
        if value == setting.default:
            self._values.pop(name, None)
        else:
            self._values[name] = value
        self._write()

    @property
    def new_length(self) -> Guess:
        """Of a pipe that is drawn."""
        return Guess(self.get("new_length"), self.get("new_length_within"))

    def put_first(self, name: str, word: str, keep: int) -> None:
        """Move one word to the front of a list kept newest first."""
        words = [word, *(other for other in self.get(name) if other != word)]
        self.set(name, words[:keep])

    def _write(self) -> None:
        if self._file is None:
            return
        try:
            self._file.parent.mkdir(parents=True, exist_ok=True)
            fresh = self._file.with_name(self._file.name + ".new")
            fresh.write_text(json.dumps(self._values, indent=1, sort_keys=True), encoding="utf-8")
            os.replace(fresh, self._file)
        except OSError:
            # A read-only home loses the preference, never the work.
            self._file = None


def _read(file: Path) -> dict[str, Any]:
    try:
        values = json.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return values if isinstance(values, dict) else {}
