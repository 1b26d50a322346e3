"""The place of a drawing on its sheets follows from the plant, and moves by whole zones only."""

from __future__ import annotations

from dataclasses import replace

import pytest

from core.diagram.plans import AIR, LEAST, MOST
from core.diagram.sheets import ZONE, letters
from core.diagram.zones import A3, Zones, zones
from core.plant.model import Item, Plant


def _plant(*places: tuple[float, float]) -> Plant:
    items = [Item(f"P-{i}", "circulator", at) for i, at in enumerate(places, start=1)]
    return Plant(items={item.id: item for item in items})


def _zones(*places: tuple[float, float]) -> Zones:
    return zones(_plant(*places), {})


def test_what_stands_within_the_room_leaves_the_sheet_where_it_is() -> None:
    empty = zones(Plant(), {})
    for places in ([(300.0, 200.0)], [(100.0, 100.0), (900.0, 700.0)]):
        placed = _zones(*places)
        assert placed.frame() == empty.frame()
        assert placed.plan.scale == MOST
    assert empty.plan.beside == "beside"


@pytest.mark.parametrize("at", [(-30.0, 50.0), (3000.0, 2000.0), (-1234.0, -987.0), (1200.0, 940.0)])
def test_the_sheet_follows_by_whole_zones(at: tuple[float, float]) -> None:
    empty, placed = zones(Plant(), {}), _zones(at)
    assert placed.plan.single
    pitch = ZONE / placed.plan.scale
    for here, there in zip(placed.plan.corner, empty.plan.corner, strict=True):
        assert (here - there) / pitch == pytest.approx(round((here - there) / pitch))
    assert placed.plan.reach.holds(placed.plan.source(0, 0))
    assert placed.at(at)


def test_a_wide_drawing_gets_a_smaller_scale_and_a_huge_one_several_sheets() -> None:
    scales = [_zones((100.0, 100.0), (x, 400.0)).plan.scale for x in (900.0, 1500.0, 1700.0)]
    assert all(LEAST <= scale <= MOST for scale in scales)
    huge = _zones(*((100.0 + 150.0 * i, 100.0 + 90.0 * j) for i in range(30) for j in range(20)))
    assert not huge.plan.single
    assert len(huge.numbers) > 1
    assert huge.at((100.0, 100.0)).startswith("1-")
    assert huge.at((-9000.0, 0.0)) == ""


def test_zones_on_the_board_lie_as_the_lines_say() -> None:
    placed = _zones((100.0, 100.0), (900.0, 700.0))
    columns, rows = placed.lines(True), placed.lines(False)
    frame = placed.frame()
    for i, x in enumerate(columns[:-1]):
        for j, y in enumerate(rows[:-1]):
            spot = (max(x, frame.x0) + 1.0, max(y, frame.y0) + 1.0)
            assert placed.at(spot) == f"{letters(j)}{i + 1}"
    assert placed.at((frame.x1 + 1.0, frame.y0)) == ""
    assert placed.board(A3.frame) == frame


def test_turning_a_plant_into_one_elsewhere_by_a_zone_changes_no_place_on_the_sheet() -> None:
    plant = _plant((-500.0, 300.0), (200.0, 500.0))
    pitch = ZONE / zones(plant, {}).plan.scale
    moved = replace(
        plant,
        items={k: replace(item, at=(item.at[0] - pitch, item.at[1])) for k, item in plant.items.items()},
    )
    before, after = zones(plant, {}), zones(moved, {})
    for name in plant.items:
        assert before.of(plant, {}, name) == after.of(moved, {}, name) != ""


def test_the_air_for_texts_counts() -> None:
    room = zones(Plant(), {}).plan.reach
    just = _zones((room.x1 - AIR - 20.0, 300.0))
    over = _zones((room.x1 - AIR - 10.0, 300.0))
    assert just.plan.corner == (0.0, 0.0)
    assert over.plan.corner != (0.0, 0.0)
