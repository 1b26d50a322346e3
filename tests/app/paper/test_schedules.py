"""Rows of the schedules: rooms and heat pumps show what was typed and what was found, not dashes."""

from __future__ import annotations

from core.files.read import load
from core.solve import solve_case
from core.units import show
from tests.plants.edits import SAMPLES


def test_rooms_and_heat_pumps_have_columns_of_their_own() -> None:
    from app.paper.schedules import schedules

    plant = load(SAMPLES / "orchard_packhouse.plant.json")
    solution = solve_case(plant, plant.solve_cases[0])
    tables = {table.title: table for table in schedules(plant, solution, "us", lambda _: "A1")}
    rooms, pumps = tables["ROOMS"], tables["HEAT PUMPS"]
    assert [row[0] for row in rooms.rows] == [i.id for i in plant.items.values() if i.kind == "room"]
    (pump,) = (dict(zip(pumps.headings, row, strict=True)) for row in pumps.rows)
    figures = solution.items["HP-1"]
    assert pump["COP"] == f"{figures.duty_w / figures.power_w:.2f}"
    assert pump["electric"] == show(figures.power_w, "power", "si")
    for row in rooms.rows:
        found = dict(zip(rooms.headings, row, strict=True))
        room = solution.items[found["tag"]]
        assert found["found"] == show(room.temperature_c + 273.15, "temperature", "us").replace(".0 ", " ")
        assert "–" not in row
    assert not any(row[0] == "R-1" for row in tables["HEAT CIRCUITS AND FIXTURES"].rows)
