"""The check of the laws, apart from the solver: a right answer is not accused, a spoiled one is caught."""

from __future__ import annotations

import copy
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from core.files.read import from_data, load
from core.solve import Solver
from core.solve.laws import broken_laws
from core.solve.mixing_controls import MixingValve
from core.solve.pump_controls import DeltaT
from core.solve.settle import Settled
from core.thermal.roles import Coil, Giving, Losing, Source
from tests.plants.edits import file_of
from tests.support.builders import Board

ROOT = Path(__file__).parents[3]


@cache
def settled(name: str = "two_heater_clinic", case: int = 0) -> Settled:
    plant = load(file_of(name))
    return Solver(plant).settle(plant.solve_cases[case])


def spoiled(change: Callable[[Settled], None], name: str = "two_heater_clinic", case: int = 0) -> set[str]:
    s = copy.copy(settled(name, case))
    s.balance, s.thermal = copy.deepcopy(s.balance), s.thermal.copy()
    change(s)
    return {broken.law for broken in broken_laws(s)}


def element(s: Settled, kind: type) -> int:
    """The element with a role of a kind that carries most."""
    found = [i for i, role in s.roles.of.items() if type(role) is kind]
    return max(found, key=lambda i: abs(s.balance.w[i]))


@pytest.mark.parametrize(
    "name", ["two_heater_clinic", "kennel_clinic", "potting_shed", "bakery_loft", "orchard_packhouse"]
)
def test_samples_keep_the_laws(name: str) -> None:
    assert settled(name).converged
    assert broken_laws(settled(name)) == ()


def warmer(s: Settled, i: int, by: float) -> None:
    s.thermal.t_out[i] += by


CHANGES: dict[str, tuple[str, Callable[[Settled], None]]] = {
    "a source leaves above its set point": ("set point", lambda s: warmer(s, element(s, Source), 0.2)),
    "a source leaves below its set point": ("set point", lambda s: warmer(s, element(s, Source), -0.2)),
    "an emitter gives more than its law": ("emitter", lambda s: warmer(s, element(s, Giving), -0.3)),
    "a pipe loses nothing": ("pipe loss", lambda s: warmer(s, element(s, Losing), 0.2)),
    "a pipe warms its water": ("mixing", lambda s: warmer(s, element(s, Losing), 0.5)),
}


@pytest.mark.parametrize("what", CHANGES)
def test_a_spoiled_temperature_is_caught(what: str) -> None:
    law, change = CHANGES[what]
    assert law in spoiled(change)


def test_a_plain_pipe_that_warms_is_caught() -> None:
    def change(s: Settled) -> None:
        plain = [e.index for e in s.net.elements if e.index not in s.roles.of and s.balance.w[e.index] > 1e-3]
        s.thermal.t_out[plain[0]] += 0.2

    assert "energy" in spoiled(change)


def test_an_exchanger_whose_sides_differ_is_caught() -> None:
    def change(s: Settled) -> None:
        plates = next(iter(s.roles.exchangers.values()))
        s.thermal.t_out[plates.b.index] += 0.5

    assert "exchanger" in spoiled(change)


def test_a_coil_that_gives_too_much_is_caught() -> None:
    assert "coil" in spoiled(lambda s: warmer(s, element(s, Coil), -0.5), "bakery_loft", 2)


def test_more_flow_than_the_pressures_drive_is_caught() -> None:
    def change(s: Settled) -> None:
        s.balance.w *= 1.02

    assert "pressure" in spoiled(change)


def test_flow_that_comes_from_nowhere_is_caught() -> None:
    def change(s: Settled) -> None:
        s.balance.w[element(s, Source)] *= 1.001

    assert "mass" in spoiled(change)


def test_flow_through_a_shut_way_and_against_a_check_is_caught() -> None:
    def shut(s: Settled) -> None:
        s.settings = copy.copy(s.settings)
        s.settings.closed = s.settings.closed.copy()
        s.settings.closed[element(s, Source)] = True

    assert "shut" in spoiled(shut)

    def back(s: Settled) -> None:
        one_way = next(e for e in s.net.elements if e.one_way and s.balance.w[e.index] > 1e-3)
        s.balance.w[one_way.index] *= -1.0

    assert "one way" in spoiled(back)


def test_a_source_over_its_capacity_is_caught() -> None:
    def change(s: Settled) -> None:
        i = element(s, Source)
        role = s.roles.of[i]
        assert isinstance(role, Source)
        heat = abs(s.balance.w[i]) * 4180.0 * (s.thermal.t_out[i] - s.thermal.t_in[i])
        s.setup = copy.copy(s.setup)
        s.setup.roles = copy.copy(s.roles)
        s.setup.roles.of = {**s.roles.of, i: copy.copy(role)}
        s.setup.roles.of[i].stated = 0.98 * heat

    assert "capacity" in spoiled(change)


def test_a_valve_off_its_set_point_and_a_speed_beyond_its_limits_are_caught() -> None:
    def change(s: Settled) -> None:
        s.setup = copy.copy(s.setup)
        s.setup.devices = [copy.copy(d) for d in s.devices]
        for d in s.setup.devices:
            if isinstance(d, MixingValve):
                d.set_at += 0.1
            elif isinstance(d, DeltaT):
                d.value = d.high + 0.1

    assert {"mixed temperature", "speed"} <= spoiled(change)


def cut() -> Settled:
    board = Board()
    board.item("B-1", "boiler", capacity="6 kW", set_temperature="60 degC")
    board.drive()
    board.item("LD-1", "load", load="10 kW")
    board.ring("P-1", "S-1", "B-1", "LD-1")
    plant = from_data(board.case("c").data())
    return Solver(plant).settle(plant.solve_cases[0])


def test_a_load_that_takes_another_share_than_its_group_is_caught() -> None:
    s = cut()
    assert s.converged
    i = element(s, Giving)
    s.thermal.given_share[i] += 0.01
    assert {broken.law for broken in broken_laws(s)} == {"cut"}


def test_a_room_that_gets_more_than_it_loses_is_caught() -> None:
    def change(s: Settled) -> None:
        key = next(iter(s.thermal.room))
        s.thermal.room[key] -= 1.0

    assert "room" in spoiled(change, "orchard_packhouse")
