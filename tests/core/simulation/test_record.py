"""A run kept whole: the same CSV as the command's, moments as solutions, the process that makes it."""

from __future__ import annotations

import io
import pickle

import pytest

from core.figures import SourceFigures
from core.files.read import from_data
from core.simulation import record as keeping
from core.simulation import worker_process
from core.simulation.clock_words import clock_words
from core.simulation.engine import Simulation
from core.simulation.record import Record, recorded
from core.simulation.runs import chosen_run
from core.simulation.summary import summary_of
from core.simulation.trace import Trace
from core.simulation.worker_process import Answer, Question
from tests.support.builders import Board


def heater() -> Board:
    """A boiler on a tank under an aquastat that goes on and off."""
    board = Board()
    board.pump("P-1", 30e3, 0.5e-3, run_when="AQ-1")
    board.item("B-1", "boiler", capacity="12 kW", set_temperature="70 degC", run_when="AQ-1")
    board.item("T-1", "tank", volume="200 L", ua_loss="40 W/K", nodes=1)
    board.item("AQ-1", "aquastat", senses=["T-1", "top"], set_temperature="55 degC", differential="4 K")
    board.chain("B-1", "P-1", "T-1:supply>return", "B-1")
    return board


@pytest.fixture(scope="module")
def plant() -> object:
    data = heater().data()
    data["runs"] = [{"name": "evening", "hours": 10}]
    return from_data(data)


def record_of(sim: Simulation) -> Record:
    """A whole run, kept."""
    recorder, times = recorded(sim)
    assert list(times)
    return recorder.record(summary_of(sim.observer))


@pytest.fixture(scope="module")
def kept(plant) -> Record:
    return record_of(Simulation(chosen_run(plant)))


def test_the_csv_of_a_record_is_the_commands(plant, kept: Record) -> None:
    sim = Simulation(chosen_run(plant))
    trace = Trace(sim)
    sim.observer.trace = trace.see
    seen = sim.simulate()
    by_command, by_record = io.StringIO(), io.StringIO()
    trace.write(by_command)
    kept.write(by_record)
    assert by_record.getvalue() == by_command.getvalue()
    assert summary_of(seen) == kept.summary


def test_a_moment_says_what_the_columns_say(kept: Record) -> None:
    assert kept.switches["B-1"].any()
    assert not kept.switches["B-1"].all()
    for number in range(0, len(kept.times), 7):
        solution = kept.moment(number)
        source = solution.role("B-1", SourceFigures)
        assert source.duty_w == kept.columns["B-1.duty_w"][number]
        assert solution.signals["AQ-1"] == kept.switches["AQ-1"][number]
        assert source.running == kept.switches["B-1"][number]


def test_the_moment_that_holds_is_the_last_one_not_after(kept: Record) -> None:
    for number in (0, 5, len(kept.times) - 1):
        t = float(kept.times[number])
        assert kept.times[kept.at(t)] == t
    assert kept.at(1e9) == len(kept.times) - 1
    assert kept.at(-5.0) == 0


def test_of_a_long_run_every_second_moment_is_kept(plant, monkeypatch: pytest.MonkeyPatch, kept: Record):
    monkeypatch.setattr(keeping, "MOST_MOMENTS", 40)
    few = record_of(Simulation(chosen_run(plant)))
    assert few.thinned > 1
    assert len(few.times) <= 41
    assert few.times[0] == 0.0
    assert list(few.times) == sorted(few.times)
    assert few.summary == kept.summary


def test_the_process_answers_with_the_record_and_stops_when_asked(plant, kept: Record) -> None:
    found = list(worker_process.answers(Question(7, plant, "evening", 10.0), lambda: True))
    last = pickle.loads(pickle.dumps(found[-1]))
    assert (last.ticket, last.what) == (7, "record")
    assert last.load.summary == kept.summary
    assert list(worker_process.answers(Question(8, plant, "evening", 10.0), lambda: False)) == []
    refused = list(worker_process.answers(Question(9, plant, "morning"), lambda: True))
    assert refused[0].what == "refused"
    assert "morning" in refused[0].load
    assert list(worker_process.answers(Question(10), lambda: True)) == []
    assert isinstance(refused[0], Answer)


def test_days_and_weeks_are_told() -> None:
    assert clock_words(13 * 86400.0 + 23 * 3600.0) == "Sun 23:00, week 2"
