"""Rated points of exchangers and radiators against the fluids that flow there.

A point that breaks the energy balance, or that no UA could reach, is refused: it is a slip of the pen.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations
from typing import TYPE_CHECKING, Any

from core import units
from core.errors import Refusal, value_text
from core.plant.model import Item, Plant, PortRef
from core.plant.rated_point import rated_point
from core.vocabulary.heat_roles import HeatEmitter, HeatExchanger
from core.vocabulary.values import under

if TYPE_CHECKING:
    from core.media.fluids import Fluid

CONTRADICTION = 0.02  # share of the greater duty by which what a rated point says may differ


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
    fluids = [fluid_at(plant, item.id, f"{side}_in", f"{side}_out") for side in "ab"]
    point = rated_point(rated, fluids)
    _check_between(rated, raw, path)
    told = [
        (f"side {side} passes", duty)
        for side, duty in (("a", point.a_duty), ("b", point.b_duty))
        if duty is not None
    ]
    if point.stated is not None:
        told.append(("the duty is", point.stated))
    for first, second in combinations(told, 2):
        _check_balance(first, second, raw, path)
    least, most = sorted((point.a_rate, point.b_rate))
    limit = 1.0 if item.si["arrangement"] == "counter" else 1.0 / (1.0 + least / most)
    reached = point.duty / (least * (point.a_in - point.b_in))
    if reached >= limit:
        found = f"an effectiveness of {reached:.3f}"
        hint = "More heat than any surface could pass; look at the flows and temperatures"
        raise Refusal(path, found, f"one below {limit:.3f}", hint)


def _check_between(rated: Mapping[str, float], raw: Any, path: str) -> None:
    """Each side leaves somewhere between the two inlets."""
    if rated["a_in"] == rated["b_in"]:
        raise Refusal(under(path, "b_in"), value_text(raw["b_in"]), "another temperature than at a_in")
    for side, other in ("ab", "ba"):
        t_in, t_out, t_far = rated[f"{side}_in"], rated.get(f"{side}_out"), rated[f"{other}_in"]
        if t_out is not None and not min(t_in, t_far) < t_out < max(t_in, t_far):
            ends = " and ".join(f"{key} {value_text(raw[key])}" for key in (f"{side}_in", f"{other}_in"))
            raise Refusal(
                under(path, f"{side}_out"), value_text(raw[f"{side}_out"]), f"a temperature between {ends}"
            )


def _check_balance(first: tuple[str, float], second: tuple[str, float], raw: Any, path: str) -> None:
    """Refuse two duties of one point, each with who says so [W], that contradict one another."""
    apart = abs(first[1] - second[1]) / max(abs(first[1]), abs(second[1]))
    if apart > CONTRADICTION:
        key = "duty" if second[0] == "the duty is" else "b_out"
        sides = ", ".join(f"{who} {abs(duty) / 1000:.4g} kW" for who, duty in (first, second))
        expected = f"duties at most {CONTRADICTION:.0%} apart, not {apart:.1%}"
        found = f"{value_text(raw[key])}: {sides}"
        raise Refusal(under(path, key), found, expected, f"Leave {key} away, or correct a flow")


def _check_radiator(plant: Plant, item: Item, path: str) -> None:
    rated, raw = item.si["rated"], item.props["rated"]
    fluid = fluid_at(plant, item.id, "in", "out")
    most = _capacity(fluid, rated["flow"], rated["supply"], rated["room"]) * (rated["supply"] - rated["room"])
    if rated["heat"] >= most:
        system = "us" if plant.units == "us" else "si"
        expected = (
            f"less than {units.show(most, 'power', system)}, all that this flow carries down to the room"
        )
        raise Refusal(under(path, "heat"), value_text(raw["heat"]), expected)
