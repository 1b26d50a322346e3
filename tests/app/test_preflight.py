"""What is said when libraries or the display are missing, without taking them away from this machine."""

import ctypes
import subprocess
import sys

import pytest

from app import preflight

ALL = {**preflight.DRAWING, **preflight.X_WINDOW, **preflight.WAYLAND_WINDOW}
ON_X = {"DISPLAY": ":0"}


class FakeLibrary:
    """Stands for a library that is there, with a display that answers or not."""

    def __init__(self, answers: bool) -> None:
        self.xcb_connect = _function(1)
        self.xcb_connection_has_error = _function(0 if answers else 1)
        self.xcb_disconnect = _function(None)
        self.wl_display_connect = _function(1 if answers else None)
        self.wl_display_disconnect = _function(None)


def _function(result: object):
    def call(*_: object) -> object:
        return result

    return call


@pytest.fixture
def machine(monkeypatch: pytest.MonkeyPatch):
    """Make this machine one that lacks the given packages."""

    def make(*lacks: str, answers: bool = True) -> None:
        def load(name: str) -> FakeLibrary:
            if ALL.get(name) in lacks:
                raise OSError(f"{name}: cannot open shared object file")
            return FakeLibrary(answers)

        monkeypatch.setattr(ctypes, "CDLL", load)
        monkeypatch.setattr("sys.platform", "linux")

    return make


def test_nothing_missing_is_no_trouble(machine):
    machine()
    assert preflight.window_trouble(ON_X) == ""
    assert preflight.window_trouble({"WAYLAND_DISPLAY": "wayland-0"}) == ""
    assert preflight.picture_trouble() == ""


def test_all_missing_packages_stand_in_one_line(machine):
    machine("libegl1", "libxcb-cursor0", "libxcb-icccm4")
    line = preflight.window_trouble(ON_X)
    assert line.endswith(": apt-get install libegl1 libxcb-cursor0 libxcb-icccm4")
    assert "\n" not in line
    assert preflight.picture_trouble().endswith(": apt-get install libegl1")


def test_no_display_and_missing_libraries_are_told_together(machine):
    machine("libxcb-cursor0")
    line = preflight.window_trouble({})
    assert line.startswith("A window needs a display, and there is none here;")
    assert line.endswith("apt-get install libxcb-cursor0")


def test_no_display_alone(machine):
    machine()
    assert preflight.window_trouble({}) == "A window needs a display, and there is none here."


def test_a_display_that_does_not_answer_is_named(machine):
    machine(answers=False)
    assert preflight.window_trouble({"DISPLAY": ":7"}) == "A window needs a display, and none answers at :7."
    assert (
        preflight.window_trouble({"WAYLAND_DISPLAY": "w-1"})
        == "A window needs a display, and none answers at w-1."
    )


def test_wayland_wants_its_own_libraries_and_x_ones_do_where_they_are_missing(machine):
    machine("libwayland-cursor0")
    assert preflight.window_trouble({"WAYLAND_DISPLAY": "w-1"}).endswith("apt-get install libwayland-cursor0")
    assert preflight.window_trouble({"WAYLAND_DISPLAY": "w-1", "DISPLAY": ":0"}) == ""


def test_asked_for_x_wayland_is_no_help(machine):
    machine("libxcb-cursor0")
    environment = {"WAYLAND_DISPLAY": "w-1", "DISPLAY": ":0", "QT_QPA_PLATFORM": "xcb"}
    assert preflight.window_trouble(environment).endswith("apt-get install libxcb-cursor0")


def test_offscreen_needs_no_display(machine):
    machine("libxcb-cursor0")
    assert preflight.window_trouble({"QT_QPA_PLATFORM": "offscreen"}) == ""


def test_elsewhere_than_linux_nothing_is_asked(machine, monkeypatch: pytest.MonkeyPatch):
    machine(*ALL.values())
    monkeypatch.setattr("sys.platform", "darwin")
    assert preflight.window_trouble({}) == ""
    assert preflight.picture_trouble() == ""


def test_once_qt_is_loaded_imports_go_as_before_and_qt_still_answers() -> None:
    code = (
        "import builtins, sys\n"
        "from app.preflight import load_qt\n"
        "load_qt()\n"
        "hooked = builtins.__import__ is getattr(builtins, '__feature_import__', None)\n"
        "from PySide6.QtWidgets import QApplication, QLabel\n"
        "application = QApplication([])\n"
        "print(hooked, QLabel('as ever').text())"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split(maxsplit=1) == ["False", "as ever\n"]
