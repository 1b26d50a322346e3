"""What `wetside solve` prints beside a case: rooms side by side, one line for each combination of calls."""

import json
from pathlib import Path

import pytest

from core import commands
from core.errors import WetsideError
from tests.support.builders import Board

SAMPLES = Path(__file__).parents[3] / "sample_plants"
LOFT, SHED = str(SAMPLES / "bakery_loft.plant.json"), str(SAMPLES / "potting_shed.plant.json")


def test_rooms_stand_side_by_side_for_all_cases(capsys):
    assert commands.main(["solve", LOFT, "--all-cases"]) == 0
    lines = capsys.readouterr().out.splitlines()
    head = next(k for k, line in enumerate(lines) if line.startswith("room "))
    assert lines[head].endswith("All off")
    assert "Design night" in lines[head]
    rows = {line.split()[0]: line for line in lines[head + 1 : head + 4]}
    assert sorted(rows) == ["R-1", "R-2", "R-3"]
    assert rows["R-1"].count("20.0 °C") >= 3  # wanted, and held in two cases
    assert commands.main(["solve", LOFT]) == 0
    assert "\nroom " not in capsys.readouterr().out  # one case has nothing beside it


def test_every_combination_has_a_line_and_its_notes_tell_where(capsys):
    assert commands.main(["solve", SHED, "--all-calls", "--case", "Mild day"]) == 0
    text = capsys.readouterr().out
    assert "4 combinations of calls, else as in Mild day" in text
    for name in ("none", "TH-1", "TH-2", "TH-1 + TH-2"):
        assert f"\n{name}  " in text
    assert "B-1 P-1" in text
    assert "note: P-1: nothing drives this water in this case: no flow. [none]" in text


def test_combinations_as_data_have_the_shape_of_cases(capsys):
    assert commands.main(["solve", SHED, "--all-calls", "--json"]) == 1  # a bay that does not call freezes
    cases = json.loads(capsys.readouterr().out)["cases"]
    assert [case["case"] for case in cases] == ["none", "TH-1", "TH-2", "TH-1 + TH-2"]
    assert [case["signals"]["TH-2"] for case in cases] == [False, False, True, True]
    assert all(case["converged"] for case in cases)


@pytest.mark.parametrize(
    "words", [["--all-cases", "--all-calls"], ["--all-cases", "--case", "All off"], ["--case", "no"]]
)
def test_what_does_not_go_together_is_refused(words):
    with pytest.raises(WetsideError) as caught:
        commands.main(["solve", SHED, *words])
    assert str(caught.value).isprintable()


def test_heat_without_an_expansion_tank_is_a_note_of_solve_and_a_stop_of_review(capsys, tmp_path):
    """The figures stand, so `solve` says it at the heater and exits 0; judging the plant is for `review`."""
    board = Board()
    board.item("B-1", "boiler", capacity="10 kW", set_temperature="60 degC")
    board.drive()
    board.item("LD-1", "load", load="2 kW")
    board.ring("P-1", "S-1", "B-1", "LD-1")
    path = tmp_path / "a.plant.json"
    path.write_text(json.dumps(board.case("c").data()), "utf-8")
    assert commands.main(["solve", str(path)]) == 0
    assert "note: B-1: danger: it heats a closed body of water that has no expansion tank" in (
        capsys.readouterr().out
    )
    assert commands.main(["review", str(path), "--json"]) == 1
    stops = [one for one in json.loads(capsys.readouterr().out)["findings"] if one["severity"] == "stop"]
    assert ["B-1"] in [one["at"] for one in stops if one["rule"] == "no-expansion-tank"]
