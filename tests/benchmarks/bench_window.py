"""How the window feels: frames on a large board, an edit until its figures stand, opening, the start."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from tests.benchmarks.figures import Figure

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QEvent, QEventLoop, QObject, QPoint, QPointF, Qt, QTimer
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.idle_gc import IdleCollector
from app.pens import register_fonts
from app.settings import Settings
from app.widgets import theme
from app.window.live import Solve
from app.window.main_window import Window
from core.plant import edits
from tests.benchmarks.boards import made_up, wide_board

ROOT = Path(__file__).parents[2]
ANNEX = ROOT / "sample_plants" / "school_annex.plant.json"
FRAME, FRAME_95 = 16.0, 25.0  # [ms]
LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier


def application() -> QApplication:
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    register_fonts()
    theme.put_on(app, theme.chosen("light"))
    return app


def settled(window: Window, seconds: float = 0.3) -> None:
    """Let the window come to rest: no work left, and a while without."""
    app, end = application(), time.perf_counter() + seconds
    while time.perf_counter() < end or window.background.busy or window.files.opening:
        app.processEvents()
        time.sleep(0.002)


def shown(
    solve: Solve | None = None, file: Path | None = None, size: tuple[int, int] = (1600, 1000)
) -> Window:
    app = application()
    window = Window(Settings(), file, solve)
    IdleCollector(window.document, window.background, window)
    window.resize(1600, 1000)
    window.show()
    while not window._painted or (file is not None and window.document.file != file):
        app.processEvents()
    settled(window)
    return window


def gone(window: Window) -> None:
    window._leaving = True
    window.close()
    window.deleteLater()
    application().processEvents()


def percentile(values: list[float], share: float) -> float:
    ranked = sorted(values)
    return ranked[min(len(ranked) - 1, int(share * len(ranked)))]


def frames(name: str, act: Callable[[int], None], count: int = 60) -> Iterator[Figure]:
    """Each act as an event until all it leads to is painted; by the clock, and in processor time [ms]."""
    app = application()
    times, work = [], []
    for number in range(count):
        start, began = time.perf_counter(), time.thread_time()
        act(number)
        app.processEvents()
        times.append(1000 * (time.perf_counter() - start))
        work.append(1000 * (time.thread_time() - began))
    yield Figure(f"{name}, median frame", statistics.median(times), "ms", FRAME)
    yield Figure("  the same, 95th of 100", percentile(times, 0.95), "ms", FRAME_95)
    yield Figure("  in processor time, median", statistics.median(work), "ms", FRAME)
    yield Figure("  the same, 95th of 100", percentile(work, 0.95), "ms", FRAME_95)


def large_board() -> Iterator[Figure]:
    """Pan, zoom and drag with 2,000 items and 3,000 pipes, all labels written."""
    window = shown(made_up)
    plant = wide_board()
    begin = time.perf_counter()
    window.document.replace(plant, None)
    yield Figure(
        f"{len(plant.items)} items, {len(plant.pipes)} pipes shown", time.perf_counter() - begin, "s"
    )
    settled(window)
    view = window.board.view
    viewport = view.viewport()

    def pan(number: int) -> None:
        view.pan(9 if number % 40 < 20 else -9, 4 if number % 40 < 20 else -4)

    def wheel(number: int) -> None:
        notch = 120 if number % 12 < 6 else -120
        place = QPointF(700, 450)
        event = QWheelEvent(
            place,
            QPointF(viewport.mapToGlobal(place.toPoint())),
            QPoint(),
            QPoint(0, notch),
            Qt.MouseButton.NoButton,
            NONE,
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(viewport, event)

    for zoom, words in ((1.0, "at 100 %"), (0.5, "at 50 %"), (0.0, "all in sight")):
        if zoom:
            view.set_zoom(zoom)
            view.centerOn(2500, 2000)
        else:
            window.board.fit()
        settled(window)
        yield from frames(f"pan {words}", pan)
        item = window.document.plant.items["V-20-25"]
        place = view.mapFromScene(*item.at)
        QTest.mousePress(viewport, LEFT, NONE, place)

        def drag(number: int, place: QPoint = place) -> None:
            QTest.mouseMove(viewport, place + QPoint(20 + 3 * (number % 20), 10 + 2 * (number % 15)))

        yield from frames(f"drag {words}", drag)
        QTest.keyClick(view, Qt.Key.Key_Escape)
        QTest.mouseRelease(viewport, LEFT, NONE, place)
        settled(window)
        yield from frames(f"zoom from {words}", wheel, 48)
    gone(window)


def edit_to_annotation() -> Iterator[Figure]:
    """A speed typed on the annex, until the figures of the case in sight stand on the board."""
    app = application()
    window = shown(file=ANNEX)
    while window.live.waiting:
        app.processEvents()
    settled(window, 2.0)
    pumps = [item.id for item in window.document.plant.items.values() if item.kind == "circulator"]
    stalls: list[float] = []
    last = time.perf_counter()

    def beat() -> None:
        nonlocal last
        now = time.perf_counter()
        stalls.append(1000 * (now - last))
        last = now

    timer = QTimer()
    timer.timeout.connect(beat)
    timer.start(5)
    times = []
    painted = Painted(window)
    for number in range(24):
        name = pumps[number % len(pumps)]
        speed = 0.7 + 0.01 * (number % 30)
        last = start = time.perf_counter()
        window.document.do("Speed", edits.set_props(window.document.plant, name, {"speed": speed}))
        painted.wait()
        times.append(1000 * (time.perf_counter() - start))
        pause = time.perf_counter() + 0.15
        while time.perf_counter() < pause:
            app.processEvents()
            time.sleep(0.001)
    timer.stop()
    yield Figure("school annex, an edit until its figures stand, median", statistics.median(times), "ms")
    yield Figure("  the same, 95th of 100", percentile(times, 0.95), "ms", 100)
    yield Figure("  longest time the window did not answer meanwhile", max(stalls), "ms", 100)
    yield Figure("  the same, 99th of 100 looks", percentile(stalls, 0.99), "ms")
    gone(window)


class Painted(QObject):
    """Whether the board has been painted with the figures of the plant as it is."""

    def __init__(self, window: Window) -> None:
        super().__init__()
        self._window = window
        self._loop = QEventLoop(self)
        window.board.view.viewport().installEventFilter(self)

    def wait(self) -> None:
        """Until then; in a loop that sleeps, as the program's own: one that spins keeps it from work."""
        self._loop.exec()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint and annotated(self._window):
            QTimer.singleShot(0, self._loop.quit)  # after the painting
        return False


def annotated(window: Window) -> bool:
    """Whether the board shows the figures of the plant as it is."""
    scene = window.board.scene
    return not window.live.waiting and scene.solution is window.live.solution and scene.figures_stand


STARTS = {
    "plain": "plain_window()",
    "ours": "our_window(None)",
    "annex": f"our_window({str(ANNEX)!r})",
}


def starts() -> Iterator[Figure]:
    """Whole processes, bytecode kept as in any ordinary installation."""
    with tempfile.TemporaryDirectory() as cache:
        environment = os.environ | {"QT_QPA_PLATFORM": "offscreen", "PYTHONPYCACHEPREFIX": cache}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)

        def process(what: str) -> list[float]:
            code = f"from tests.benchmarks.starting import *; {STARTS[what]}"
            done = subprocess.run(
                [sys.executable, "-c", code],
                env=environment,
                cwd=ROOT,
                check=True,
                capture_output=True,
                text=True,
            )
            return [float(word) for word in done.stdout.split()]

        runs: dict[str, list[list[float]]] = {what: [] for what in STARTS}
        for turn in range(7):
            for what, found in runs.items():
                took = process(what)
                if turn:  # the first writes the bytecode
                    found.append(took)
    wall = {what: statistics.median(run[0] for run in found) for what, found in runs.items()}
    work = {what: min(run[1] for run in found) for what, found in runs.items()}
    yield Figure("plain Qt window with as many widgets", 1000 * wall["plain"], "ms")
    yield Figure("our window / that one", wall["ours"] / wall["plain"], "x", 1.5)
    yield Figure("  the same in processor time", work["ours"] / work["plain"], "x", 1.5)
    lines = statistics.median(run[2] for run in runs["annex"])
    yield Figure("school annex, lines and tags drawn, beyond a bare window", lines - wall["ours"], "s")
    yield Figure("school annex open and drawn, beyond a bare window", wall["annex"] - wall["ours"], "s", 1.0)
    yield Figure("  the same in processor time", work["annex"] - work["ours"], "s", 1.0)


def figures() -> Iterator[Figure]:
    """Every figure in turn."""
    for part in (starts, edit_to_annotation, large_board):
        yield from part()
