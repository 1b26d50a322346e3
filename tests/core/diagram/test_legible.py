"""No pipe is drawn upon another, nor through joints, ports or symbols, where there is another way."""

from __future__ import annotations

import random
import time
from dataclasses import replace
from pathlib import Path

import pytest

from core.diagram.routes import route
from core.files.read import load
from core.plant.model import Plant
from tests.core.diagram.demo import demo_plant
from tests.core.diagram.legible import cramped, joins_falsely, overlaps, run_through, strewn

SAMPLES = sorted((Path(__file__).parents[3] / "sample_plants").glob("*.plant.json"))


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name.split(".")[0])
def test_samples_read_as_they_are_piped(path: Path) -> None:
    plant = load(path)
    lines = route(plant)
    assert not overlaps(lines)
    assert not run_through(plant, lines)
    assert not joins_falsely(lines)


def test_the_demo_plant_has_no_pipes_upon_each_other() -> None:
    lines = route(demo_plant())
    assert not overlaps(lines)
    assert not joins_falsely(lines)


def test_pipes_strewn_at_random_keep_off_each_other_where_ports_leave_room() -> None:
    pipes = met = 0
    for seed in range(200):
        plant = strewn(seed)
        lines = route(plant)
        pipes += len(lines)
        for pair in (*overlaps(lines), *joins_falsely(lines)):
            assert any(cramped(plant, plant.pipes[name]) for name in pair), f"plant {seed}: {pair}"
            met += 1
        for name, item in run_through(plant, lines):
            assert cramped(plant, plant.pipes[name]), f"plant {seed}: {name} runs through {item}"
            met += 1
    assert pipes > 1500
    assert met <= 12, "ports that leave no room are few"


def _stirred(plant: Plant, seed: int) -> Plant:
    """The same plant with its pipes in another order and told from the other end."""
    names = list(plant.pipes)
    random.Random(seed).shuffle(names)
    pipes = {}
    for i, name in enumerate(names):
        pipe = plant.pipes[name]
        pipes[name] = replace(pipe, start=pipe.end, end=pipe.start, via=pipe.via[::-1]) if i % 2 else pipe
    return replace(plant, pipes=pipes)


def test_the_order_and_sense_of_pipes_is_no_matter() -> None:
    for number, plant in enumerate([*map(load, SAMPLES), demo_plant(), *map(strewn, range(20))]):
        lines = route(plant)
        again = route(_stirred(plant, number))
        assert {name: min(line, line[::-1]) for name, line in again.items()} == {
            name: min(line, line[::-1]) for name, line in lines.items()
        }


def test_three_hundred_pipes_of_samples_are_routed_in_half_a_second() -> None:
    plants = [load(path) for path in SAMPLES]
    for plant in plants:
        route(plant)  # the drawings are read once
    count = 0
    start = time.process_time()
    while count < 300:
        for plant in plants:
            count += len(route(plant))
    assert time.process_time() - start < 0.5
