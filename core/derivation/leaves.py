"""Ends of the trees: what was typed, what a table says, what the solver found, each with its place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from core.figures import Role, Value
from core.media.fluids import Fluid, fluid_of
from core.plant.model import Case, Plant, PortRef
from core.solve import Solution
from core.thermal.heat import ZERO, heat_table
from core.thermal.room_loss import site_leaf
from core.vocabulary import KINDS
from core.working import Display, Working, given, show_value, typed

BALANCED = "found by the solver: heads add to zero round every loop, and what enters a joint leaves it"
WARMED = "found by the solver: heat that enters each point leaves it"
WATER = {"kind": "water"}

_DIMENSIONS = {
    "_m3_s": "flow",
    "_m_s": "velocity",
    "_pa": "pressure",
    "_c": "temperature",
    "_w": "power",
    "_m": "head",
}


def dimension_of(key: str) -> str:
    """Dimension of a solved figure by its key; empty for a pure number."""
    return next((words for end, words in _DIMENSIONS.items() if key.endswith(end)), "")


def name_of(key: str) -> str:
    """What a figure is called: its key without the unit."""
    ending = next((end for end in _DIMENSIONS if key.endswith(end)), "")
    return key.removesuffix(ending).replace("_", " ")


def in_si(key: str, value: Any) -> Any:
    """A solved figure in base SI: temperatures stand in °C in the solution."""
    if isinstance(value, (bool, str)) or value is None:
        return value
    return float(value) + (ZERO if key.endswith("_c") else 0.0)


@dataclass(frozen=True)
class View:
    """A plant and one solved case, as the derivations read them."""

    plant: Plant
    solution: Solution

    @property
    def display(self) -> Display:
        return "si" if self.plant.units == "si" else "us"

    def value(self, name: str, key: str) -> Value | None:
        """A solved figure of an item or pipe by its key; None where there is none."""
        return self.solution.value(name, key)

    def role(self, name: str, role: type[Role]) -> Role:
        """Figures of an item that has that role."""
        return self.solution.role(name, role)

    def solved(self, symbol: str, words: str, name: str, key: str, how: str = "") -> Working:
        """A solved figure as a leaf."""
        value = in_si(key, self.value(name, key))
        found = how or (WARMED if key.endswith("_c") else BALANCED)
        return Working(symbol, words, value, dimension_of(key), how=found, origin="solved")

    def prop(self, symbol: str, words: str, item: str, name: str, dimension: str = "") -> Working | None:
        """A typed property or its default; None where there is neither."""
        found = self.plant.items[item]
        value = found.si.get(name)
        if value is None or not isinstance(value, (float, int, str, bool)):
            return None
        dimension = dimension or KINDS[found.kind].properties[name].dimension or ""
        if name not in found.props:
            return given(symbol, words, value, dimension, "default", f"default of {name}")
        return typed(symbol, words, value, dimension, f"items.{item}.props.{name}", str(found.props[name]))

    def fluid_at(self, name: str, *ports: str) -> Fluid:
        """Fluid of a pipe, or of what is piped to an item (at these ports, if any are named)."""
        pipe = self.plant.pipes.get(name)
        if pipe is None:
            for port in ports or self.plant.items[name].ports:
                for key in self.plant.pipes_at.get(PortRef(name, port), ()):
                    pipe = self.plant.pipes[key]
                    break
                if pipe is not None:
                    break
        system = self.plant.systems.get(pipe.system) if pipe is not None else None
        return fluid_of(system.si.fluid if system is not None else WATER)

    def port_temperature(self, item: str, port: str, symbol: str, words: str) -> Working | None:
        """Temperature of the water at a port, from a pipe on it."""
        for key in self.plant.pipes_at.get(PortRef(item, port), ()):
            end = "in" if self.plant.pipes[key].start == PortRef(item, port) else "out"
            if key in self.solution.pipes:
                return self.solved(symbol, words, key, f"temperature_{end}_c")
        return None

    def inlet_and_outlet(self, item: str, flow: float, first: str, last: str) -> tuple[Working, ...] | None:
        """Temperatures where the water enters and leaves an item; None where a side is not piped."""
        if flow < 0.0:
            first, last = last, first
        warm = self.port_temperature(item, first, "T_1", f"water entering {item} at {first}")
        cold = self.port_temperature(item, last, "T_2", f"water leaving {item} at {last}")
        return None if warm is None or cold is None else (warm, cold)


def outdoor_of(plant: Plant, case: Case | None, symbol: str = "T_o") -> Working:
    """Outdoor temperature of a case, else that of the site, as a leaf, [K]."""
    if case is None or case.si.outdoor is None:
        return site_leaf(plant, symbol, "outdoor design temperature", "outdoor_design")
    words, path = f"outdoor temperature in {case.name}", f"cases.{case.name}.outdoor"
    return typed(symbol, words, case.si.outdoor, "temperature", path, str(case.outdoor))


def mean(symbol: str, words: str, first: Working, second: Working) -> Working:
    """Mean of two temperatures."""
    value = 0.5 * (float(first.value) + float(second.value))
    a, b = first.symbol, second.symbol
    return Working(symbol, words, value, "temperature", f"({a} + {b}) / 2", (first, second))


def fluid_property(fluid: Fluid, what: str, at: Working, display: Display, symbol: str = "") -> Working:
    """Density, viscosity or heat capacity of a fluid at a temperature, from its table."""
    kelvin = float(at.value)
    value = float(getattr(fluid, what)(kelvin))
    low, high = (show_value(t, "temperature", display) for t in (fluid.low, fluid.high))
    return Working(
        symbol or {"density": "ρ", "viscosity": "μ", "heat_capacity": "c"}[what],
        f"{what.replace('_', ' ')} of {fluid.name}",
        value,
        what,
        inputs=(at,),
        how=f"table of {fluid.name} at {at.shown(display)}",
        source=fluid.source,
        holds=f"{low} to {high}",
        within=fluid.low <= kelvin <= fluid.high,
        origin="table",
    )


def mean_capacity(fluid: Fluid, first: Working, second: Working) -> Working:
    """Mean heat capacity between two temperatures."""
    value = heat_table(fluid).mean_capacity(float(first.value), float(second.value))
    return Working(
        "c",
        f"heat capacity of {fluid.name}, mean of the two temperatures",
        value,
        "heat_capacity",
        inputs=(first, second),
        how="area under the table of heat capacity over the difference of temperature",
        source=fluid.source,
        origin="table",
    )
