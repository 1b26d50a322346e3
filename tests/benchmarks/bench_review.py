"""What the punch list costs after an edit, its page and marks too; and the commands that read a plant."""

from __future__ import annotations

import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from PySide6.QtCore import QEventLoop, QTimer

from app.window.main_window import Window
from core.plant import edits
from core.vocabulary import Trait
from tests.benchmarks.bench_window import ANNEX, ROOT, gone, settled, shown
from tests.benchmarks.figures import Figure

LOOK = 20  # [ms] between looks whether all work is done: few, as looking costs time too


def at_rest(window: Window) -> None:
    """Wait, asleep, until nothing is worked at and nothing waits to be shown."""
    loop, calm = QEventLoop(), [0]
    timer = QTimer()

    def look() -> None:
        calm[0] = 0 if window.background.busy or window.review.now.checking else calm[0] + 1
        if calm[0] > 10:
            loop.quit()

    timer.timeout.connect(look)
    timer.start(LOOK)
    loop.exec()
    timer.stop()


def edits_in_turn(window: Window, count: int) -> list[float]:
    """Processor time of all threads for each of some edits that open and settle a finding, [ms]."""
    (valve, *_) = (item.id for item in window.document.plant.with_trait(Trait.RELIEVES))
    settings = ("unknown", window.document.plant.items[valve].props["set_pressure"])
    times = []
    for number in range(count):
        start = time.process_time()
        changes = edits.set_props(window.document.plant, valve, {"set_pressure": settings[number % 2]})
        window.document.do("Setting", changes)
        at_rest(window)
        times.append(1000 * (time.process_time() - start))
    return times


def live() -> Iterator[Figure]:
    """An edit on the annex with the page open, with the review and, as if there were none, without."""
    window = shown(file=ANNEX)
    window.actions_["pane_punch"].trigger()
    settled(window, 2.0)
    edits_in_turn(window, 4)
    whole = statistics.median(edits_in_turn(window, 20))
    window.document.changed.disconnect(window.review._follow)
    window.live.changed.disconnect(window.review._follow_cases)
    without = statistics.median(edits_in_turn(window, 20))
    yield Figure("school annex, processor time of an edit with the punch list", whole, "ms")
    yield Figure("  of this the punch list, its page and its marks", whole - without, "ms", 100)
    gone(window)


def commands() -> Iterator[Figure]:
    """Whole processes, the worst sample of each; bytecode kept as in any ordinary installation."""
    code = "import sys; from core.commands import main; sys.exit(main(sys.argv[1:]))"
    files = sorted((ROOT / "sample_plants").glob("*.plant.json"))
    with tempfile.TemporaryDirectory() as cache:
        environment = os.environ | {"PYTHONPYCACHEPREFIX": cache}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)

        def process(command: str, file: Path) -> float:
            before = resource.getrusage(resource.RUSAGE_CHILDREN)
            line = [sys.executable, "-c", code, command, str(file), "--json"]
            subprocess.run(line, cwd=ROOT, env=environment, check=False, capture_output=True)
            after = resource.getrusage(resource.RUSAGE_CHILDREN)
            return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime

        for command in ("review", "dead-water"):
            process(command, files[0])  # the first writes the bytecode
            worst = max(statistics.median([process(command, file) for _ in range(3)]) for file in files)
            words = f"wetside {command}, processor time, worst of the samples"
            yield Figure(words, worst, "s", 1.0)


def figures() -> Iterator[Figure]:
    """Every figure in turn."""
    for part in (commands, live):
        yield from part()
