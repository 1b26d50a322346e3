"""One writer a file: who has it is told, what the dead left is taken over."""

import dataclasses
import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from core.files import lock, processes
from core.files.holder import Holder, myself
from core.files.lock import Lock

ROOT = Path(__file__).parents[3]
HOLD = """
import sys, time
from pathlib import Path
from core.files import lock, processes
print(type(lock.take(Path(sys.argv[1]), Path(sys.argv[2]))).__name__, flush=True)
time.sleep(60)
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    place = tmp_path / "plants" / "a.plant.json"
    place.parent.mkdir()
    place.touch()
    return place


@pytest.fixture
def state(tmp_path: Path) -> Path:
    return tmp_path / "state"


def other(file: Path, state: Path) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", HOLD, str(file), str(state)], cwd=ROOT, stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "Lock\n"
    return process


def ended(process: subprocess.Popen[str]) -> None:
    process.send_signal(signal.SIGKILL)
    process.wait(timeout=10)
    assert process.stdout is not None
    process.stdout.close()


def test_another_process_is_named_and_its_lock_taken_over_when_it_was_killed(file: Path, state: Path):
    process = other(file, state)
    try:
        answer = lock.take(file, state)
        assert isinstance(answer, Holder)
        assert (answer.pid, answer.here, answer.me, answer.gone) == (process.pid, True, False, False)
        assert str(process.pid) in answer.words()
        assert lock.holder_of(file, state) == answer
    finally:
        ended(process)
    assert lock.holder_of(file, state) is None
    mine = lock.take(file, state)
    assert isinstance(mine, Lock)
    assert mine.holder.me
    mine.release()
    assert sorted(file.parent.iterdir()) == [file]


def test_a_second_window_of_this_process_is_told_so(file: Path, state: Path):
    mine = lock.take(file, state)
    assert isinstance(mine, Lock)
    again = lock.take(file, state)
    assert isinstance(again, Holder)
    assert again.me
    mine.release()
    assert isinstance(lock.take(file, state), Lock)


def test_a_link_is_the_file_it_leads_to(file: Path, state: Path, tmp_path: Path):
    assert isinstance(lock.take(file, state), Lock)
    link = tmp_path / "link.plant.json"
    link.symlink_to(file)
    assert isinstance(lock.take(link, state), Holder)


def test_another_machine_is_never_taken_for_dead_but_may_be_taken_over(file: Path, state: Path):
    far = dataclasses.replace(myself(), host="elsewhere", pid=2**22 + 1)
    place = file.with_name(f".{file.name}.lock")
    place.write_text(json.dumps(far.data()), encoding="utf-8")
    assert lock.take(file, state) == far
    mine = lock.take(file, state, over=far)
    assert isinstance(mine, Lock)
    place.write_text(json.dumps(far.data()), encoding="utf-8")
    mine.release()
    assert place.exists(), "whoever took it from us keeps it"


def test_a_process_with_the_number_of_a_dead_one_is_not_that_one(file: Path, state: Path):
    me = myself()
    if not me.started:
        pytest.skip("the system does not say when a process began")
    assert dataclasses.replace(me, started="an earlier boot 77").gone


@pytest.mark.parametrize(
    ("handle", "error", "code", "gone"),
    [(0, 87, 0, True), (0, 5, 0, False), (7, 0, 259, False), (7, 0, 1, True)],
)
def test_windows_tells_whether_a_process_still_runs(
    monkeypatch: pytest.MonkeyPatch, handle: int, error: int, code: int, gone: bool
) -> None:
    """No such process, one of somebody else's, one that runs, one that has ended but is still known."""

    class Kernel:
        OpenProcess: Any = None

        def GetExitCodeProcess(self, _handle: object, out: Any) -> int:
            out._obj.value = code
            return 1

        def GetProcessTimes(self, *_asked: object) -> int:
            return 0

        def CloseHandle(self, _handle: object) -> int:
            return 1

    kernel = Kernel()

    def opened(*_asked: object) -> int:
        return handle

    kernel.OpenProcess = opened  # a plain function: it takes `restype`
    monkeypatch.setattr(processes.sys, "platform", "win32")
    monkeypatch.setattr(processes, "kernel", lambda: kernel)
    monkeypatch.setattr(processes, "last_error", lambda: error)
    assert dataclasses.replace(myself(), pid=4711, started="").gone == gone


def test_a_spoiled_lock_counts_as_none(file: Path, state: Path):
    place = file.with_name(f".{file.name}.lock")
    for text in ("", "{", "[]", '{"pid": "x"}'):
        place.write_text(text, encoding="utf-8")
        mine = lock.take(file, state)
        assert isinstance(mine, Lock)
        mine.release()


def test_a_folder_that_cannot_be_written_still_tells_windows_apart(file: Path, state: Path, monkeypatch):
    real = Path.write_text

    def refuse(self: Path, *more, **named):
        if self.parent == file.parent:
            raise PermissionError(13, "Permission denied")
        return real(self, *more, **named)

    monkeypatch.setattr(Path, "write_text", refuse)
    mine = lock.take(file, state)
    assert isinstance(mine, Lock)
    assert mine.place is not None
    assert mine.place.parent == state
    assert isinstance(lock.take(file, state), Holder)


def test_where_no_lock_can_be_written_the_plant_opens_all_the_same(file: Path, monkeypatch):
    monkeypatch.setattr(os, "link", lambda *_: (_ for _ in ()).throw(OSError(1, "no links")))
    monkeypatch.setattr(os, "replace", lambda *_: (_ for _ in ()).throw(OSError(30, "read-only")))
    mine = lock.take(file, file.parent / "state")
    assert isinstance(mine, Lock)
    assert mine.place is None
