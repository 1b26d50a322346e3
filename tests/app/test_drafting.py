"""What a draughtsman would stumble over: lines left behind, jogs, lost selections, copies that forget."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import Qt

from core.plant.changes import SetPlant
from core.plant.model import Case, PortRef
from tests.app.pencil import CTRL, Pencil, ring


def test_no_guide_stays_on_the_board_once_a_thing_is_laid_down(pencil: Pencil) -> None:
    pencil.place("shutoff", (300, 300))
    hand = pencil.bench.scene.hand
    pencil.take("shutoff")
    pencil.move((420, 302))
    assert hand._guides
    pencil.click((420, 302))
    assert not hand._guides
    pencil.drag((420, 300), (460, 303))
    assert pencil.window.document.plant.items["V-2"].at == (460, 300)
    assert not hand._guides


def test_a_pulled_pipe_is_selected_and_not_a_part_of_the_one_it_tees_into(pencil: Pencil) -> None:
    ring(pencil)
    for number in range(1, 4):
        name = pencil.place("expansion_tank", (380 + 80 * number, 560))
        pencil.drag(pencil.port(name, "at"), (380 + 80 * number, pencil.bench.scene.line("L-3")[1][1]))
        (pulled,) = pencil.window.document.selection
        assert PortRef(name, "at") in (
            pencil.window.document.plant.pipes[pulled].start,
            pencil.window.document.plant.pipes[pulled].end,
        )


def test_a_tee_pulled_a_little_aside_comes_to_lie_straight(pencil: Pencil) -> None:
    ring(pencil)
    line = pencil.bench.scene.line("L-2")
    name = pencil.place("relief_valve", (600, 280))
    pencil.drag(pencil.port(name, "at"), (611, line[0][1] + 3))
    plant = pencil.window.document.plant
    assert plant.items["J-1"].at == (600, line[0][1])
    (pipe,) = plant.pipes_at[PortRef(name, "at")]
    assert len(pencil.bench.scene.line(pipe)) == 2
    other = pencil.place("relief_valve", (600, 200))
    pencil.drag(pencil.port(other, "at"), (640, line[0][1]))
    assert pencil.window.document.plant.items["J-2"].at == (640, line[0][1]), "meant to lie there"


def test_a_duplicate_fixture_draws_in_every_case_what_its_original_draws(pencil: Pencil) -> None:
    pencil.place("fixture", (400, 400))
    pencil.place("switch", (500, 400))
    document = pencil.window.document
    cases = (Case("Morning", draws={"F-1": "2 gpm"}, signals={"SW-1": True}), Case("Night"))
    document.do("Two cases", [SetPlant({"cases": cases})])
    document.select(["F-1", "SW-1"])
    pencil.key("d", held=CTRL)
    pencil.key(Qt.Key.Key_Down, Qt.Key.Key_Return)
    morning, night = document.plant.cases
    assert morning.draws == {"F-1": "2 gpm", "F-2": "2 gpm"}
    assert morning.signals == {"SW-1": True, "SW-2": True}
    assert night == replace(cases[1])
    document.stack.undo()
    assert document.plant.cases == cases
