"""The start-up sheet and the service calendar: the gate first, dangers beside their step, figures "
"as solved."""

import json

import pytest

from core.files.read import load, loads
from core.papers import start_up
from core.papers.blocks import Blank, Caution, Grid, Heading, Said, Together
from core.papers.plant_words import by_tag
from core.papers.service import service_paper, service_tasks
from core.papers.start_up import start_up_paper
from core.papers.valve_tags import valve_tags
from core.solve import solve_plant
from core.units import show
from core.vocabulary import Trait
from core.water.ways import water_graph
from tests.plants import edits
from tests.plants.edits import file_of


def sheet(plant):
    return start_up_paper(plant, solve_plant(plant)).blocks


@pytest.fixture(scope="module")
def kennel():
    plant = load(file_of("two_heater_clinic"))
    return plant, solve_plant(plant)


def chapter(blocks, word):
    """Blocks of the chapter whose heading holds a word."""
    (start,) = [k for k, b in enumerate(blocks) if isinstance(b, Heading) and b.level == 1 and word in b.text]
    ends = [k for k, b in enumerate(blocks) if k > start and isinstance(b, Heading) and b.level == 1]
    return blocks[start : ends[0] if ends else None]


def test_the_gate_comes_first_and_names_every_relief_valve_and_expansion_tank(kennel):
    plant, solutions = kennel
    blocks = start_up_paper(plant, solutions).blocks
    assert blocks[0].text.startswith("1 Gate")
    lines = [block.text for block in chapter(blocks, "Gate") if isinstance(block, Blank)]
    for item in plant.with_trait(Trait.RELIEVES, Trait.EXPANDS, Trait.STOPS_BACKFLOW):
        assert any(line.startswith(item.id) for line in lines)
    assert any("Fuel, venting" in line for line in lines)
    assert any("Electrical work" in line for line in lines)


def test_steps_follow_one_another_and_each_danger_stands_beside_its_step(kennel):
    blocks = start_up_paper(*kennel).blocks
    order = ["Gate", "Flush", "Pressure test", "Filling", "Purging", "Venting", "Drinking water", "Settings",
             "First heat-up", "Readings", "signatures", "Valve tags", "Shut-off cards"]  # fmt: skip
    heads = [block.text for block in blocks if isinstance(block, Heading) and block.level == 1]
    places = [next(k for k, head in enumerate(heads) if word in head) for word in order]
    assert places == sorted(places)
    beside = {
        "Flush": start_up.FLUX, "Pressure test": start_up.AIR, "Filling": start_up.TOXIC,
        "Purging": start_up.FILLING, "Drinking water": start_up.DISINFECT, "Settings": start_up.SCALD,
        "First heat-up": start_up.HEAT_UP,
    }  # fmt: skip
    for word, caution in beside.items():
        assert Caution(caution) in chapter(blocks, word)


def test_what_is_rated_for_less_is_listed_for_refitting(kennel):
    plant, solutions = kennel
    (grid,) = [
        b for b in chapter(start_up_paper(plant, solutions).blocks, "Pressure test") if isinstance(b, Grid)
    ]
    listed = {row[0] for row in grid.rows}
    assert listed >= {item.id for item in plant.with_trait(Trait.RELIEVES, Trait.EXPANDS)}


def test_heated_water_without_a_relief_valve_stops_the_gate():
    data = edits.sample("potting_shed")
    edits.remove(data, "RV-1")
    found = [b.text for b in chapter(sheet(loads(json.dumps(data))), "Gate") if isinstance(b, Caution)]
    assert found == ["No relief valve is drawn in the water at B-1. Stop here until it is settled."]


def test_expected_readings_are_those_of_the_solved_cases(kennel):
    plant, solutions = kennel
    blocks = chapter(start_up_paper(plant, solutions).blocks, "Readings")
    grids = [block for block in blocks if isinstance(block, Grid)]
    (pipe,) = [p for p in plant.pipes.values() if "PG-2" in (p.start.item, p.end.item)]
    for grid, solution in zip(grids, solutions, strict=True):
        assert grid.title.startswith(f"{solution.case}: ")
        cells = [row[k : k + 4] for row in grid.rows for k in range(0, len(row), 4)]
        _, _, expected, blank = next(cell for cell in cells if cell[0] == "PG-2")
        pressure = solution.pipes[pipe.id].pressure_at(pipe.start.item == "PG-2")
        assert expected == show(pressure, "pressure", "us")
        assert not blank.strip()


def test_each_shut_off_card_has_its_own_cautions(kennel):
    blocks = chapter(start_up_paper(*kennel).blocks, "Shut-off cards")
    cards = [block.blocks for block in blocks if isinstance(block, Together)]
    heater = next(card for card in cards if card[0].text.startswith("H-1"))
    assert any(isinstance(b, Caution) and "Descaling" in b.text for b in heater)
    assert any(isinstance(b, Said) and "Lock out fuel" in b.text for b in heater)


def test_the_calendar_knows_what_the_plant_has(kennel):
    plant, solutions = kennel
    tasks = {task.words.split(" ")[0]: task for task in service_tasks(plant, solutions)}
    assert set(tasks["screen"].at) == {"ST-1", "ST-2", "ST-3"}
    assert set(tasks["flushed"].at) == {"H-1", "H-2", "H-3", "HX-1", "HX-2"}
    assert tasks["anode"].at == ("T-1",)
    assert tasks["antifreeze:"].at == ("melt",)
    assert "never plugged" in tasks["tried"].caution
    text = [b.text for b in service_paper(plant, solutions).blocks if isinstance(b, Caution)]
    assert any("Descaling acid" in one and "HX-1" in one for one in text)


def test_a_valve_tag_says_where_it_stands_and_what_is_dangerous_there(kennel):
    plant, solutions = kennel
    grid = valve_tags(plant, water_graph(plant), solutions)
    assert [row[0] for row in grid.rows] == [i.id for i in by_tag(plant.with_trait(Trait.HAND_VALVE))]
    said = {row[0]: dict(zip(grid.heads, row, strict=True)) for row in grid.rows}
    hot = next(
        p for p in plant.pipes.values()
        if p.start.item in said and solutions[0].pipes[p.id].temperature_in_c > 60.0
    )  # fmt: skip
    assert "scalds" in said[hot.start.item]["caution"]
    glycol = next(p for p in plant.pipes.values() if p.system == "melt" and p.start.item in said)
    assert "glycol" in said[glycol.start.item]["caution"]
    assert " and " in said[hot.start.item]["between"]


def test_the_balancing_table_names_the_loop_of_each_valve():
    from core.papers.settings import balance_grid

    plant = load(file_of("potting_shed"))
    rows = balance_grid(plant, solve_plant(plant)).rows
    assert [row[:2] for row in rows] == [("BV-1", "FC-1"), ("BV-2", "FC-2")]
