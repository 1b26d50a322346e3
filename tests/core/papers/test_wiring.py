"""Wiring points of a sample whose receptacles are drawn, against sums by hand; the command."""

import json

import pytest

from app.paper.text_papers import run
from core.files.read import load, loads
from core.papers.wiring import wiring_points
from core.solve import solve_plant
from tests.plants import edits
from tests.plants.edits import SAMPLES

PACKHOUSE = SAMPLES / "orchard_packhouse.plant.json"


def test_points_say_what_feeds_and_what_calls():
    found = {point.at: point for point in wiring_points(load(PACKHOUSE)).points}
    heater = found["H-1"]
    assert heater.receptacles == ("OU-1",)
    assert heater.amps == pytest.approx(8000 / 240, rel=1e-3)  # its watts over the volts of OU-1
    assert heater.called_by == "SW-1 and (TH-1 or TH-2 or TH-3)"
    assert found["TH-1"].calls == ("HP-1", "H-1", "P-1", "P-2", "ZV-1")
    assert found["OR-1"].calls == ("HP-1", "H-1")
    assert found["ZV-1"].amps is None  # not set is not nothing


def test_a_circuit_carries_what_hangs_on_it_in_the_worst_case():
    plant = load(PACKHOUSE)
    found = wiring_points(plant, solve_plant(plant))
    pumps = next(circuit for circuit in found.circuits if circuit.at == "OU-2")
    assert pumps.connected == pytest.approx(0.9 + 0.6)  # the amps typed at P-1 and P-2
    assert set(pumps.feeds) == {"P-1", "P-2"}
    assert set(found.unfed) == {"HP-1", "ZV-1", "ZV-2", "ZV-3"}


def test_an_overloaded_circuit_needs_attention(tmp_path, capsys):
    data = edits.sample("orchard_packhouse")
    edits.props(data, "OU-1", rating="30 A")
    file = tmp_path / "over.plant.json"
    file.write_text(json.dumps(data), "utf-8")
    assert wiring_points(loads(json.dumps(data)), solve_plant(load(file))).circuits[0].over
    assert run([str(file), "--json"], "wiring") == 1
    told = json.loads(capsys.readouterr().out)
    assert set(told) == {"points", "circuits", "unfed", "questions", "cautions"}
    assert told["circuits"][0]["verdict"] == "over rating"


def test_the_text_names_every_point_and_the_caution(capsys):
    assert run([str(PACKHOUSE)], "wiring") == 0
    out = capsys.readouterr().out
    assert all(f"  {name}: " in out for name in ("HP-1", "H-1", "P-1", "P-2", "ZV-3", "SW-1", "OU-2", "OR-1"))
    assert "caution: Overloaded wiring burns" in out
