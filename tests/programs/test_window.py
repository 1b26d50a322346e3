"""One real window on a real X display, for what the offscreen tests cannot see."""

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.preflight import X_WINDOW, missing_packages

LONGEST = 60.0  # [s], far beyond what any machine should need


@pytest.fixture
def display() -> Iterator[str]:
    """A display without a screen behind it."""
    if not shutil.which("Xvfb") or missing_packages(X_WINDOW):
        pytest.skip("Xvfb or Qt's X libraries are not installed")
    reader, writer = os.pipe()
    server = subprocess.Popen(
        ["Xvfb", "-displayfd", str(writer), "-screen", "0", "1280x800x24", "-nolisten", "tcp"],
        pass_fds=[writer],
        stderr=subprocess.DEVNULL,
    )
    os.close(writer)
    with os.fdopen(reader) as numbers:
        number = numbers.readline().strip()
    yield f":{number}"
    server.terminate()
    server.wait(timeout=10)


WHEN_SHOWN = """
import os, signal, sys
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from app import main

real_exec = QApplication.exec
def exec_until_shown(*args):
    def look():
        widgets = [widget for widget in QApplication.topLevelWidgets() if widget.isVisible()]
        shown = [widget for widget in widgets if "shed" in widget.windowTitle()]
        if shown:
            print(QApplication.platformName())
            timer.stop()
            {act}
    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(50)
    return real_exec()
QApplication.exec = exec_until_shown
sys.exit(main.main(sys.argv[1:]))
"""


def show(act: str, display: str, folder: Path, home: Path) -> subprocess.CompletedProcess[str]:
    """Open the shed and do `act` once its window stands."""
    hidden = ("WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
    environment = {name: value for name, value in os.environ.items() if name not in hidden}
    environment |= {"DISPLAY": display, "HOME": str(home), "XDG_CONFIG_HOME": str(home / "config")}
    return subprocess.run(
        [sys.executable, "-c", WHEN_SHOWN.format(act=act), "potting_shed.plant.json"],
        cwd=folder,
        env=environment,
        capture_output=True,
        encoding="utf-8",
        timeout=LONGEST,
        check=False,
    )


def test_a_file_opens_in_a_window_that_closes_cleanly(display: str, folder: Path, tmp_path: Path):
    done = show("shown[0].close(); QApplication.quit()", display, folder, tmp_path)
    assert (done.returncode, done.stderr, done.stdout) == (0, "", "xcb\n")


def test_an_interrupt_in_the_terminal_ends_the_window_quietly(display: str, folder: Path, tmp_path: Path):
    done = show("os.kill(os.getpid(), signal.SIGINT)", display, folder, tmp_path)
    assert (done.returncode, done.stderr) == (-signal.SIGINT, "")
