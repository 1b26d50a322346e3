"""The journal of a plant under edit: where it began, and one line a change. Made to survive a kill.

Each line holds what differs from the line before it, in the words of the plant file; a last line cut short
by the end of the process is left out. Reading goes through the same strict reader as any plant file.

One line a change, the difference from the one before in the file's own words; beside the plant as
`.NAME.journal`, else in `$XDG_STATE_HOME/wetside`. The undo history is not kept.
"""

from __future__ import annotations

import contextlib
import json
import os
import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any, BinaryIO, TypeVar

from core.errors import Refusal
from core.files import read, syntax, write
from core.files.holder import Holder, myself, read_holder
from core.files.limits import LARGEST_FILE
from core.files.places import Stamp, beside, instead, places_of
from core.plant.model import Item, Pipe, Plant

Refused = tuple[str, str, str, str, str]
"""Typed and not taken: id of the thing ("" for the sheet), key and name of the field, text, reason."""

ENDING = ".journal"
UNTITLED = "untitled"
MOST_GROWTH = 4
"""A journal this many times as long as its beginning is begun anew."""

_Part = TypeVar("_Part", Item, Pipe)
_DAMAGED = (ValueError, KeyError, TypeError, AttributeError, IndexError, RecursionError)


class Writer:
    """Writes one journal. Not for two threads at once; every call leaves it on the disk."""

    def __init__(
        self, file: Path | None, stamp: Stamp | None, start: Plant, state: Path, revision: int = 0
    ) -> None:
        """For changes to `start`, which `file` held when it had that stamp (None: never saved).

        `revision` numbers the user's changes: several that are written at once count each.
        """
        self._revision = revision
        self._file, self._stamp, self._state = file, stamp, state
        self._last = start
        self._stream: BinaryIO | None = None
        self._place: Path | None = None
        self._begun = self._length = 0
        self._refused: tuple[Refused, ...] = ()
        self._changed = False

    @property
    def place(self) -> Path | None:
        """Where the journal lies; None before the first change."""
        return self._place

    def note(self, plant: Plant, words: str = "", revision: int | None = None) -> None:
        """Write down what differs from the plant of the call before; OSError where it cannot be."""
        if plant is self._last:
            return
        if self._stream is None:
            self._begin(self._last)
        elif self._length > max(MOST_GROWTH * self._begun, 1_000_000):
            old, self._place = self._place, None
            self.close()
            self._begin(self._last)
            if old is not None:
                _remove(old)
            self._append_refused()
        difference = differences(self._last, plant)
        now = self._revision + 1 if revision is None else revision
        count = max(1, now - self._revision)
        self._append({"at": time.time(), "words": words, "changes": count, **difference})
        self._last, self._revision, self._changed = plant, now, True

    def keep(self, refused: tuple[Refused, ...]) -> None:
        """Write down all that was typed and not taken, in place of the list before; OSError as in `note`."""
        if refused == self._refused:
            return
        self._refused = refused
        if not refused and not self._changed:
            self.discard()
            return
        if self._stream is None:
            self._begin(self._last)
        self._append_refused()

    def _append_refused(self) -> None:
        self._append({"at": time.time(), "words": "", "changes": 0, "refused": self._refused})

    def close(self) -> None:
        if self._stream is not None:
            self._stream.close()
            self._stream = None

    def discard(self, revision: int | None = None, plant: Plant | None = None) -> None:
        """All of it, up to a revision (this plant), is saved or not wanted; what was not taken goes too."""
        self._last = self._last if plant is None else plant
        self._refused, self._changed = (), False
        self._revision = self._revision if revision is None else revision
        self.close()
        if self._place is not None:
            _remove(self._place)
            self._place = None

    def _begin(self, start: Plant) -> None:
        trouble: OSError | None = None
        for place in self._candidates():
            try:
                place.parent.mkdir(parents=True, exist_ok=True)
                # A journal left by another process is never written over.
                handle = os.open(place, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_APPEND, 0o600)
            except FileExistsError:
                continue
            except OSError as error:
                trouble = error
                continue
            self._stream, self._place, self._length = os.fdopen(handle, "wb"), place, 0
            self._append(
                {
                    "wetside-journal": 1,
                    "file": str(self._file) if self._file is not None else "",
                    "stamp": self._stamp,
                    "holder": myself().data(),
                    "plant": write.dumps(start),
                }
            )
            self._begun = self._length
            return
        raise trouble or OSError(0, "there is no room for a journal")

    def _candidates(self) -> list[Path]:
        endings = [ENDING, *(f"-{number}{ENDING}" for number in range(2, 100))]
        if self._file is None:
            name = f"{UNTITLED}-{os.getpid()}"
            return [self._state / f"{name}{ending}" for ending in endings]
        real = Path(os.path.realpath(self._file))
        return [beside(real, ending) for ending in endings] + [
            instead(real, ending, self._state) for ending in endings
        ]

    def _append(self, line: Mapping[str, Any]) -> None:
        if self._stream is None:
            return
        text = json.dumps(line, ensure_ascii=True, allow_nan=False) + "\n"
        self._stream.write(text.encode("ascii"))
        self._stream.flush()
        os.fsync(self._stream.fileno())
        self._length += len(text)


def differences(before: Plant, after: Plant) -> dict[str, Any]:
    """What of a plant is not as before: parts by id (None: gone), their order where it matters, the rest."""
    out: dict[str, Any] = {}
    for key, old, new, data in (
        ("items", before.items, after.items, write.item_data),
        ("pipes", before.pipes, after.pipes, write.pipe_data),
    ):
        if old is not new:
            parts, order = _parts(old, new, data)  # type: ignore[type-var]
            out |= {key: parts} if parts else {}
            out |= {f"{key}_order": order} if order else {}
    others = {f.name for f in fields(Plant)} - {"items", "pipes", "version"}
    if any(getattr(before, name) is not getattr(after, name) for name in others):
        # Small beside items and pipes: said whole.
        bare = Plant(**{name: getattr(after, name) for name in others})
        rest = json.loads(write.dumps(bare))
        out["rest"] = {key: value for key, value in rest.items() if key not in ("items", "pipes")}
    return out


def _parts(old: Mapping[str, _Part], new: Mapping[str, _Part], data: Any) -> tuple[dict[str, Any], list[str]]:
    parts: dict[str, Any] = {name: data(one) for name, one in new.items() if old.get(name) is not one}
    parts |= {name: None for name in old if name not in new}
    usual = [name for name in old if name in new] + [name for name in new if name not in old]
    return parts, [] if usual == list(new) else list(new)


@dataclass(frozen=True)
class Found:
    """Unsaved work of a process that has ended."""

    place: Path
    file: Path | None
    stamp: Stamp | None
    holder: Holder
    at: float
    """When it was last changed [s]."""
    changes: int
    plant: Plant
    refused: tuple[Refused, ...] = ()

    def remove(self) -> None:
        """Throw the journal away."""
        _remove(self.place)


def look(file: Path | None, state: Path) -> list[Found]:
    """Journals of a plant file, or of plants never saved, that nobody writes any more; the newest first."""
    places: list[Path] = []
    if file is None:
        places = sorted(state.glob(f"{UNTITLED}-*{ENDING}")) if state.is_dir() else []
    else:
        for place in places_of(file, "", state):
            with contextlib.suppress(OSError):
                # By name, not by pattern: a plant's name may hold a bracket or a star.
                beginning = (f"{place.name}{ENDING}", f"{place.name}-")
                places += [
                    one
                    for one in sorted(place.parent.iterdir())
                    if one.name.startswith(beginning) and one.name.endswith(ENDING)
                ]
    found = [one for place in places if (one := recover(place)) is not None]
    return sorted(found, key=lambda one: -one.at)


def all_of(state: Path) -> list[Path]:
    """Plant files that journals in the state folder belong to."""
    out: list[Path] = []
    with contextlib.suppress(OSError):
        for place in sorted(state.glob(f"*{ENDING}")):
            head = _head(place)
            if head is not None and head.get("file"):
                out.append(Path(str(head["file"])))
    return list(dict.fromkeys(out))


def recover(place: Path) -> Found | None:
    """The work in a journal; None where a living process writes it, or nothing can be read from it.

    Where the last lines do not give a valid plant, the ones before them count.
    """
    head = _head(place)
    if head is None:
        return None
    try:
        holder = read_holder(head["holder"])
        if holder.here and not holder.gone:
            return None
        data = syntax.parsed(str(head["plant"]))
        lines = list(_lines(place))
        stamp = head.get("stamp")
        known = (int(stamp[0]), int(stamp[1])) if isinstance(stamp, list) and len(stamp) == 2 else None
        file = Path(str(head["file"])) if head.get("file") else None
        plant, count = _replayed(data, lines)
    except (Refusal, OSError, *_DAMAGED):
        return None
    if not count:
        return None
    at = lines[count - 1].get("at")
    counted = (line.get("changes", 1) for line in lines[:count])
    changes = sum(one if isinstance(one, int) else 1 for one in counted)
    refused = _refused(lines[:count])
    if not changes and not refused:
        return None
    since = at if isinstance(at, float) else holder.since
    return Found(place, file, known, holder, since, changes, plant, refused)


def _refused(lines: list[dict[str, Any]]) -> tuple[Refused, ...]:
    """What was not taken at last; entries that are none are passed over."""
    last: Any = next((line["refused"] for line in reversed(lines) if "refused" in line), [])
    rows = last if isinstance(last, list) else []
    whole = [row for row in rows if isinstance(row, list) and len(row) == 5]
    return tuple(
        (row[0], row[1], row[2], row[3], row[4]) for row in whole if all(isinstance(w, str) for w in row)
    )


def _replayed(start: Mapping[str, Any], lines: list[dict[str, Any]]) -> tuple[Plant, int]:
    for count in range(len(lines), 0, -1):
        data = start
        with contextlib.suppress(Refusal, *_DAMAGED):
            for line in lines[:count]:
                data = _changed(data, line)
            return read.from_data(data), count
    return read.from_data(start), 0


def _changed(data: Mapping[str, Any], line: Mapping[str, Any]) -> dict[str, Any]:
    out = dict(line.get("rest", data))
    for key in ("items", "pipes"):
        parts = {one["id"]: one for one in data.get(key, [])}
        for name, one in line.get(key, {}).items():
            if one is None:
                parts.pop(name, None)
            else:
                parts[name] = one
        order: Iterable[str] = line.get(f"{key}_order", parts)
        out[key] = [parts[name] for name in order]
    return out


def _head(place: Path) -> dict[str, Any] | None:
    try:
        with place.open("rb") as stream:
            head = json.loads(stream.readline(2 * LARGEST_FILE))
    except (OSError, ValueError):
        return None
    return head if isinstance(head, dict) and head.get("wetside-journal") == 1 else None


def _lines(place: Path) -> Iterable[dict[str, Any]]:
    with place.open("rb") as stream:
        stream.readline()
        for text in stream:
            try:
                line = json.loads(text)
            except (ValueError, RecursionError):
                return  # cut short: the process ended while writing it
            if not isinstance(line, dict):
                return
            yield line


def _remove(place: Path) -> None:
    with contextlib.suppress(OSError):
        place.unlink()
