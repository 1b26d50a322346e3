"""The runner: the newest question wins, errors arrive as results, and the thread ends with the window."""

from __future__ import annotations

import threading

import pytest
from pytestqt.qtbot import QtBot

from app.background import Background, Job
from core.errors import Refusal


@pytest.fixture
def runner(qtbot: QtBot) -> Background:
    return Background()


def test_the_newest_job_of_a_lane_wins(runner: Background, qtbot: QtBot) -> None:
    began, go = threading.Event(), threading.Event()
    ran: list[str] = []
    came: list[object] = []
    runner.done.connect(lambda _lane, _ticket, result: came.append(result))

    def slow(job: Job) -> None:
        ran.append("first")
        began.set()
        assert go.wait(20)
        job.report("old answer")

    def quick(word: str) -> object:
        def work(job: Job) -> None:
            ran.append(word)
            job.report(word)

        return work

    runner.ask("solve", slow)
    assert began.wait(20)
    runner.ask("solve", quick("second"))  # type: ignore[arg-type]
    runner.ask("solve", quick("third"))  # type: ignore[arg-type]
    with qtbot.waitSignal(runner.idle, timeout=20000):
        go.set()
    assert ran == ["first", "third"]
    assert came == ["third"]
    runner.stop()


def test_a_stale_job_knows_it(runner: Background, qtbot: QtBot) -> None:
    began, seen = threading.Event(), threading.Event()

    def work(job: Job) -> None:
        began.set()
        while not job.stale():
            seen.wait(0.001)
        seen.set()

    runner.ask("solve", work)
    assert began.wait(20)
    runner.ask("solve", lambda job: None)
    assert seen.wait(20)
    runner.stop()


def test_lanes_do_not_push_each_other_out(runner: Background, qtbot: QtBot) -> None:
    came: list[tuple[str, object]] = []
    runner.done.connect(lambda lane, _ticket, result: came.append((lane, result)))
    with qtbot.waitSignal(runner.idle, timeout=20000):
        for lane in ("open", "solve"):
            runner.ask(lane, lambda job: job.report(job.lane))
    assert sorted(came) == [("open", "open"), ("solve", "solve")]
    runner.stop()


@pytest.mark.parametrize("error", [Refusal("", "this", "that"), ZeroDivisionError("nothing")])
def test_errors_arrive_as_signals(runner: Background, qtbot: QtBot, error: Exception) -> None:
    def work(job: Job) -> None:
        raise error

    with qtbot.waitSignal(runner.failed, timeout=20000) as caught:
        runner.ask("open", work)
    assert caught.args is not None
    assert caught.args[2] is error
    runner.stop()


def test_stop_ends_the_thread_and_nothing_arrives_after(runner: Background, qtbot: QtBot) -> None:
    began, go = threading.Event(), threading.Event()
    came: list[object] = []
    runner.done.connect(lambda *words: came.append(words))

    def work(job: Job) -> None:
        began.set()
        while not job.stale():
            go.wait(0.001)
        job.report("too late")

    runner.ask("solve", work)
    assert began.wait(20)
    runner.stop()
    assert not any(thread.name == "wetside-background" for thread in threading.enumerate())
    qtbot.wait(1)
    assert came == []
    assert runner.ask("solve", work) > 0
    assert not any(thread.name == "wetside-background" for thread in threading.enumerate())
