"""The tree of a number: what it shows, what it was made from, and that its formula gives its value."""

from __future__ import annotations

import math

import pytest

from core.working import Working, derived, evaluate, given, lines, typed


def flow() -> Working:
    return Working(
        "Q",
        "design flow",
        4000.0 / (988.0 * 4180.0 * 10.0),
        "flow",
        "P / (ρ * c * ΔT)",
        (
            typed("P", "load", 4000.0, "power", "items.FC-1.props.load", "4 kW"),
            given("ρ", "density", 988.0, "density", "table"),
            given("c", "heat capacity", 4180.0, "heat_capacity", "table"),
            given("ΔT", "difference", 10.0, "temperature_difference", "practice"),
        ),
        source="heat balance",
    )


def test_a_formula_recomputed_from_its_inputs_gives_the_value() -> None:
    assert evaluate(flow()) == pytest.approx(flow().value, rel=1e-12)
    root = Working("y", "a root", 0.0, formula="sqrt(x^2 + 1) - ln(π)", inputs=(given("x", "x", 3.0),))
    assert evaluate(root) == pytest.approx(math.sqrt(10.0) - math.log(math.pi), rel=1e-12)


def test_a_formula_that_uses_what_it_was_not_given_is_refused() -> None:
    with pytest.raises(ValueError, match="z is not given"):
        evaluate(Working("y", "y", 1.0, formula="x * z", inputs=(given("x", "x", 1.0),)))
    with pytest.raises(ValueError, match="not a formula"):
        evaluate(Working("y", "y", 1.0, formula="x.real", inputs=(given("x", "x", 1.0),)))


def test_shown_lines_carry_formula_values_and_what_was_typed() -> None:
    shown = [text for _, text in lines(flow(), "si")]
    assert shown[1] == "Q = P / (ρ · c · ΔT)"
    assert "4.00 kW" in shown[2]
    assert "988" in shown[2]
    assert any("typed 4 kW" in text for text in shown)
    assert any("common practice, no source" in text for text in shown)


def test_leaves_are_what_it_all_rests_on() -> None:
    assert [leaf.symbol for leaf in flow().leaves()] == ["P", "ρ", "c", "ΔT"]
    assert flow().as_data()["inputs"][0]["path"] == "items.FC-1.props.load"


def test_small_numbers_keep_their_digits_and_powers_their_brackets() -> None:
    bore = given("d", "bore", 0.0138, "length")
    area = Working("A", "area", 1.496e-4, "area", "π * d^2 / 4", (bore,))
    assert area.put_in("us") == "π · (0.5433 in)^2 / 4"
    assert area.put_in("si") == "π · (13.8 mm)^2 / 4"
    assert given("V", "volume", 0.0001, "volume").shown("us") == "0.0264 gal"
    assert given("ρ", "density", 990.213, "density").shown("si") == "990.21 kg/m³"
    assert given("Q", "flow", 0.0, "flow").shown("us") == "0.0 gpm"


def test_a_derived_number_is_what_its_formula_gives() -> None:
    found = derived("A", "area", "area", "π * d^2 / 4", given("d", "bore", 0.02, "length"), source="geometry")
    assert found.value == pytest.approx(math.pi * 1e-4)
    assert found.source == "geometry"
    with pytest.raises(ValueError, match="r is not given"):
        derived("A", "area", "area", "π * r^2", given("d", "bore", 0.02, "length"))
