"""The logbook on paper: reasons are printed, and entries that figures have left say so."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from app.paper.decisions import logbook_rows
from core.files.read import load
from core.logbook import Figure, figures_of_the_day, write_down
from core.plant.changes import apply
from core.solve import solve_plant

FILE = Path(__file__).parents[3] / "sample_plants" / "potting_shed.plant.json"


def test_an_entry_is_printed_with_its_reason_and_asks_when_figures_left_it() -> None:
    plant = replace(load(FILE), logbook=())
    solutions = {s.case: s for s in solve_plant(plant)}
    pump = next(i.id for i in plant.items.values() if i.kind == "circulator")
    case = next(iter(solutions))
    figures = figures_of_the_day(plant, solutions, [pump])
    plant = apply(plant, [write_down(plant, [pump], "the small one", "quiet", ["the large one"], figures)])
    wrong = Figure(f"items.{pump}.head_m", 0.1, "m_head", case)
    plant = apply(plant, [write_down(plant, [pump], "again", "louder", (), [wrong], follows="D-1")])
    (row,) = logbook_rows(plant, solutions)
    assert row[0] == "D-2"
    assert row[1].startswith(pump)
    assert row[2].startswith("again. “louder” The head of")
    assert "Look again" in row[2]
