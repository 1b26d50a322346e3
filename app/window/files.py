"""Opening and saving: reads off the window's thread, writes atomically, asks before changes are lost.

What is still being typed is taken before saving, opening or closing. A file changed since it was read is
written over only after asking. `Files.save` goes on by `then` and `otherwise`, since the name may come
later.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, cast

from PySide6.QtCore import QObject, Signal
from PySide6.QtWidgets import QWidget

from app.background import Background, Job
from app.document import Document, empty_plant
from app.panels.port import TypedForm
from app.recovery import Journal, left_words
from app.settings import Settings
from app.widgets.message_bar import Answer, MessageBar
from app.window.disk import Disk, clock
from app.window.file_questions import FileQuestions
from core.errors import Refusal, WetsideError
from core.files.places import Stamp, stamp_of

if TYPE_CHECKING:
    from core.files.holder import Holder
    from core.files.journal import Found
    from core.files.read import Opened
    from core.plant.model import Plant

LANE = "open"
RECENT = 8
SAVE_COPY = "Save as…"
Act = Callable[[], object]


def _nothing() -> None: ...


class Reading(NamedTuple):
    """What opening a file found."""

    opened: Opened
    stamp: Stamp | None
    left: tuple[Found, ...]


class Files(QObject):
    """What the Plant menu does with files."""

    began = Signal(str)
    opened = Signal()
    saved = Signal(Path)

    def __init__(
        self,
        document: Document,
        background: Background,
        bar: MessageBar,
        settings: Settings,
        prepare: Callable[[Plant], None],
        window: QWidget,
    ) -> None:
        super().__init__(window)
        self._document, self._background, self._prepare = document, background, prepare
        self._bar, self._settings = bar, settings
        self.asks = FileQuestions(document, settings, bar, window)
        self._coming: Path | None = None
        self._as_new = False
        self._over: Holder | None = None
        self._older: int | None = None
        """Version of the file as it was read, when that is older than what is written."""
        self._newer: Opened | None = None
        self.disk = Disk(settings.state, lambda: window.isActiveWindow() and not self.opening, self)
        self.journal = Journal(document, settings.state, self)
        self.form: TypedForm | None = None
        self.elsewhere: Callable[[Path], bool] = lambda _file: False
        """Shows another window that has the file, if one has."""
        self.in_new_window: Callable[[Found], None] | None = None
        """Recovers in a window of its own."""
        self.disk.changed.connect(self._changed_on_disk)
        self.journal.failed.connect(bar.later)
        self.journal.begin(None)
        background.done.connect(self._take)
        background.failed.connect(self._fail)

    def follow_form(self, form: TypedForm) -> None:
        """What this form does not take is told of, and kept in the journal."""
        self.form = form
        form.waiting.changed.connect(lambda: self.journal.keep(tuple(form.waiting.all())))

    @property
    def opening(self) -> bool:
        return self._coming is not None

    @property
    def untouched(self) -> bool:
        """Whether the window holds nothing that a plant could not simply take the place of."""
        document = self._document
        return document.file is None and document.clean and not document.plant.items and not self.opening

    # ---- opening ------------------------------------------------------------------------

    def new(self) -> None:
        def go() -> None:
            self.disk.release()
            self._show(empty_plant(), None, None)

        self.guarded(go)

    def ask_open(self) -> None:
        self.guarded(lambda: self.asks.to_open(self.open_here))

    def open(self, file: Path) -> None:
        self.guarded(lambda: self.open_here(file))

    def open_here(self, file: Path) -> None:
        """Open a file in this window, or show the window that has it."""
        if not self.elsewhere(file):
            self.read(file)

    def read(self, file: Path, as_new: bool = False, over: Holder | None = None) -> None:
        """Read in the background; what is open stays until the new plant is there.

        `as_new`: a starting point. `over`: who has the file, and may lose it.
        """
        self._coming, self._as_new, self._over = file, as_new, over
        state = None if as_new else self._settings.state
        self.began.emit(f"Opening {file.name}…")
        self._background.ask(LANE, lambda job: _read(job, file, state, self._prepare))

    def _take(self, lane: str, _ticket: int, result: object) -> None:
        if lane != LANE or self._coming is None:
            return
        file, self._coming = self._coming, None
        reading = cast("Reading", result)
        if self._as_new:
            self.disk.release()
            self._show(reading.opened.plant, None, None)
        else:
            self._take_file(file, reading)
        self.opened.emit()

    def _take_file(self, file: Path, reading: Reading) -> None:
        opened, sealed = reading.opened, ""
        holder: Holder | None = None
        if opened.newer:
            self.disk.release()
            sealed = (
                f"{file.name} was written by a newer program (version {opened.version}) and is open to read."
                " Save it under another name to change what can be read of it."
            )
        elif holder := self.disk.take(file, self._over):
            self.disk.release()
            sealed = f"{file.name} is open to read: it is also open {_by(holder)}. {_WAY_OUT}"
        self._show(opened.plant, file, reading.stamp, sealed=sealed)
        self._older = opened.version if opened.older else None
        self._newer = opened if opened.newer else None
        self._remember(file)
        if opened.newer:
            self._tell_newer(file, opened)
        elif holder is not None:
            self._tell_held(file, holder)
        elif opened.older:
            self._tell_older(file, opened)
        if not sealed:
            for found in reading.left:
                self.offer(found)

    def _show(
        self,
        plant: Plant,
        file: Path | None,
        stamp: Stamp | None,
        *,
        sealed: str = "",
        recovered: Found | None = None,
    ) -> None:
        """Give the document another plant; nothing said about the one before still holds."""
        self._older = self._newer = None
        self._bar.forget()
        unsaved = recovered is not None and recovered.changes > 0
        self._document.replace(plant, file, unsaved=unsaved, sealed=sealed)
        self.disk.follow(file, stamp)
        self.journal.begin(stamp, recovered)

    def _tell_newer(self, file: Path, opened: Opened) -> None:
        gone = opened.left_out
        first = ", ".join(gone[:3]) + (f" and {len(gone) - 3} more" if len(gone) > 3 else "")
        left = f" Not shown, because it is not known here: {first}." if gone else ""
        self._bar.later(
            f"{file.name} was written by a newer program (version {opened.version}). It is open to read;"
            f" the file stays as it is.{left}",
            leave="Close",
        )

    def _tell_held(self, file: Path, holder: Holder) -> None:
        answers: list[Answer] = [("Try again", lambda: self.open(file))]
        answers.append(("Take it over", lambda: self.read(file, over=holder)))
        self._bar.later(
            f"{file.name} is open {_by(holder)} since {clock(holder.since)}. It is shown here to read."
            f" {_WAY_OUT}",
            answers,
            leave="Close",
        )

    def _tell_older(self, file: Path, opened: Opened) -> None:
        said = " ".join(opened.notes)
        self._bar.later(
            f"{file.name} is of an older version ({opened.version}). {said} The first save keeps the old file"
            f" beside it, as {file.name}.v{opened.version}.bak.",
            leave="Close",
        )

    def _fail(self, lane: str, _ticket: int, error: object) -> None:
        if lane != LANE or self._coming is None:
            return
        file, self._coming = self._coming, None
        self._bar.show_message(f"Not opened. {plain(error, file)}")
        self.began.emit("")

    # ---- work that a killed program left ----------------------------------------------------

    def offer(self, found: Found) -> None:
        """Ask in the window whether work that was never saved is wanted."""
        moved = found.file is not None and stamp_of(found.file) != found.stamp
        since = " The file has been written since." if moved else ""
        self._bar.later(
            f"{left_words(found, clock(found.at))}{since}",
            [("Recover", lambda: self.recover(found)), ("Discard", found.remove)],
            leave="Leave",
            stays=True,
        )

    def recover(self, found: Found) -> None:
        """Bring the work back, as changes that are not saved yet."""
        if self.untouched or (found.file is not None and found.file == self._document.file):
            self.guarded(lambda: self.recover_here(found))
        elif self.in_new_window is not None:
            self.in_new_window(found)
        else:
            self.guarded(lambda: self.recover_here(found))

    def recover_here(self, found: Found) -> None:
        file = found.file
        if file is not None and (holder := self.disk.holder_of(file)):
            self._bar.show_message(f"Not recovered. {file.name} is open {_by(holder)}. Close it there first.")
            self.offer(found)
            return
        if file is not None:
            self.disk.take(file)
        else:
            self.disk.release()
        self._show(found.plant, file, found.stamp, recovered=found)
        if self.form is not None:
            self.form.waiting.restore(found.refused)
        self.opened.emit()
        self.began.emit("Recovered; not saved yet")

    # ---- saving -------------------------------------------------------------------------

    def save(self, then: Act = _nothing, otherwise: Act = _nothing) -> bool:
        """Write the plant to its file, `then` go on; without a file ask for one, and go on once it is named.

        Whether it is on disk now; `otherwise` where it could not be, or no file was named.
        """
        self.finish_typing()
        file = self._document.file
        if file is None:
            self.save_as(then, otherwise)
            return False
        if self._document.sealed:
            self._bar.show_message(f"Not saved. {self._document.sealed}", [(SAVE_COPY, self.save_as)])
            otherwise()
            return False
        done = self.save_to(file)
        (then if done else otherwise)()
        return done

    def save_as(self, then: Act = _nothing, otherwise: Act = _nothing) -> None:
        self.finish_typing()

        def take(file: Path, asked: bool) -> None:
            done = self.save_to(file, over=stamp_of(file) if asked else None)
            (then if done else otherwise)()

        self.asks.to_save("Save the plant as", take, otherwise)

    def save_copy(self) -> None:
        """Write the plant to another file and go on with this one."""
        self.finish_typing()
        self.asks.to_save(
            "Save a copy as",
            lambda file, asked: self.copy_to(file, over=stamp_of(file) if asked else None),
        )

    def copy_to(self, file: Path, over: Stamp | None = None) -> bool:
        """Whether a copy is on disk now; one that is there is written over only after asking."""
        if _same(file, self._document.file):
            self._bar.show_message(f"No copy. {file.name} is the plant's own file; Save writes that.")
            return False
        if (there := stamp_of(file)) not in (None, over):
            again = [("Write over it", lambda: self.copy_to(file, over=there))]
            self._bar.show_message(f"No copy. {file.name} is there already.", [*again])
            return False
        if self._write(file):
            self.began.emit(f"Saved a copy, {file.name}")
            return True
        return False

    def save_to(self, file: Path, over: Stamp | None = None) -> bool:
        """Whether the plant is on disk now. A failure says so and loses nothing.

        What is there already is written over only when it is what was read, or is the `over` that was asked
        about.
        """
        there = stamp_of(file)
        own = _same(file, self._document.file)
        if own and self._newer is not None:
            self._bar.show_message(f"Not saved. {self._document.sealed}", [(SAVE_COPY, self.save_as)])
            return False
        known = self.disk.known if own and not self._document.sealed else None
        if there not in (None, known, over):
            self._ask_before_writing_over(file, there)
            return False
        if self._document.sealed:
            self._bar.forget()  # what was said of the file that could only be read
        if not self._write(file):
            return False
        self.disk.take(file)
        self._older = self._newer = None
        self.disk.follow(file, stamp_of(file))
        self._document.saved(file)
        self.journal.begin(self.disk.known)
        self._remember(file)
        self.saved.emit(file)
        if waiting := self._waiting:
            self._bar.later(f"Saved without what was not taken. {waiting}", [self._there], leave="Close")
        return True

    def finish_typing(self) -> None:
        """Take what is still being typed in a field into the plant."""
        if self.form is not None:
            self.form.finish_typing()

    @property
    def _waiting(self) -> str:
        return self.form.words_not_taken() if self.form is not None else ""

    @property
    def _there(self) -> Answer:
        return "Go there", self.form.go_to_not_taken if self.form is not None else _nothing

    @property
    def settled(self) -> bool:
        """Whether the window may go without a question."""
        return self._document.clean and not self._waiting

    def _write(self, file: Path) -> bool:
        """Put the plant on the disk; where that cannot be, say why."""
        from core.files.save import keep_old, save

        try:
            if holder := self.disk.holder_of(file):
                raise OSError(0, f"it is open {_by(holder)}")
            if self._older is not None and _same(file, self._document.file):
                kept = keep_old(file, self._older)
                self._bar.later(f"The old form of {file.name} is kept as {kept.name}.", leave="Close")
            save(self._document.plant, file)
        except (WetsideError, OSError) as trouble:
            self._bar.show_message(f"Not saved. {plain(trouble, file)}", [(SAVE_COPY, self.save_as)])
            return False
        self._bar.settled()
        if self._newer is not None and self._newer.left_out:
            count = len(self._newer.left_out)
            self._bar.later(
                f"{file.name} holds what could be read of the newer file; {count} of its parts"
                f" {'is' if count == 1 else 'are'} not in it. The newer file is as it was.",
                leave="Close",
            )
        return True

    def _ask_before_writing_over(self, file: Path, there: Stamp | None) -> None:
        said = (
            "was written by another program or window"
            if _same(file, self._document.file)
            else "is there already"
        )
        self._bar.show_message(
            f"Not saved. {file.name} {said}, last at {clock((there or (0, 0))[0] / 1e9)}."
            " Writing over it loses what it holds.",
            [(SAVE_COPY, self.save_as), ("Write over it", lambda: self.save_to(file, over=there))],
        )

    def _changed_on_disk(self, file: Path, there: Stamp | None) -> None:
        if there is None:
            gone = f"{file.name} is gone from its folder. The plant is still here: save it."
            self._bar.later(gone, leave="Close")
            self._document.stack.resetClean()
            return

        def keep() -> None:
            self.disk.accept(there)
            self._document.stack.resetClean()

        lost = "" if self._document.clean else " Reloading loses the changes made here."
        self._bar.later(
            f"{file.name} was written by another program at {clock(there[0] / 1e9)}.{lost}",
            [("Reload", lambda: self.read(file)), ("Keep mine", keep)],
            leave="Decide later",
        )

    # ---- before changes are lost ----------------------------------------------------------

    def guarded(self, act: Callable[[], None], otherwise: Callable[[], object] = lambda: None) -> None:
        """Do something that would lose unsaved changes, after asking in the window; `otherwise` if not."""
        self.finish_typing()
        if self.settled:
            act()
            return
        waiting = self._waiting
        there = [self._there] if waiting else []
        if self._document.clean:
            self._bar.show_message(waiting, [*there, ("Leave it out", act)], left=otherwise)
            return
        file = self._document.file
        name = self._document.plant.title or (file.name if file else "This plant")
        self._bar.show_message(
            f"{name} has changes that are not saved. {waiting}".rstrip(),
            [("Save", lambda: self.save(act, otherwise)), ("Discard changes", act), *there],
            left=otherwise,
        )

    def close(self) -> None:
        """The window goes, and what it holds is saved or not wanted."""
        self.journal.stop()
        self.disk.follow(None, None)
        self.disk.release()

    def _remember(self, file: Path) -> None:
        self._settings.put_first("recent", str(file.resolve()), RECENT)


_WAY_OUT = "Save it under another name to change it."


def _read(job: Job, file: Path, state: Path | None, prepare: Callable[[Plant], None]) -> None:
    from core.files.journal import look
    from core.files.read import open_file

    stamp = stamp_of(file)  # first: what is written meanwhile must be noticed
    opened = open_file(file)
    _make_ready(opened)
    prepare(opened.plant)
    job.report(Reading(opened, stamp, tuple(look(file, state)) if state is not None else ()))


def _make_ready(opened: Opened) -> None:
    """Work out what the board will ask for, here where nobody waits for it."""
    plant = opened.plant
    for item in plant.items.values():
        _ = item.si, item.ports
    _ = plant.pipes_at, plant.solve_cases


def _same(file: Path, other: Path | None) -> bool:
    return other is not None and (file == other or file.resolve() == other.resolve())


def _by(holder: Holder) -> str:
    return "in another window of this program" if holder.me else f"by {holder.words()}"


def plain(trouble: object, file: Path) -> str:
    """One plain line, whatever went wrong; the file by its name alone, the place with its tag."""
    if isinstance(trouble, WetsideError):
        said = str(trouble)
        if isinstance(trouble, Refusal) and trouble.file:
            said = said.replace(trouble.file, file.name, 1)
            if trouble.path and (tag := _tag_at(trouble.path, file)):
                said = said.replace(trouble.path, f"{trouble.path} ({tag})", 1)
        return said
    if isinstance(trouble, OSError):
        return f"{file.name}: {(trouble.strerror or 'the disk refuses').lower()}."
    said = " ".join(f"{type(trouble).__name__}: {trouble}".split())
    return f"{file.name}: the program failed in a way it did not foresee ({said})."


def _tag_at(path: str, file: Path) -> str:
    """Id of the item or pipe that a place such as `items[8].props.speed` belongs to."""
    from core.files.read import id_at

    found = re.match(r"(items|pipes)\[(\d+)\]", path)
    return id_at(file, found[1], int(found[2])) if found else ""
