"""A whole case by other means than the solver's: controls by bracketing, heat by `heat_states`.

The flows are those that the project's hydraulics gives for a copy of the plant in which nothing heats, each
mixing valve is a hand valve at a position and each delta-T circulator turns at a fixed speed (with constant
fluids heat does not change flows). Each control is then moved until what it holds stands at its wish; two
controls: one within the other.

Reading chosen: "holds set_temperature where it can" for a mixing valve is the position where the mixed water
stands at it; a valve that is too warm all cold stands at 0, too cold all hot at 1.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

from scipy.optimize import brentq

from core.errors import WetsideError
from tests.support.balance import si
from tests.support.builders import CP, Solved, solve_data
from tests.support.heat_states import SOURCES, Answer, Heat, NotCovered, celsius, linked_choices

PORTS = {"hot": "a", "cold": "b", "mixed": "ab"}
MOST_LOOKS = 100_000  # at the pieces of a case, some half a minute; beyond it a case is not covered
UNSURE = 1e-3  # a valve's share below which its legs count as shut
BETWEEN = (0.6, 0.3, 0.1)  # positions looked at where a valve fails all hot


def at_rest(data: dict[str, Any], positions: dict[str, float], case: dict[str, Any]) -> dict[str, Any]:
    """The plant without heat, its controls stopped at `positions` (valves) or speeds (circulators)."""
    new = copy.deepcopy(data)
    for item in new["items"]:
        props = item["props"]
        if item["kind"] in SOURCES:
            props["run_when"] = False
        elif item["kind"] == "mixing_valve":
            item["kind"] = "three_way_valve"
            item["props"] = {"cv": props.get("cv", 50), "position": positions[item["id"]]}
        elif item["id"] in positions:
            for key in ("control", "target", "senses", "min_speed"):
                props.pop(key, None)
            props["speed"] = positions[item["id"]]
    valves = {item["id"] for item in data["items"] if item["kind"] == "mixing_valve"}
    for pipe in new["pipes"]:
        for end in ("from", "to"):
            if pipe[end][0] in valves:
                pipe[end] = [pipe[end][0], PORTS[pipe[end][1]]]
    new["cases"] = [case]
    return new


class Second:
    """The second method for one case of a plant."""

    def __init__(self, data: dict[str, Any], case: dict[str, Any] | None = None) -> None:
        self.data = data
        self.case = case or (data["cases"][0] if data["cases"] else {"name": "design"})
        self.controls = [item for item in data["items"] if self._controls(item)]
        if len(self.controls) > 2:
            raise NotCovered("more than two controls")
        self.positions: dict[str, float] = {}
        self.known: dict[tuple[float, ...], dict[str, float]] = {}
        self.warm: dict[str, float] = {}  # temperatures with the controls where they stood before
        self.looks: float = MOST_LOOKS
        self.idle: set[str] = set()  # of linked units

    def _controls(self, item: dict[str, Any]) -> bool:
        control = item["props"].get("control", "fixed")
        if control in ("delta_p_constant", "delta_p_proportional") or "throttles" in item["props"]:
            raise NotCovered(control)
        return item["kind"] == "mixing_valve" or control == "delta_t"

    def flows(self) -> dict[str, float]:
        """Mass in each pipe with the controls as they stand [kg/s]."""
        spot = tuple(self.positions.values())
        if spot not in self.known:
            solved = solve_data(at_rest(self.data, self.positions, self.case))
            rho = {key: si(s["fluid"]["density"], "density") for key, s in self.data["systems"].items()}
            self.known[spot] = {p["id"]: solved.flow(p["id"]) * rho[p["system"]] for p in self.data["pipes"]}
        return self.known[spot]

    def heat(self) -> Answer:
        mass = self.flows()
        heat = Heat(self.data, mass, self.case, self.warm, self.looks, self.idle)
        got = heat.solve()
        self.looks = heat.looks
        self.warm = dict(zip(heat.place, heat.now.tolist(), strict=True))
        got.flows, got.positions = mass, dict(self.positions)
        return got

    def solve(self) -> Answer:
        """With the fewest linked units that hold, each number of them with controls of its own."""
        for idle in linked_choices(self.data):
            self.idle = idle
            got = self._with(self.controls)
            if got.units_hold:
                break
        return got

    def _with(self, controls: list[dict[str, Any]]) -> Answer:
        if not controls:
            return self.heat()
        item, rest = controls[0], controls[1:]
        valve = item["kind"] == "mixing_valve"
        low = 0.0 if valve else float(item["props"].get("min_speed", 0.2))
        high = 1.0 if valve else float(item["props"].get("speed", 1.0))
        answers: dict[float, Answer] = {}
        wish = self._valve_error(item) if valve else self._spread_error(item)

        def error(position: float) -> float:
            self.positions[item["id"]] = position
            answers[position] = self._with(rest)
            return wish(answers[position])

        if not valve:  # more speed, less spread
            first, last = error(high), error(low)
            if first >= 0.0 or last <= 0.0:
                return answers[high if first >= 0.0 else low]
        else:
            if error(low) >= 0.0:
                return answers[low]
            if error(high) <= 0.0:
                between = BETWEEN if rest or len(self.controls) == 1 else ()  # not within another search
                # All hot it may draw more than there is and yet hold its water at less: "where it can".
                holding = next((x for x in between if error(x) > 0.0), None)
                if holding is None:
                    return answers[high]
                low, high = holding, next(x for x in (*BETWEEN[::-1], 1.0) if x > holding)
        best = float(brentq(error, low, high, xtol=1e-11, rtol=1e-12, maxiter=80))
        self.positions[item["id"]] = best
        found = self._with(rest)
        if abs(wish(found)) > 0.01:
            shut = valve and best < UNSURE
            raise NotCovered("a valve shut before water that nothing cools" if shut else "a control jumps")
        if valve and self._backward(item["id"], found):
            raise NotCovered("a valve that lets out by its hot port: of two states the other is meant")
        return found

    def _backward(self, valve: str, got: Answer) -> bool:
        """Whether water leaves a mixing valve by its hot port."""
        hot = [valve, "hot"]
        return any(
            got.flows[p["id"]] * (1 if p["to"] == hot else -1) < -1e-6
            for p in self.data["pipes"]
            if hot in (p["from"], p["to"])
        )

    def _valve_error(self, item: dict[str, Any]) -> Callable[[Answer], float]:
        wanted, ident = celsius(item["props"]["set_temperature"]), item["id"]

        def error(got: Answer) -> float:
            return got.mixed[ident] - wanted if ident in got.mixed else -1.0

        return error

    def _spread_error(self, item: dict[str, Any]) -> Callable[[Answer], float]:
        props = item["props"]
        target = si(props["target"], "temperature_difference")

        def error(got: Answer) -> float:
            warm, cold = (self._at(got, *ref) for ref in props["senses"])
            return warm - cold - target

        return error

    def _at(self, got: Answer, item: str, port: str) -> float:
        for pipe in self.data["pipes"]:
            for end in ("from", "to"):
                if pipe[end] == [item, port] and pipe["id"] in got.pipes:
                    starts = (got.flows[pipe["id"]] > 0) == (end == "from")
                    return got.pipes[pipe["id"]][0 if starts else 1]
        raise NotCovered("a circulator that feels still water")


def second_solve(data: dict[str, Any], case: dict[str, Any] | None = None) -> Answer:
    """Flows, heat and controls of a case; NotCovered where this method does not reach."""
    try:
        return Second(data, case).solve()
    except WetsideError as problem:
        raise NotCovered(str(problem)) from problem


def disagreements(data: dict[str, Any], solved: Solved, got: Answer, near: float = 1e-3) -> list[str]:
    """Where a solution differs from the second method: 0.02 K, or `near` of the heat and at least 2 W."""
    found = []
    heats = [("duty_w", got.duty), ("delivered_w", got.delivered)]
    most = max([abs(v) for v in (*got.duty.values(), *got.delivered.values())] or [0.0])
    for name, values in heats:
        for key, value in values.items():
            says = solved.items[key][name]
            if abs(says - value) > max(near * most, 2.0):
                found.append(f"{key}.{name} is {says:.1f}, by the second method {value:.1f}")
    for key, value in got.rooms.items():
        says = solved.items[key]["temperature_c"]
        if abs(says - value) > 0.02:
            found.append(f"{key} stands at {says:.3f} degC, by the second method {value:.3f}")
    for pipe in data["pipes"]:
        key = pipe["id"]
        rate = abs(got.flows.get(key, 0.0))
        if key in got.pipes and rate * CP * 0.02 > 2.0:
            forward = got.flows[key] > 0
            says = (solved.warm(key), solved.warm_end(key))[:: 1 if forward else -1]
            if max(abs(a - b) for a, b in zip(says, got.pipes[key], strict=True)) > 0.02:
                found.append(
                    f"{key} carries {says[0]:.3f} degC, by the second method {got.pipes[key][0]:.3f}"
                )
    return found
