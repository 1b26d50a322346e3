"""The process beside the window: the newest question is answered, the end leaves nothing behind."""

import pytest
from pytestqt.qtbot import QtBot

from app.worker_process import WorkerProcess
from core.calls.worker_process import Question
from tests.support.calling import plant_of, two_zones


@pytest.fixture
def process(qtbot: QtBot):
    made = WorkerProcess("core.calls")
    yield made
    made.stop()
    assert not made.running


def test_the_newest_question_is_answered_whole(process: WorkerProcess, qtbot: QtBot):
    plant, found = plant_of(two_zones()), []
    process.answered.connect(found.append)
    for ticket in range(1, 6):
        process.ask(Question(ticket, plant, "Design"))
    qtbot.waitUntil(lambda: any(a.ticket == 5 and a.what == "done" for a in found), timeout=20000)
    rows = {a.load.name: a.load for a in found if a.ticket == 5 and a.what == "row"}
    assert len(rows) == 4
    assert rows["TH-1 + TH-2"].heat == pytest.approx(15e3, rel=1e-6)


def test_a_process_that_dies_is_told_and_started_again(process: WorkerProcess, qtbot: QtBot):
    plant, found = plant_of(two_zones()), []
    process.answered.connect(found.append)
    process.ask(Question(1, plant, "Design"))
    qtbot.waitUntil(lambda: bool(found), timeout=20000)
    with qtbot.waitSignal(process.broken, timeout=10000):
        process._process.kill()
    process.ask(Question(2, plant, "Design"))
    qtbot.waitUntil(lambda: any(a.ticket == 2 and a.what == "done" for a in found), timeout=20000)
