"""The first plant: whatever is chosen in its steps is a plant that solves, with nothing to stop for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from core.errors import Refusal
from core.first_plant import STEPS, Answers, Step, answer, make
from core.plant.changes import apply
from core.plant.model import Case, Plant, System
from core.review import Severity, review
from core.solve import solve_case
from core.vocabulary import Trait
from tests.support.builders import Solved

EMPTY = Plant(
    title="First",
    systems={"heating": System("heating", "closed"), "potable": System("potable", "potable")},
)


def answers(step: Step, plant: Plant, typed: Mapping[str, str], rooms: int) -> Answers:
    """First guesses, and what is typed instead."""

    def first(key: str, begin: str, choices: tuple[tuple[str, str], ...]) -> str:
        return typed.get(key) or (choices[0][0] if choices else begin)

    texts = {w.key: answer(w, first(w.key, w.begin(plant), w.choices), plant) for w in step.wishes}
    rows = [
        {w.key: answer(w, first(f"{w.key}{n}", w.begin(plant), w.choices), plant) for w in step.row}
        for n in range(rooms if step.row else 0)
    ]
    return Answers(texts, rows)


def built(typed: Mapping[str, str], rooms: int = 2, units: str = "us", out: tuple[str, ...] = ()) -> Plant:
    plant = replace(EMPTY, units=units)
    for step in STEPS:
        if step.make is not None and step.key not in out:
            assert not step.made(plant), step.key
            plant = apply(plant, make(step, plant, answers(step, plant, typed, rooms)))
            assert step.made(plant), step.key
    return plant


@pytest.mark.parametrize(
    ("typed", "rooms", "units", "out"),
    [
        ({}, 2, "us", ()),
        ({"by": "heater", "supply": "105", "pressure": "95"}, 1, "us", ()),
        ({"how": "zones"}, 3, "us", ("drinking",)),
        ({"kind": "heat_pump", "by": "heater", "supply": "50", "by1": "radiator"}, 2, "si", ()),
    ],
)
def test_every_choice_makes_a_plant_that_solves(
    typed: Mapping[str, str], rooms: int, units: str, out: tuple[str, ...]
) -> None:
    plant = built(typed, rooms, units, out)
    solutions = {case.name: solve_case(plant, case) for case in plant.cases}
    assert solutions["Design night"].converged
    assert all(one.converged for one in solutions.values())
    night = solutions["Design night"]
    for circuit in plant.with_trait(Trait.HEATS_ROOM):
        assert night.items[circuit.id].flow_m3_s > 1e-5
    found = review(plant, list(solutions.values()))
    assert [one.text for one in found if one.severity is Severity.STOP] == []
    assert ("reducer" in " ".join(item.kind for item in plant.items.values())) == ("pressure" in typed)


def test_a_floor_stands_behind_its_shut_valve_while_a_great_draw_takes_all_the_heat() -> None:
    """Shut, its water would cool; open by a hair, it is too warm and loses no heat: it is at the target."""
    plant = built({})
    typed = {floor.id: {"load": "9 kBtu/h"} for floor in plant.with_trait(Trait.IN_FLOOR)}
    signals = {"TH-1": False, "TH-2": True, "AQ-1": True}
    got = Solved(solve_case(plant, Case("draw", signals=signals, draws={"F-1": "20 gpm"}, set=typed)))
    assert got.converged
    assert got.items["TV-1"]["a_share"] == 0.0
    assert got.items["TV-1"]["temperature_c"] == pytest.approx((105 - 32) / 1.8, abs=0.01)
    assert got.items["FC-2"]["delivered_w"] == 0.0
    assert got.noted("R-2", "short by 9.0 kBtu/h: what heats its water is at its capacity")


def test_heat_lost_is_the_number_typed() -> None:
    plant = built({"loss0": "7,300", "loss1": "7.3"}, 1, out=("drinking",))
    (room,) = plant.with_trait(Trait.ROOM)
    loss, inside, outside = room.si["loss"], 68.0, 10.0
    assert loss * (inside - outside) / 1.8 == pytest.approx(7300 * 0.29307107, rel=1e-3)


@pytest.mark.parametrize(
    ("key", "typed", "said"),
    [
        ("source", {"outdoor": "70 °F"}, "colder than the rooms"),
        ("source", {"kind": "heat_pump"}, "at most 150 °F"),
        ("rooms", {"water": "160"}, "into a floor"),
        ("drinking", {"taps": "150"}, "at most the 140 degF"),
        ("drinking", {}, "one to heat the coil"),
        ("pipes", {}, "no pipe leads to"),
        ("pumps", {}, "Take the pipes' step first"),
        ("safety", {}, "a source or tank with pipes"),
    ],
)
def test_a_step_refuses_what_cannot_be_and_says_what_would(
    key: str, typed: Mapping[str, str], said: str
) -> None:
    step = next(one for one in STEPS if one.key == key)
    with pytest.raises(Refusal, match=said):
        make(step, EMPTY, answers(step, EMPTY, typed, 1))


def test_a_relief_valve_under_the_source_is_refused() -> None:
    plant = built({}, 1, out=("drinking", "safety", "sizes"))
    step = next(one for one in STEPS if one.key == "safety")
    with pytest.raises(Refusal, match="at least the source's full output"):
        make(step, plant, answers(step, plant, {"relief_rating": "50 kBtu/h"}, 1))
