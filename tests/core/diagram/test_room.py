"""Room made in a line for one more symbol: the rest is pulled apart, nothing comes to lie on anything."""

from __future__ import annotations

from pathlib import Path

import pytest

from core.diagram import symbols
from core.diagram.room import STUB, pulled_apart, seat
from core.diagram.routes import route
from core.files.read import load
from core.plant.changes import apply
from core.plant.validity import check

SAMPLES = sorted((Path(__file__).parents[3] / "sample_plants").glob("*.plant.json"))


@pytest.mark.parametrize("axis", [0, 1])
def test_pulling_apart_moves_all_that_lies_beyond_and_nothing_else(axis: int) -> None:
    plant = load(next(path for path in SAMPLES if path.name.startswith("kennel")))
    places = sorted(item.at[axis] for item in plant.items.values())
    cut = places[len(places) // 2]
    for by in (40.0, -40.0):
        wide = apply(plant, pulled_apart(plant, axis, cut, by))
        assert not check(wide)
        for name, item in plant.items.items():
            beyond = item.at[axis] >= cut if by > 0 else item.at[axis] <= cut
            moved = wide.items[name].at
            assert moved[axis] - item.at[axis] == (by if beyond else 0.0), name
            assert moved[1 - axis] == item.at[1 - axis]


@pytest.mark.parametrize("path", SAMPLES[:3], ids=lambda path: path.name.split(".")[0])
def test_a_seat_leaves_some_pipe_on_both_sides(path: Path) -> None:
    plant = load(path)
    lines = route(plant)
    made = 0
    for name, line in list(lines.items())[::5]:
        ends = plant.pipes[name].start, plant.pipes[name].end
        if len(line) != 2 or line[0] == line[1]:
            continue
        place = (line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2
        found = seat(plant, name, line, place, 40.0)
        wider = apply(plant, found.moves)
        first, last = (symbols.port_place(wider.items[ref.item], ref.port) for ref in ends)
        axis = 0 if first[1] == last[1] else 1
        low, high = sorted((first[axis], last[axis]))
        if high - low >= 40.0 + 2 * STUB:
            made += bool(found.moves)
            assert low + STUB <= found.at[axis] - 20.0 <= found.at[axis] + 20.0 <= high - STUB, name
            assert found.at[1 - axis] == first[1 - axis]
    assert made or path.name.startswith("school")
