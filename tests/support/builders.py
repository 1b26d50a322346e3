"""Plants for tests in a few lines, written as the plant file writes them and read by the same reader.

A `Board` collects items and pipes; `chain` and `ring` join items in flow order with tubes that lose nothing.
The water here is a custom fluid of constant properties, so that an answer can be worked out by hand.
"""

from __future__ import annotations

import itertools
import math
import re
from typing import Any

RHO = 1000.0  # [kg/m3]
MU = 1.0e-3  # [Pa s]
CP = 4000.0  # [J/kg/K]
G = 9.80665  # [m/s2]
PSI = 6894.757293168361  # [Pa]
GPM = 231 * 0.0254**3 / 60  # [m3/s]
FT = 0.3048  # [m]
BTU_H = 1055.056 / 3600  # [W]
IN_LINE = {"exchanger": ("a_in", "a_out"), "separator": ("a_in", "b_out"), "buffer": ("a_in", "b_out")}
TWO_WAY = ("shutoff", "service_valve", "balance_valve", "zone_valve", "purge_set")
ONE_PORT = {"joint", "cold_main", "expansion_tank", "relief_valve", "drain", "air_vent", "gauge"} | {
    "thermometer",
    "plug",
    "vacuum_breaker",
}


def constant_fluid(
    density: float = RHO, viscosity: float = MU, heat_capacity: float = CP, **more: str
) -> dict[str, Any]:
    """A custom fluid; without `expansion` its density does not change."""
    return {
        "kind": "custom",
        "density": f"{density!r} kg/m3",
        "viscosity": f"{viscosity!r} Pa*s",
        "heat_capacity": f"{heat_capacity!r} J/kg/K",
        "conductivity": "0.6 W/m/K",
        **more,
    }


def area(bore: float) -> float:
    return math.pi * bore**2 / 4


def k_for(resistance: float, bore: float = 0.05, rho: float = RHO) -> float:
    """Loss figure K of a pipe of `bore` whose drop is `resistance` [Pa s2/m6] times the flow squared."""
    return resistance * 2 * area(bore) ** 2 / rho


def celsius(kelvin: float) -> float:
    return kelvin - 273.15


def c(value: float) -> str:
    return f"{value!r} degC"


def f(value: float) -> str:
    return f"{value!r} degF"


def w(value: float) -> str:
    return f"{value!r} W"


def pa(value: float) -> str:
    return f"{value!r} Pa"


def flow(value: float) -> str:
    return f"{value!r} m3/s"


def m(value: float) -> str:
    return f"{value!r} m"


class Board:
    """A plant file in the making. `system` names the body that items joined from now on belong to."""

    def __init__(self, fluid: dict[str, Any] | None = None, use: str = "closed", **site: str) -> None:
        self.system = "loop"
        self.systems: dict[str, dict[str, Any]] = {}
        self.items: dict[str, dict[str, Any]] = {}
        self.pipes: list[dict[str, Any]] = []
        self.cases: list[dict[str, Any]] = []
        self.site = {"outdoor_design": "-10 degC", "cold_water": "10 degC", "indoor": "20 degC", **site}
        self.body("loop", fluid, use)

    def body(self, name: str, fluid: dict[str, Any] | None = None, use: str = "closed", **more: str) -> Board:
        """Start (or change) a system; the pipes that follow belong to it."""
        self.systems[name] = {"use": use, "fluid": fluid or constant_fluid(), **more}
        self.system = name
        return self

    def item(self, ident: str, kind: str, /, **props: Any) -> str:
        number = len(self.items)
        self.items[ident] = {
            "id": ident,
            "kind": kind,
            "at": [100 * (number % 12), 100 * (number // 12)],
            "props": props,
        }
        return ident

    def pipe(self, start: str, end: str, ident: str = "", /, **keys: Any) -> str:
        """A pipe from "item:port" to "item:port"; length 0 and bore 50 mm unless said."""
        ident = ident or f"L-{len(self.pipes) + 1}"
        bore = keys.pop("bore", 0.05)
        tube: dict[str, str] = {"bore": m(bore), "roughness": keys.pop("roughness", "0 mm")}
        if "outside" in keys:
            tube["outside"] = keys.pop("outside")
        length = keys.pop("length", "0 m")
        line = {"id": ident, "from": start.split(":"), "to": end.split(":"), "system": self.system}
        if keys.get("joined") != "flanged":
            line |= {"tube": tube, "length": length if isinstance(length, str) else m(length)}
        self.pipes.append({**line, **keys})
        return ident

    def ends(self, stop: str) -> tuple[str, str]:
        """Ports where a chain enters and leaves a stop: "B-1", or "HX-1:b_in>b_out"."""
        ident, _, ports = stop.partition(":")
        if ports:
            entry, _, exit_ = ports.partition(">")
            return f"{ident}:{entry}", f"{ident}:{exit_ or entry}"
        kind = self.items[ident]["kind"]
        pair = IN_LINE.get(kind, ("a", "b") if kind in TWO_WAY else ("in", "out"))
        if kind in ONE_PORT:
            pair = ("at", "at")
        return f"{ident}:{pair[0]}", f"{ident}:{pair[1]}"

    def chain(self, *stops: str, **keys: Any) -> list[str]:
        """Join the stops in order; every pipe gets `keys`. Returns the pipes' ids."""
        return [self.pipe(self.ends(a)[1], self.ends(b)[0], **keys) for a, b in itertools.pairwise(stops)]

    def ring(self, *stops: str, **keys: Any) -> list[str]:
        return self.chain(*stops, stops[0], **keys)

    def case(self, name: str = "case", **keys: Any) -> Board:
        self.cases.append({"name": name, **keys})
        return self

    def pump(self, ident: str, head: float, run_out: float, **props: Any) -> str:
        """A circulator whose curve is straight from `head` [Pa] at rest to nothing at `run_out` [m3/s]."""
        return self.item(ident, "circulator", curve=[["0 m3/s", pa(head)], [flow(run_out), "0 Pa"]], **props)

    def resistance(self, ident: str, at_flow: float, drop: float) -> str:
        """An in-line piece that loses `drop` [Pa] at `at_flow` [m3/s], as the square of the flow."""
        return self.item(ident, "strainer", drops=[[flow(at_flow), pa(drop)]])

    def drive(self, pump: str = "P-1", piece: str = "S-1") -> tuple[str, str]:
        """Pump and resistance that make exactly 0.5 L/s go round, at 30 kPa."""
        return self.pump(pump, 60e3, 1e-3), self.resistance(piece, 0.5e-3, 30e3)

    def data(self) -> dict[str, Any]:
        return {
            "format": "wetside-plant",
            "version": 2,
            "title": "Test plant",
            "units": "si",
            "site": self.site,
            "systems": self.systems,
            "items": list(self.items.values()),
            "pipes": self.pipes,
            "cases": self.cases,
        }

    def solve(self, case: str | None = None) -> Solved:
        return solve_data(self.data(), case)


class Solved:
    """A solution with short ways to ask; figures in SI as `wetside solve --json` gives them."""

    def __init__(self, solution: Any) -> None:
        self.raw = solution
        self.pipes: dict[str, dict[str, Any]] = {k: f.as_data() for k, f in solution.pipes.items()}
        self.items: dict[str, dict[str, Any]] = {k: f.as_data() for k, f in solution.items.items()}
        self.converged: bool = solution.converged
        self.notes: list[tuple[str, str]] = [(note.at, note.text) for note in solution.notes]

    def flow(self, pipe: str) -> float:
        return float(self.pipes[pipe]["flow_m3_s"])

    def warm(self, pipe: str) -> float:
        """Temperature at the pipe's start [degC]."""
        return float(self.pipes[pipe]["temperature_in_c"])

    def warm_end(self, pipe: str) -> float:
        return float(self.pipes[pipe]["temperature_out_c"])

    def pressure(self, pipe: str) -> float:
        return float(self.pipes[pipe]["pressure_in_pa"])

    def noted(self, at: str, words: str = "") -> bool:
        """Whether a note stands at that id and says one of the words (a regular expression)."""
        return any(place == at and re.search(words, text, re.I) for place, text in self.notes)


def solve_data(data: dict[str, Any], case: str | None = None) -> Solved:
    """Read a plant as data and solve its first case, or the one named."""
    from core.files.read import from_data
    from core.solve import solve_case

    plant = from_data(data)
    cases = plant.solve_cases
    wanted = cases[0] if case is None else next(one for one in cases if one.name == case)
    return Solved(solve_case(plant, wanted))
