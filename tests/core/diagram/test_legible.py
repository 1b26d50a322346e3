"""No pipe is drawn upon another, nor through joints, ports or symbols, where there is another way."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest

from core.diagram.geometry import Box, length, segments
from core.diagram.marks import arrows_on
from core.diagram.picture import compose
from core.diagram.routes import route
from core.diagram.states import dead_end
from core.files.read import load
from core.plant.model import Plant
from tests.core.diagram.demo import demo_plant, made_up
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


def test_a_crossed_run_has_its_arrow_beside_the_hop() -> None:
    line = ((0.0, 0.0), (80.0, 0.0))
    (arrow,) = arrows_on(line, True, 4.0, ((40.0, 0.0),), ())
    assert arrow.way == (1.0, 0.0)
    assert Box(4, -9, 76, 9).holds(arrow.box), "clear of dots at the ends"
    assert abs(arrow.at[0] - 40) > 6 + arrow.half_length, "and of the hop"


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name.split(".")[0])
def test_marks_of_samples_keep_clear_of_each_other(path: Path) -> None:
    plant = load(path)
    solution = made_up(plant)
    picture = compose(plant, solution, lambda text, size, bold: 0.5 * size * len(text))
    boxes = [(pipe.id, mark.box) for pipe in picture.pipes.values() for mark in (*pipe.arrows, *pipe.letters)]
    boxes += [
        (name, Box(x - 1, y - 6, x + 6, y + 6)) for name, pipe in picture.pipes.items() for x, y in pipe.hops
    ]
    boxes += [(placed.key, placed.box) for placed in picture.written]
    for (one, a), (other, b) in combinations(boxes, 2):
        assert not a.overlaps(b), f"{one} lies on {other}"
    for pipe in picture.pipes.values():
        run = max(map(length, segments(pipe.line)), default=0.0)
        moving = not pipe.still and not dead_end(plant, plant.pipes[pipe.id])
        assert pipe.arrows or run < 60 or not moving, f"{pipe.id} does not say which way its water goes"
