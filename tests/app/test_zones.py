"""CV-1, D2 is the same place on the board, in the particulars, in the schedules and on paper."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

import sample_plants
from app.paper import laid_out
from app.window.main_window import Window
from core.diagram.geometry import Box
from core.diagram.zones import A3
from core.files.read import load
from tests.app.pencil import Pencil, still_water

FOLDER = Path(sample_plants.__file__).parent


@pytest.mark.parametrize("name", ["potting_shed", "kennel_clinic", "school_annex"])
def test_board_and_paper_name_the_same_zones(make_window: Callable[..., Window], name: str) -> None:
    file = FOLDER / f"{name}.plant.json"
    window = make_window(file, solve=still_water)
    scene, plant = window.board.scene, load(file)
    papers = laid_out(plant, still_water(plant, plant.solve_cases[0]), A3, "us", "1 Jan 2030")
    tile = papers.pages[0].tile
    assert tile is not None
    for item in plant.items.values():
        spot = tile.on_sheet(Box(*item.at, *item.at))
        zone = A3.zone((spot.x0, spot.y0))
        assert scene.zone_of(item.id) == zone
        if item.kind == "circulator":
            window.document.select([item.id])
            assert window.particulars._head._remark.text().endswith(f"at {zone}")
    # Where a zone begins on the board it begins on paper.
    x, y = scene.ground.zones.lines(True)[2], scene.ground.zones.lines(False)[1]
    spot = tile.on_sheet(Box(x, y, x, y))
    assert spot.x0 == pytest.approx(A3.zone_edges(True)[2])
    assert spot.y0 == pytest.approx(A3.zone_edges(False)[1])
    assert set(plant.pipes) == {pipe for pipe in plant.pipes if scene.zone_of(pipe)}


def test_the_sheet_stays_while_one_draws_on_it(pencil: Pencil) -> None:
    scene = pencil.board.scene
    frame = scene.ground.zones.frame()
    pencil.place("boiler", (300, 300))
    pencil.place("radiator", (900, 600))
    pencil.drag((900, 600), (700, 200))
    assert scene.ground.zones.frame() == frame
    assert scene.zone_of("RA-1") == scene.ground.zones.at((700, 200)) != ""
