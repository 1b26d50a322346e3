"""Truth tables: every form of expression, outlets and power in chains, loops that come to no rest."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest

from core.controls.expressions import holds, runs
from core.controls.signals import Signals, signal_states
from core.controls.stats import Stat, stats_of
from core.controls.wiring import Wiring
from core.files.read import from_data
from core.plant.model import Case, Plant
from tests.support.builders import Board

STATES = list(product((False, True), repeat=3))


def plant_of(*controls: tuple[str, str, dict[str, Any]], **pump: Any) -> Plant:
    board = Board()
    board.drive()
    board.items["P-1"]["props"].update(pump)
    board.ring("P-1", "S-1")
    for name, kind, props in controls:
        board.item(name, kind, **props)
    return from_data(board.data())


@pytest.mark.parametrize(
    ("expression", "means"),
    [
        (None, lambda a, b, c: True),
        (True, lambda a, b, c: True),
        (False, lambda a, b, c: False),
        ("A", lambda a, b, c: a),
        ({"any": []}, lambda a, b, c: False),
        ({"all": []}, lambda a, b, c: True),
        ({"any": ["A"]}, lambda a, b, c: a),
        ({"any": ["A", "B", "C"]}, lambda a, b, c: a or b or c),
        ({"all": ["A", "B", "C"]}, lambda a, b, c: a and b and c),
        ({"not": "A"}, lambda a, b, c: not a),
        ({"not": {"any": ["A", "B"]}}, lambda a, b, c: not (a or b)),
        ({"not": {"all": ["A", {"not": "B"}]}}, lambda a, b, c: not (a and not b)),
        ({"all": [{"any": ["A", "B"]}, {"not": "C"}]}, lambda a, b, c: (a or b) and not c),
        ({"any": [{"all": ["A", {"not": {"any": ["B", "C"]}}]}, {"all": ["B", "C"]}]},
         lambda a, b, c: (a and not (b or c)) or (b and c)),
        ({"any": [False, {"all": [True, "C"]}]}, lambda a, b, c: c),
        ({"not": {"not": {"not": "B"}}}, lambda a, b, c: not b),
    ],
)  # fmt: skip
def test_every_form_of_expression(expression, means):
    for a, b, c in STATES:
        assert holds(expression, {"A": a, "B": b, "C": c}) is means(a, b, c)


def test_run_when_and_powered_by_must_both_hold():
    for a, b, _ in STATES:
        assert runs({"run_when": "A", "powered_by": {"not": "B"}}, {"A": a, "B": b}) is (a and not b)


def test_several_stats_each_through_its_own_outlet():
    plant = plant_of(
        *((f"TH-{k}", "thermostat", {}) for k in (1, 2, 3)),
        *((f"OU-{k}", "outlet", {"switched_by": f"TH-{k}"}) for k in (1, 2, 3)),
        powered_by={"any": ["OU-1", "OU-2", "OU-3"]},
    )
    for state in STATES:
        named = {f"TH-{k}": on for k, on in enumerate(state, 1)}
        on = signal_states(plant, Case("c", signals=named)).on
        assert [on[f"OU-{k}"] for k in (1, 2, 3)] == list(state)
        assert runs(plant.items["P-1"].si, on) is any(state)


def test_power_goes_along_a_chain_written_in_any_order():
    plant = plant_of(
        ("OU-3", "outlet", {"switched_by": {"all": ["AQ-1", "OU-1"]}}),
        ("AQ-1", "aquastat", {"powered_by": "OU-2"}),
        ("OU-2", "outlet", {"switched_by": {"not": "SW-1"}}),
        ("OU-1", "outlet", {"on": True}),
        ("SW-1", "switch", {}),
        powered_by="OU-3",
    )
    for switch, calls, _ in STATES:
        states = signal_states(plant, Case("c", signals={"SW-1": switch}), {"AQ-1": calls})
        powered = not switch
        assert states.on["OU-2"] is powered
        assert states.on["AQ-1"] is (powered and calls)
        assert states.on["OU-3"] is (powered and calls)
        assert states.unpowered == (frozenset() if powered else frozenset({"AQ-1"}))


def test_a_case_fixes_what_it_names_even_without_power():
    plant = plant_of(
        ("SW-1", "switch", {"on": True}),
        ("OU-1", "outlet", {"switched_by": "SW-1"}),
        ("AQ-1", "aquastat", {"powered_by": {"not": "SW-1"}}),
    )
    assert signal_states(plant, Case("c")).on == {"SW-1": True, "OU-1": True, "AQ-1": False}
    fixed = {"OU-1": False, "AQ-1": True}
    assert signal_states(plant, Case("c", signals=fixed)).on == {"SW-1": True, **fixed}


def test_a_switch_is_as_it_says_and_an_outlet_too():
    plant = plant_of(
        ("SW-1", "switch", {}), ("SW-2", "switch", {"on": True}), ("OU-1", "outlet", {"on": True})
    )
    assert signal_states(plant, Case("c")).on == {"SW-1": False, "SW-2": True, "OU-1": True}


@pytest.mark.parametrize(
    ("first", "second", "loops"),
    [
        ("OU-2", "OU-1", [("OU-1", "OU-2")]),
        ({"not": "OU-2"}, "OU-1", [("OU-1", "OU-2")]),  # on makes off makes on …
        ("OU-1", "SW-1", [("OU-1",)]),
        ({"any": ["OU-2", "SW-1"]}, {"not": "SW-1"}, []),
    ],
)
def test_what_depends_on_itself_is_found_and_comes_to_one_state(first, second, loops):
    plant = plant_of(
        ("SW-1", "switch", {"on": True}),
        ("OU-1", "outlet", {"switched_by": first}),
        ("OU-2", "outlet", {"switched_by": second}),
        ("OU-3", "outlet", {"switched_by": {"not": "OU-1"}}),
    )
    assert Signals(plant).loops == loops
    on = signal_states(plant, Case("c")).on
    assert on["OU-3"] is not on["OU-1"]
    if loops:
        assert on["OU-1"] is False


def test_an_aquastat_that_feeds_its_own_outlet_is_a_loop():
    plant = plant_of(
        ("OU-1", "outlet", {"switched_by": "AQ-1"}), ("AQ-1", "aquastat", {"powered_by": "OU-1"})
    )
    assert Signals(plant).loops == [("OU-1", "AQ-1")]
    assert signal_states(plant, Case("c"), {"AQ-1": True}).on == {"OU-1": False, "AQ-1": False}
    started = signal_states(plant, Case("c", signals={"OU-1": True}), {"AQ-1": True})
    assert started.on == {"OU-1": True, "AQ-1": True}


def test_a_stat_calls_below_its_band_and_inside_it():
    falls = Stat("AQ", ("T",), 330.0, 6.0, rising=False)
    assert [falls.calls(t) for t in (300.0, 324.0, 327.0, 330.0, 330.1)] == [True] * 4 + [False]
    assert [falls.beyond_on(t) for t in (323.9, 324.1, 331.0)] == [True, False, False]
    rises = Stat("AQ", ("T",), 330.0, 6.0, rising=True)
    assert [rises.calls(t) for t in (329.9, 330.0, 333.0, 336.0, 350.0)] == [False] + [True] * 4
    assert [rises.beyond_on(t) for t in (336.1, 335.9, 320.0)] == [True, False, False]


def test_a_thermostat_without_a_point_takes_what_its_room_wants():
    plant = plant_of(
        ("R-1", "room", {"loss": "100 W/K", "wanted": "19 degC"}),
        ("TH-1", "thermostat", {"senses": ["R-1"]}),
        ("TH-2", "thermostat", {"senses": ["R-1", "air"], "set_temperature": "22 degC"}),
        ("TH-3", "thermostat", {"set_temperature": "22 degC"}),
        ("AQ-1", "aquastat", {"senses": ["P-1", "out"]}),
    )
    assert {k: s.set_at - 273.15 for k, s in stats_of(plant).items()} == pytest.approx(
        {"TH-1": 19.0, "TH-2": 22.0}
    )


def test_what_a_signal_reaches_and_what_rests_for_whom():
    plant = plant_of(
        ("TH-1", "thermostat", {}),
        ("TH-2", "thermostat", {}),
        ("OU-1", "outlet", {"switched_by": "TH-1"}),
        ("SW-1", "switch", {}),
        run_when={"not": "SW-1"},
        powered_by="OU-1",
    )
    wiring = Wiring(plant, Signals(plant))
    reached = {key: wiring.reached(key) for key in ("TH-1", "TH-2", "OU-1", "SW-1")}
    assert reached == {"TH-1": ["P-1"], "TH-2": [], "OU-1": ["P-1"], "SW-1": ["P-1"]}
    assert wiring.waits_for(["P-1"], {"OU-1": True, "SW-1": True}) == ("P-1", "SW-1", False)
    assert wiring.never() == []


def test_an_expression_that_never_holds_is_found():
    plant = plant_of(("SW-1", "switch", {}), run_when={"all": ["SW-1", {"not": "SW-1"}]})
    assert Wiring(plant, Signals(plant)).never() == ["P-1"]
