"""Rated points of exchangers and radiators against the fluids that flow there.

A point that breaks the energy balance, or that no UA could reach, is refused: it is a slip of the pen.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from core.errors import Refusal, value_text
from core.plant.model import Item, Plant, PortRef
from core.vocabulary.heat_roles import HeatEmitter, HeatExchanger
from core.vocabulary.values import under

if TYPE_CHECKING:
    from core.media.fluids import Fluid

CONTRADICTION = 0.02  # share of the greater duty by which the two sides of a rated point may differ


def check_rated(plant: Plant, item: Item, path: str) -> None:
    """Refuse a rated point that contradicts itself."""
    if "rated" not in item.props:
        return
    place = under(under(path, "props"), "rated")
    if isinstance(item.kind_info.heat, HeatExchanger):
        _check_exchanger(plant, item, place)
    elif isinstance(item.kind_info.heat, HeatEmitter):
        _check_radiator(plant, item, place)


def fluid_at(plant: Plant, item: str, *ports: str) -> Fluid:
    """The fluid at the first of some ports that has a pipe; water where none has."""
    from core.media.fluids import fluid_of

    for port in ports:
        for pipe in plant.pipes_at.get(PortRef(item, port), ()):
            system = plant.systems.get(plant.pipes[pipe].system)
            if system is not None:
                return fluid_of(system.si.fluid)
    return fluid_of({"kind": "water"})


def _capacity(fluid: Fluid, flow: float, *temperatures: float) -> float:
    """Heat per kelvin that a volume flow carries at the mean of some temperatures, [W/K]."""
    mean = sum(temperatures) / len(temperatures)
    return flow * fluid.density(mean) * fluid.heat_capacity(mean)


def _check_exchanger(plant: Plant, item: Item, path: str) -> None:
    rated, raw = item.si["rated"], item.props["rated"]
    a_in, a_out, b_in = rated["a_in"], rated["a_out"], rated["b_in"]
    if (a_in - a_out) * (a_in - b_in) <= 0.0:
        expected = f"a temperature between a_in {value_text(raw['a_in'])} and b_in {value_text(raw['b_in'])}"
        raise Refusal(under(path, "a_out"), value_text(raw["a_out"]), expected)
    side_a = _capacity(fluid_at(plant, item.id, "a_in", "a_out"), rated["a_flow"], a_in, a_out)
    b_fluid = fluid_at(plant, item.id, "b_in", "b_out")
    duty = side_a * (a_in - a_out)
    side_b = _capacity(b_fluid, rated["b_flow"], b_in, rated.get("b_out", b_in))
    if "b_out" in rated:
        _check_balance(duty, side_b * (rated["b_out"] - b_in), raw, path)
    else:
        side_b = _capacity(b_fluid, rated["b_flow"], b_in, b_in + duty / side_b)
    least, most = min(side_a, side_b), max(side_a, side_b)
    limit = 1.0 if item.si["arrangement"] == "counter" else 1.0 / (1.0 + least / most)
    reached = duty / (least * (a_in - b_in))
    if reached >= limit:
        found = f"an effectiveness of {reached:.3f}"
        hint = "More heat than any surface could pass; look at the flows and a_out"
        raise Refusal(path, found, f"one below {limit:.3f}", hint)


def _check_balance(given: float, taken: float, raw: Any, path: str) -> None:
    apart = abs(given - taken) / max(abs(given), abs(taken))
    if apart > CONTRADICTION:
        sides = f"side a passes {given / 1000:.4g} kW, side b {taken / 1000:.4g} kW"
        found = f"{value_text(raw['b_out'])}: {sides}"
        expected = f"duties at most {CONTRADICTION:.0%} apart, not {apart:.1%}"
        raise Refusal(under(path, "b_out"), found, expected, "Leave b_out away, or correct a flow")


def _check_radiator(plant: Plant, item: Item, path: str) -> None:
    rated, raw = item.si["rated"], item.props["rated"]
    fluid = fluid_at(plant, item.id, "in", "out")
    most = _capacity(fluid, rated["flow"], rated["supply"], rated["room"]) * (rated["supply"] - rated["room"])
    if rated["heat"] >= most:
        expected = f"less than {most:.4g} W, all that this flow carries down to the room"
        raise Refusal(under(path, "heat"), value_text(raw["heat"]), expected)
