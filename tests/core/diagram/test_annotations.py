"""The words at pipes and items come from the solution alone."""

from __future__ import annotations

import pytest

from core.diagram.annotations import item_text, pipe_text, port_figure, system_letters
from core.diagram.states import State, calls, state_of, weight
from core.files.read import from_data
from core.plant.model import Item, Plant, System
from core.solve import Solution
from core.units import show
from tests.core.diagram.demo import demo_plant, demo_solution
from tests.support.figures import item_figures, pipe_figures


def _solved(flow: float, **more: float) -> Solution:
    given = {
        "flow_m3_s": flow, "velocity_m_s": flow / 5e-4, "drop_pa": 1e6 * flow,
        "temperature_in_c": 50.0, "temperature_out_c": 48.0, **more,
    }  # fmt: skip
    return Solution("c", pipes={"L": pipe_figures(**given)})


def test_quantities_come_in_the_order_chosen_and_without_sign() -> None:
    solution = _solved(-5e-4)
    assert pipe_text("L", solution, ("velocity", "flow"), "si") == ["1.00 m/s", "0.500 L/s"]
    assert pipe_text("L", solution, ("flow",), "us") == [show(5e-4, "flow", "us")]


def test_temperature_is_that_of_the_water_coming_in() -> None:
    assert pipe_text("L", _solved(5e-4), ("temperature",), "si") == ["50.0 °C"]
    assert pipe_text("L", _solved(-5e-4), ("temperature",), "si") == ["48.0 °C"]


def test_head_loss_is_a_column_of_the_fluid_there() -> None:
    plant = demo_plant()
    solution = demo_solution()
    drop = solution.pipes["L-12"].drop_pa
    text = pipe_text("L-12", solution, ("head_loss",), "si", plant)[0]
    assert text.endswith(" m")
    assert float(text.split()[0]) == pytest.approx(drop / 983.0 / 9.80665, abs=0.006)  # water at 60 degC
    assert pipe_text("L-12", solution, ("pressure_drop",), "si") == [show(drop, "pressure", "si")]


def test_still_water_says_so_and_an_unsolved_pipe_nothing() -> None:
    assert pipe_text("L", _solved(0.0)) == ["no flow"]
    assert pipe_text("L", None) == []
    assert pipe_text("other", _solved(1e-4)) == []


def test_parts_bolted_together_have_no_velocity() -> None:
    assert pipe_text("L", _solved(5e-4, velocity_m_s=0.0), ("flow", "velocity"), "si") == ["0.500 L/s"]


def test_items_say_duty_or_setting() -> None:
    plant, solution = demo_plant(), demo_solution()
    text = {item.id: item_text(plant, item, solution, "us") for item in plant.items.values()}
    assert text["P-1"] == ("P-1", "13.3 ft")
    assert text["P-2"] == ("P-2", "9.2 ft · 70 %")
    assert text["P-3"] == ("P-3", "off")
    assert text["H-1"] == ("H-1", "39.9 kBtu/h")
    assert text["H-2"] == ("H-2", "off")
    assert text["FC-1"][1] == "23.9 of 24.6 kBtu/h"
    assert text["RV-1"][1] == "75 psi"
    assert text["ET-2"][1] == "4.4 gal · 15 psi"
    assert text["J-1"] == ("", "")
    assert text["TH-1"][1] == show(
        port_figure(plant, solution, "TH-1", "at", "temperature") or 0, "temperature", "us"
    )


def test_letters_tell_systems_apart() -> None:
    glycol = {"kind": "propylene_glycol", "fraction": 0.3}
    systems = {
        "cold": System("cold", "potable"), "floor": System("floor"), "melt": System("melt", "closed", glycol),
        "roof": System("roof", "closed", glycol),
    }  # fmt: skip
    assert system_letters(Plant(systems=systems)) == {"cold": "P", "floor": "H", "melt": "G1", "roof": "G2"}


def test_states_follow_solution_and_file() -> None:
    pump, valve = Item("P-1", "circulator", (0, 0)), Item("V-1", "shutoff", (0, 0), props={"open": False})
    assert state_of(pump, demo_solution()) is State.RUNS
    assert state_of(pump, None) is State.RESTS
    assert state_of(valve, None) is State.SHUT
    zone = Item("ZV-1", "zone_valve", (0, 0), props={"run_when": {"any": ["TH-1", "TH-2"]}})
    on = Solution("c", {"TH-1": False, "TH-2": True})
    off = Solution("c", {"TH-1": False, "TH-2": False})
    assert (state_of(zone, on), state_of(zone, off)) == (State.OPEN, State.SHUT)


def test_calls_read_any_all_not() -> None:
    signals = {"A": True, "B": False}
    assert calls({"all": ["A", {"not": "B"}]}, signals)
    assert not calls({"all": ["A", "B"]}, signals)
    assert not calls("C", signals)
    assert calls(None, signals)
    assert not calls(False, signals)


def test_weights_step_with_the_flow() -> None:
    gpm = 6.309e-5
    assert [weight(gpm * q) for q in (0, 0.5, 2, 6, 9)] == [1.0, 1.4, 2.0, 2.8, 4.0]
    assert weight(-9 * gpm) == 4.0


def test_pieces_that_mix_pass_by_or_use_water_up_say_what_they_do() -> None:
    plant = from_data(
        {
            "format": "wetside-plant",
            "version": 2,
            "items": [
                {"id": "TV-1", "kind": "three_way_valve", "at": [0, 0], "props": {"target": "95 degF"}},
                {"id": "DP-1", "kind": "dp_bypass", "at": [0, 60], "props": {"set_pressure": "8 ft_head"}},
                {"id": "HU-1", "kind": "humidifier", "at": [0, 120], "props": {"uses": "2 L/h"}},
            ],
        }
    )
    assert [item_text(plant, item, None)[1] for item in plant.items.values()] == [
        "95 °F",
        "8.0 ft",
        "12.7 gal a day",
    ]
    figures = {
        "TV-1": item_figures("three_way_valve", temperature_c=30.0),
        "DP-1": item_figures("dp_bypass", flow_m3_s=1e-4),
        "HU-1": item_figures("humidifier", uses_m3_s=1e-6),
    }
    got = Solution("case", items=figures)
    assert [item_text(plant, item, got, "si")[1] for item in plant.items.values()] == [
        "30.0 °C",
        "2.44 m · open",
        "86.4 L a day",
    ]
