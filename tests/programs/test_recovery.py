"""Nothing lost: the real program is killed in the middle of the work, and the next start brings it back."""

import json
import os
import select
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from core.files.read import load

ROOT = Path(__file__).parents[2]
LONGEST = 40.0  # [s], far beyond what any machine should need
WITHIN = 1.0  # [s], in which a change must be on the disk

# Drives the real program from inside its own event loop: `look` is called over and over with the windows.
DRIVER = """
import errno, json, os, sys, time
from pathlib import Path
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from app import main
from core.plant.changes import AddItem
from core.plant.model import Item

CLOSED = os.environ.get("CLOSED_FOLDER")
real_open = os.open
def guarded_open(path, flags, *more, **named):
    # A folder nobody may write in, for whom permissions do not count (root in a container).
    if CLOSED and str(Path(str(path)).parent) == CLOSED and flags & (os.O_WRONLY | os.O_CREAT):
        raise PermissionError(errno.EACCES, "Permission denied", str(path))
    return real_open(path, flags, *more, **named)
os.open = guarded_open

def tell(**words):
    print(json.dumps(words), flush=True)

def button(window, words):
    return next(one for one in window.bar.buttons if one.text() == words)

def add(window, count):
    for number in range(count):
        item = Item(f"J-{900 + number}", "joint", (900.0, 40.0 * number))
        window.document.do("Add a joint", [AddItem(item)])

{look}

real_exec = QApplication.exec
def exec_and_look(*args):
    def again():
        for window in [w for w in QApplication.topLevelWidgets() if hasattr(w, "files") and w._painted]:
            look(window)
    timer = QTimer()
    timer.timeout.connect(again)
    timer.start(20)
    return real_exec()
QApplication.exec = exec_and_look
sys.exit(main.main(sys.argv[1:]))
"""
CHANGE = """
done = []
def look(window):
    if not done and not window.files.opening and (window.document.file is not None) == bool(sys.argv[1:]):
        done.append(True)
        add(window, 7)
        tell(changed=len(window.document.plant.items), at=time.time())
"""
RECOVER = """
seen = []
def look(window):
    if window.bar.text and "Recover" in [one.text() for one in window.bar.buttons] and not seen:
        seen.append(window.bar.text)
        tell(said=window.bar.text, modal=QApplication.activeModalWidget() is not None)
        button(window, "Recover").click()
    elif seen and "J-906" in window.document.plant.items:
        tell(items=len(window.document.plant.items), clean=window.document.clean,
             file=str(window.document.file or ""), undo=window.document.stack.canUndo())
        window.files.save_to(Path(os.environ["SAVE_TO"]))
        window.close()
"""


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Callable[..., subprocess.Popen[str]]]:
    """Start the program with a home of its own, driven by `look`."""
    running: list[subprocess.Popen[str]] = []

    def begin(look: str, *words: str, **more: str) -> subprocess.Popen[str]:
        hidden = ("DISPLAY", "WAYLAND_DISPLAY")
        environment = {name: value for name, value in os.environ.items() if name not in hidden} | more
        environment |= {
            "QT_QPA_PLATFORM": "offscreen",
            "HOME": str(tmp_path / "home"),
            "XDG_CONFIG_HOME": str(tmp_path / "home" / "config"),
            "XDG_STATE_HOME": str(tmp_path / "home" / "state"),
        }
        process = subprocess.Popen(
            [sys.executable, "-c", DRIVER.replace("{look}", look), *words],
            cwd=ROOT,
            env=environment,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        running.append(process)
        return process

    (tmp_path / "home").mkdir()
    yield begin
    for process in running:
        if process.poll() is None:
            process.kill()
        process.communicate(timeout=LONGEST)


def line(process: subprocess.Popen[str]) -> dict[str, object]:
    assert process.stdout is not None
    if not select.select([process.stdout], [], [], LONGEST)[0]:
        process.kill()
    text = process.stdout.readline()
    assert text, process.stderr.read() if process.stderr else ""
    return dict(json.loads(text))


def killed_after_changes(process: subprocess.Popen[str]) -> int:
    """Items there were, when the program was killed within a second of the last change."""
    said = line(process)
    time.sleep(max(0.0, WITHIN - 0.1 - (time.time() - float(str(said["at"])))))
    process.send_signal(signal.SIGKILL)
    process.communicate(timeout=LONGEST)
    assert process.returncode == -signal.SIGKILL
    return int(str(said["changed"]))


def got_back(process: subprocess.Popen[str]) -> tuple[dict[str, object], dict[str, object]]:
    offered, after = line(process), line(process)
    _, errors = process.communicate(timeout=LONGEST)
    said = errors.replace("This plugin does not support propagateSizeHints()\n", "")
    assert (process.returncode, said) == (0, "")
    return offered, after


@pytest.fixture
def plant(tmp_path: Path) -> Path:
    folder = tmp_path / "Mécanique & ¼"
    folder.mkdir()
    return Path(shutil.copy(ROOT / "sample_plants" / "potting_shed.plant.json", folder / "shed.plant.json"))


@pytest.mark.parametrize("closed", [False, True], ids=["beside the plant", "folder that cannot be written"])
def test_what_was_drawn_before_the_kill_comes_back(
    start: Callable[..., subprocess.Popen[str]], plant: Path, tmp_path: Path, closed: bool
) -> None:
    before, more = load(plant), {"SAVE_TO": str(tmp_path / "saved.plant.json")}
    if closed:
        plant.parent.chmod(0o555)
        more["CLOSED_FOLDER"] = str(plant.parent)
    items = killed_after_changes(start(CHANGE, str(plant), **more))
    assert items == len(before.items) + 7
    assert load(plant) == before
    hidden = [path for path in plant.parent.iterdir() if path.name.endswith(".journal")]
    assert (hidden == []) == closed
    offered, after = got_back(start(RECOVER, str(plant), **more))
    plant.parent.chmod(0o755)
    assert "shed.plant.json: 7 changes up to" in str(offered["said"])
    assert offered["modal"] is False
    assert (after["items"], after["clean"], after["file"]) == (items, False, str(plant))
    saved = load(tmp_path / "saved.plant.json")
    assert [name for name in saved.items if name not in before.items] == [f"J-{900 + n}" for n in range(7)]
    assert not [path for path in plant.parent.iterdir() if path != plant], "nothing is left behind"


def test_a_plant_that_was_never_saved_comes_back(
    start: Callable[..., subprocess.Popen[str]], tmp_path: Path
) -> None:
    killed_after_changes(start(CHANGE))
    offered, after = got_back(start(RECOVER, SAVE_TO=str(tmp_path / "saved.plant.json")))
    assert "A plant that was never saved: 7 changes up to" in str(offered["said"])
    assert (after["items"], after["clean"], after["file"]) == (7, False, "")
    assert len(load(tmp_path / "saved.plant.json").items) == 7
    state = tmp_path / "home" / "state" / "wetside"
    assert {file.name for file in state.iterdir()} <= {"log.txt", "faults.txt"}


def test_a_second_program_shows_a_file_that_is_open_to_read(
    start: Callable[..., subprocess.Popen[str]], plant: Path
) -> None:
    first = start(CHANGE, str(plant))
    line(first)
    look = """
done = []
def look(window):
    if window.document.sealed and window.bar.text and not done:
        done.append(True)
        tell(said=window.bar.text, buttons=[one.text() for one in window.bar.buttons])
        window.close()
"""
    second = start(look, str(plant))
    said = line(second)
    second.communicate(timeout=LONGEST)
    assert second.returncode == 0
    assert f"(process {first.pid}) since" in str(said["said"])
    assert "It is shown here to read" in str(said["said"])
    assert said["buttons"] == ["Try again", "Take it over", "Close"]
