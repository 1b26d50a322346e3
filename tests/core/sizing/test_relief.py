"""Relief valves: settings against ratings, capacity against heat, temperature; published figures, samples."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from core.files.read import from_data
from core.plant.model import Plant
from core.sizing.context import Context
from core.sizing.families.relief import allowed_by, allowed_setting, needed_capacity, size, steam_rate
from core.sizing.result import Sized
from tests.reference.cases import expected, given
from tests.support.builders import Board
from tests.support.sizes import SAMPLES, changed, context_of, number, one, recompute, sample, without

PSI, BTU_H, POUND_H = 6894.757293168361, 1055.056 / 3600, 0.45359237 / 3600


def test_steam_of_the_boiler_code() -> None:
    """E13: 100,000 Btu/h are 100 lb/h of steam."""
    got = steam_rate(number("P", given("E13")["Q"] * BTU_H, "power"))
    assert float(got.value) / POUND_H == pytest.approx(expected("E13")["lb_h"], rel=1e-6)


def test_setting_is_at_most_the_rating_less_the_column_above_the_part() -> None:
    """23.1 ft of water are 10 psi: a 30 psi part that far below the valve allows 20 psi."""
    part = allowed_by(
        number("p_r", 30 * PSI),
        number("ρ", 999.0),
        number("z_v", 23.1 * 0.3048),
        number("z_p", 0.0),
        "p_1",
        "part",
    )
    assert float(part.value) / PSI == pytest.approx(20.0, abs=0.05)
    other = replace(part, symbol="p_2", value=25 * PSI, formula="", inputs=())
    assert float(allowed_setting([part, other]).value) == pytest.approx(float(part.value))


def test_capacity_is_all_that_can_come_in() -> None:
    parts = [number("P_1", 64_000 * BTU_H), number("P_2", 64_000 * BTU_H)]
    assert float(needed_capacity(parts, "heat").value) / BTU_H == pytest.approx(128_000)


@pytest.mark.parametrize("name", SAMPLES)
def test_every_sample_is_judged(name: str) -> None:
    found = size(context_of(name))
    assert recompute(found) > 3
    assert {each.at for each in found if each.what == "relief_valve"} == {
        item.id for item in sample(name).items.values() if item.kind == "relief_valve"
    }


@pytest.mark.parametrize("name", SAMPLES[:3])
def test_samples_are_protected(name: str) -> None:
    found = size(context_of(name))
    assert recompute(found) > 3
    for each in found:
        assert each.cautions
        assert not each.missing, each
        if each.what == "relief_valve":
            assert each.words.endswith("protects them."), each.words
        if each.what == "relief_capacity":
            assert each.words.endswith("enough."), each.words


def at(plant: Plant, where: str, what: str) -> Sized:
    return one(size(Context(plant)), where, what)


def test_exchanger_brings_the_heat_of_the_other_side() -> None:
    found = one(size(context_of("two_heater_clinic")), "RV-3", "relief_capacity")
    assert float(found.value or 0) / BTU_H == pytest.approx(3 * 64_000, rel=1e-6)


@pytest.mark.parametrize(
    ("props", "words"),
    [
        ({"set_pressure": "60 psi"}, "set at 60.0 psi: too high"),  # over the boiler's 45 psi
        ({"set_pressure": "13 psi"}, "it will weep"),
        ({"set_pressure": "unknown"}, "the setting is not known"),
    ],
)
def test_wrong_settings_are_told_and_a_usual_one_offered(props: dict[str, Any], words: str) -> None:
    found = at(changed(sample("potting_shed"), {"RV-1": props}), "RV-1", "relief_valve")
    assert words in found.words
    assert found.chosen in ("30 psi", "45 psi")
    cure = next(option for option in found.options if option.name == found.chosen)
    cured = at(changed(sample("potting_shed"), {"RV-1": dict(cure.props or {})}), "RV-1", "relief_valve")
    assert cured.words.endswith("protects them.")


def test_pressure_of_circulator_and_fill_together_make_a_valve_weep() -> None:
    """18 psi and 13 psi of head against 30 psi (published trade example): over nine tenths of the setting."""
    plant = sample("potting_shed")
    floor = replace(plant.systems["floor"], fill_pressure="27 psi")
    found = at(replace(plant, systems={**plant.systems, "floor": floor}), "RV-1", "relief_valve")
    assert "it will weep" in found.words


def test_too_little_capacity() -> None:
    found = at(
        changed(sample("potting_shed"), {"RV-1": {"capacity": "20 kBtu/h"}}), "RV-1", "relief_capacity"
    )
    assert found.words.endswith("too little.")
    assert found.options[0].verdict == "as steam 26 lb/h"


def test_small_inlet_is_for_small_heat_only() -> None:
    """A 1/2 in inlet is allowed up to 15,000 Btu/h (published state rules)."""
    found = at(changed(sample("potting_shed"), {"RV-1": {"inlet_size": "1/2 in"}}), "RV-1", "relief_capacity")
    assert "under 0.75 in" in found.words
    less = {"RV-1": {"inlet_size": "1/2 in"}, "B-1": {"capacity": "14 kBtu/h"}}
    assert "under 0.75 in" not in at(changed(sample("potting_shed"), less), "RV-1", "relief_capacity").words


def test_what_is_missing_is_said_and_the_rest_judged() -> None:
    found = at(without(sample("potting_shed"), "RV-1"), "B-1", "relief_capacity")
    assert found.missing == ("floor: no relief valve is drawn in this body",)
    assert found.value is not None
    unrated = changed(sample("potting_shed"), {"B-1": {"max_pressure": "unknown"}})
    found = at(unrated, "RV-1", "relief_valve")
    assert "B-1: props.max_pressure is unknown, so it is not weighed" in found.missing
    assert found.value is not None  # by the expansion tank's rating
    nothing = changed(sample("potting_shed"), {"B-1": {"max_pressure": None}, "ET-1": {"max_pressure": None}})
    found = at(nothing, "RV-1", "relief_valve")
    assert found.value is None
    assert any("cannot be judged" in text for text in found.missing)


def test_stored_hot_water_wants_temperature_relief() -> None:
    plant = replace(sample("two_heater_clinic"), cases=sample("two_heater_clinic").cases[4:])
    assert "RV-1 opens in time" in at(plant, "T-1", "temperature_relief").words
    late = changed(plant, {"RV-1": {"set_temperature": "240 degF"}})
    assert "opens at 240 °F only" in at(late, "T-1", "temperature_relief").words
    aside = changed(plant, {"RV-1": {"senses_tank_top": False}})
    assert "not in the top of the tank" in at(aside, "T-1", "temperature_relief").words
    none = at(changed(plant, {"RV-1": {"set_temperature": None}}), "T-1", "temperature_relief")
    assert "no relief valve in it has props.set_temperature" in none.missing[0]


def test_sixty_to_a_hundred_psi_protected_a_boiler_of_unknown_rating() -> None:
    """Low-pressure heating starts from the usual 30 psi, whatever its expansion tank is rated for."""
    unrated = {"B-1": {"max_pressure": None}, "ET-1": {"max_pressure": "100 psi"}}
    for setting, fails in (("30 psi", False), ("60 psi", True), ("100 psi", True)):
        found = at(
            changed(sample("potting_shed"), {**unrated, "RV-1": {"set_pressure": setting}}),
            "RV-1",
            "relief_valve",
        )
        assert "protects them" not in found.words
        assert "Rating unknown: B-1." in found.words
        assert found.fails is fails
        assert found.chosen == ("30 psi" if fails else "")
        serving = [option.name for option in found.options if option.serves]
        assert "30 psi" in serving
        assert not {"45 psi", "60 psi", "75 psi", "100 psi"} & set(serving)


def test_a_known_rating_is_no_reason_to_propose_the_highest_setting() -> None:
    plant = changed(
        sample("potting_shed"),
        {
            "B-1": {"max_pressure": "160 psi"},
            "ET-1": {"max_pressure": "100 psi"},
            "RV-1": {"set_pressure": "150 psi"},
        },
    )
    found = at(plant, "RV-1", "relief_valve")
    assert found.fails
    assert found.chosen == "30 psi"


def test_too_little_relief_fails() -> None:
    for props, fails in (({"capacity": "20 kBtu/h"}, True), ({}, False)):
        plant = changed(sample("potting_shed"), {"RV-1": props})
        assert at(plant, "RV-1", "relief_capacity").fails is fails


@pytest.mark.parametrize("turned", [False, True])
def test_a_body_without_a_valve_is_told_at_what_heats_it_in_every_order_of_the_file(turned: bool) -> None:
    board = Board()
    board.item("A-1", "joint")
    board.drive("P-1", "S-1")
    board.item("B-1", "boiler", capacity="20 kW", set_temperature="60 degC")
    board.item("HX-1", "exchanger", ua="900 W/K")
    board.ring("P-1", "S-1", "B-1", "HX-1:a_in>a_out")
    board.body("ring")
    board.drive("P-2", "S-2")
    board.item("LD-1", "load", load="5 kW")
    board.ring("A-1", "P-2", "S-2", "HX-1:b_in>b_out", "LD-1")
    data = board.data()
    items = data["items"][:: -1 if turned else 1]
    found = size(Context(from_data({**data, "items": items})))
    assert {sized.at for sized in found} == {"B-1", "HX-1"}
