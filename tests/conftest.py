"""What holds for every test: no warning unnoticed, nothing left behind."""

import logging
import threading
from collections.abc import Iterator

import pytest
from hypothesis import settings

from tests.verification.checks import Agrees
from tests.verification.gather import KEPT

settings.register_profile("wetside", derandomize=True, database=None, deadline=None, print_blob=True)
settings.load_profile("wetside")


class _Loud(logging.Handler):
    """Keeps what was logged at WARNING or above."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.lines: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.lines.append(f"{record.levelname} {record.name}: {record.getMessage()}")


@pytest.fixture(autouse=True)
def no_unexpected_log_lines(request: pytest.FixtureRequest) -> Iterator[None]:
    """A warning that nobody expected fails the test, whatever logged it."""
    loud = _Loud()
    logging.getLogger().addHandler(loud)
    yield
    logging.getLogger().removeHandler(loud)
    if loud.lines and not request.node.get_closest_marker("expects_log"):
        pytest.fail("unexpected log lines:\n" + "\n".join(loud.lines))


@pytest.fixture(autouse=True)
def nothing_left_behind(request: pytest.FixtureRequest) -> Iterator[None]:
    """A test with Qt leaves no thread running, no window on the screen and nothing on the clipboard."""
    if "qapp" not in request.fixturenames:
        yield
        return
    before = set(threading.enumerate())
    yield
    from PySide6.QtCore import QThreadPool
    from PySide6.QtGui import QGuiApplication
    from PySide6.QtWidgets import QApplication

    # What Python put on the offscreen clipboard would end the process with a crash at exit.
    QGuiApplication.clipboard().clear()
    threads = [thread.name for thread in threading.enumerate() if thread not in before]
    windows = [repr(widget) for widget in QApplication.topLevelWidgets() if widget.isVisible()]
    jobs = QThreadPool.globalInstance().activeThreadCount()
    assert not threads, f"threads left running: {threads}"
    assert not windows, f"windows left open: {windows}"
    assert not jobs, f"{jobs} jobs left running in the thread pool"


@pytest.fixture
def agrees(request: pytest.FixtureRequest) -> Agrees:
    """Asserts against a published or independent value, and keeps it for `python -m tests.verification`."""
    kept = request.config.stash.setdefault(KEPT, [])
    return Agrees(request.module.SUBJECT, request.node.nodeid, kept)
