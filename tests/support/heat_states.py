"""Heat of a plant with known flows, by enumerating states: the second method of the coupled solve.

Nothing of the solver is used. Every temperature is one straight piece of what flows into its place: a source
is `idle`, `hot` (passes warmer water), `at set` or `at capacity`; a load takes what it needs or stops at its
least temperature. The pieces are guessed, the linear system solved, the pieces looked at again; where that
goes round in circles all states of the sources are tried. f, the share that loads get, is found by halving.

Fluids are of constant properties. Readings of the contract that were chosen here:

* Reaching the set_temperature means within `NEAR`, so that f = 1 stands where a source is just at it.
* "Water fed by a main or a tank of given temperature cuts none of its own loads": own are the loads in water
  that flows together without an exchanger between; loads beyond an exchanger are cut with their group.
* Linked units: the first n of those whose run_when is true. None holds: all run.
* An emitter with UA gives C e (T_in - T_room) also where that is negative; a fan coil at most its load.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections import defaultdict
from dataclasses import dataclass, field
from typing import Any

import networkx as nx
import numpy as np

from tests.support.balance import si as read_si
from tests.support.builders import TWO_WAY

SOURCES = ("boiler", "heater")
EMITTERS = ("load", "radiator", "floor_circuit", "melt_circuit", "fan_coil")
IN_OUT = (
    *("circulator", "check_valve", "strainer", "flow_meter", "air_separator", "dirt_separator", "dp_bypass"),
    *SOURCES,
    *EMITTERS,
)
STILL = 1e-7  # [kg/s]
NEAR = 1e-6  # [K]
LEAK = 1e-9  # share by which flowing water tends to T_LEAK: settles the temperature of a loop without a sink
T_LEAK = -50.0

si = functools.lru_cache(maxsize=10000)(read_si)

Row = tuple[float, dict[int, float]]
"""A temperature as a constant and factors of the unknowns."""


class NotCovered(Exception):
    """The plant holds something that the second method does not do."""


@dataclass
class Answer:
    """Temperatures [degC] and heats [W] of one case."""

    pipes: dict[str, tuple[float, float]] = field(default_factory=dict)  # at the flow's start and end
    duty: dict[str, float] = field(default_factory=dict)
    outlet: dict[str, float] = field(default_factory=dict)
    delivered: dict[str, float] = field(default_factory=dict)
    rooms: dict[str, float] = field(default_factory=dict)
    mixed: dict[str, float] = field(default_factory=dict)
    state: dict[str, str] = field(default_factory=dict)
    cut: dict[str, float] = field(default_factory=dict)  # f of each load that is cut as one with its group
    wanted: dict[str, float] = field(default_factory=dict)
    positions: dict[str, float] = field(default_factory=dict)
    units_hold: bool = True  # every linked unit with flow leaves at its set point, and no load is cut
    flows: dict[str, float] = field(default_factory=dict)


def celsius(text: str) -> float:
    return si(text, "temperature") - 273.15


def add(first: Row, second: Row, by: float = 1.0) -> Row:
    terms = dict(first[1])
    for key, factor in second[1].items():
        terms[key] = terms.get(key, 0.0) + by * factor
    return first[0] + by * second[0], terms


class Heat:
    """The heat side of one case of `data` with `mass` [kg/s] in each pipe (positive from its `from`)."""

    def __init__(
        self,
        data: dict[str, Any],
        mass: dict[str, float],
        case: dict[str, Any],
        before: dict[str, float] | None = None,
        looks: float = math.inf,
        idle: set[str] | None = None,
    ) -> None:
        """`before`: temperatures by pipe to begin with, [degC]; `looks`: most looks at the pieces; `idle`:
        linked units that do not run."""
        self.data, self.case, self.looks = data, case, looks
        self.items = {item["id"]: item for item in data["items"]}
        self.fluids = {name: _fluid(system["fluid"]) for name, system in data["systems"].items()}
        self.indoor = celsius(data["site"].get("indoor", "20 degC"))
        self.outdoor = celsius(case.get("outdoor", data["site"].get("outdoor_design", "-10 degC")))
        self.into: dict[tuple[str, str], list[str]] = defaultdict(list)
        self.into_of: dict[str, list[tuple[str, str]]] = defaultdict(list)
        self.out_of: dict[str, list[tuple[str, str]]] = defaultdict(list)
        self.rate: dict[str, float] = {}  # [W/K] of the pipes that flow
        self.volume: dict[str, float] = {}  # [m3/s]
        self.pipe = {pipe["id"]: pipe for pipe in data["pipes"]}
        for key, pipe in self.pipe.items():
            flow = mass.get(key, 0.0)
            if abs(flow) <= STILL:
                continue
            rho, cp = self.fluids[pipe["system"]]
            self.rate[key], self.volume[key] = abs(flow) * cp, abs(flow) / rho
            start, end = (pipe["from"], pipe["to"]) if flow > 0 else (pipe["to"], pipe["from"])
            self.out_of[start[0]].append((start[1], key))
            self.into[end[0], end[1]].append(key)
            self.into_of[end[0]].append((end[1], key))
        self.place = {key: number for number, key in enumerate(self.rate)}
        self._rooms_and_tanks()
        self._groups()
        self.sources = [
            key
            for key, item in self.items.items()
            if item["kind"] in SOURCES and self.inlet_pipe(key) and self._called(item)
        ]
        self.idle = idle or set()
        self.forced: dict[str, str] = {}
        self.at_least: set[str] = set()  # loads tried at their least temperature
        self.states: dict[str, str] = {}
        before = before or {}
        self.now = np.array([before.get(key, 90.0) for key in self.place])

    # ---- what there is

    def _rooms_and_tanks(self) -> None:
        self.serving: dict[str, list[str]] = defaultdict(list)
        self.stats = {}
        for key, item in self.items.items():
            props = item["props"]
            if item["kind"] in EMITTERS and "serves" in props and self.inlet_pipe(key):
                self.serving[props["serves"]].append(key)
            if item["kind"] == "thermostat":
                self.stats[props["senses"][0]] = celsius(props["set_temperature"])
            if item["kind"] == "room" and "loss" in props:
                self.place[key] = len(self.place)
            if item["kind"] in ("tank", "coil_tank") and key not in self.case.get("tanks", {}):
                self.place[key] = len(self.place)

    def _groups(self) -> None:
        """Water that flows together, and groups of it that exchangers join."""
        water: nx.Graph = nx.Graph()
        for key in self.rate:
            for item, port in (tuple(self.pipe[key]["from"]), tuple(self.pipe[key]["to"])):
                water.add_edge(key, (item, self._side(item, port)))
        fed = {key for key, item in self.items.items() if item["kind"] == "cold_main"}
        fed |= set(self.case.get("tanks", {}))
        self.exempt: set[str] = set()
        whole = water.copy()
        for part in nx.connected_components(water):
            names = {node[0] for node in part if isinstance(node, tuple)}
            # A coil in a tank of given temperature takes its heat; its own water is fed by nothing.
            feeding = {node[0] for node in part if isinstance(node, tuple) and node[1] != "coil"}
            if feeding & fed:
                self.exempt |= names
        sides = defaultdict(list)
        for node in water:
            if isinstance(node, tuple):
                sides[node[0]].append(node)
        for key, nodes in sides.items():
            if key not in fed:
                nx.add_path(whole, nodes)
        self.groups = [
            {n[0] for n in part if isinstance(n, tuple)} for part in nx.connected_components(whole)
        ]

    def _side(self, item: str, port: str) -> str:
        kind = self.items[item]["kind"]
        if kind == "exchanger":
            return port[0]
        if kind == "coil_tank":
            return "coil" if port in ("coil_in", "coil_out") else "taps"
        return ""

    def _called(self, item: dict[str, Any]) -> bool:
        """Whether it may run: called, and with the flow it needs."""
        when = item["props"].get("run_when", True)
        if isinstance(when, str):
            when = self.case.get("signals", {}).get(when, True)
        if not isinstance(when, bool):
            raise NotCovered(f"run_when of {item['id']}")
        least = si(item["props"].get("min_flow", "0 m3/s"), "flow")
        pipe = self.inlet_pipe(item["id"])
        return bool(when and pipe and self.volume[pipe] >= least)

    def inlet_pipe(self, key: str) -> str | None:
        return self.into_of[key][0][1] if self.into_of[key] else None

    # ---- the pieces

    def end_row(self, key: str, port: str | None = None) -> Row:
        """Temperature of what flows into an item at a port, as it arrives."""
        pipes = [p for at, p in self.into_of[key] if port in (None, at)]
        total = sum(self.rate[p] for p in pipes)
        if not pipes:
            raise NotCovered(f"nothing flows into {key}")
        row: Row = (0.0, {})
        for p in pipes:
            row = add(row, self.arriving(p), self.rate[p] / total)
        return row

    def arriving(self, pipe: str) -> Row:
        loss = self.pipe[pipe].get("insulation")
        if loss is None:
            return 0.0, {self.place[pipe]: 1.0}
        if "loss" not in loss:
            raise NotCovered("insulation by thickness")
        around = celsius(self.pipe[pipe]["around"]) if "around" in self.pipe[pipe] else self.indoor
        per = si(loss["loss"], "conductivity") * si(self.pipe[pipe]["length"], "length")
        left = math.exp(-per / self.rate[pipe])
        return around * (1 - left), {self.place[pipe]: left}

    def value(self, row: Row) -> float:
        return row[0] + sum(factor * self.now[key] for key, factor in row[1].items())

    def room_row(self, props: dict[str, Any]) -> Row:
        if "room_temperature" in props:
            return celsius(props["room_temperature"]), {}
        served = props.get("serves")
        if served in self.place:
            return 0.0, {self.place[served]: 1.0}
        if served is not None:
            return celsius(self.items[served]["props"].get("wanted", "20 degC")), {}
        return self.indoor, {}

    def leaving(self, key: str, port: str, pipe: str) -> Row:
        """What leaves an item at a port."""
        item, rate = self.items[key], self.rate[pipe]
        kind, props = item["kind"], item["props"]
        if kind in SOURCES:
            return self.source_row(key, props, rate)
        if kind in EMITTERS:
            return add(self.end_row(key), self.heat_row(key), -1.0 / rate)
        if kind == "exchanger":
            return self.exchanger_row(key, props, port)
        if kind == "cold_main":
            return celsius(props.get("temperature", self.data["site"].get("cold_water", "10 degC"))), {}
        if kind in ("tank", "coil_tank"):
            return self.tank_row(key, port)
        if kind == "separator":
            return self.separator_row(key, port)
        if kind in ("joint", "mixing_valve", "three_way_valve", "manifold", *IN_OUT, *TWO_WAY):
            return self.end_row(key)
        raise NotCovered(kind)

    def source_row(self, key: str, props: dict[str, Any], rate: float) -> Row:
        row = self.end_row(key)
        if key not in self.sources or key in self.idle:
            self.states[key] = "idle"
            return row
        set_to, most = celsius(props["set_temperature"]), si(props["capacity"], "power") / rate
        state, arrives = self.forced.get(key), self.value(row)
        if state is None:
            state = "hot" if arrives >= set_to else "at set" if arrives + most >= set_to else "at capacity"
        self.states[key] = state
        return {"hot": row, "at set": (set_to, {}), "at capacity": (row[0] + most, row[1])}[state]

    def heat_row(self, key: str) -> Row:
        """Heat that an emitter takes [W]."""
        props, rate = self.items[key]["props"], self.rate[self.inlet_pipe(key) or ""]
        row, room = self.end_row(key), self.room_row(props)
        size = props.get("ua") or props.get("output_per_degree")
        if size is not None:
            share = rate * -math.expm1(-si(size, "heat_per_kelvin") / rate)
            possible = add((share * row[0], {k: share * v for k, v in row[1].items()}), room, -share)
            if self.items[key]["kind"] == "fan_coil" and "load" in props:
                most = si(props["load"], "power")
                if self.value(possible) > most:
                    return most, {}
            return possible
        if "load" not in props or "area" in props or "rated" in props:
            raise NotCovered(f"{key} without a plain size")
        if "serves" in props:
            raise NotCovered("a load that serves a room")
        needed = self.share_of(key) * si(props["load"], "power")
        least = (celsius(props["least_return"]), {}) if "least_return" in props else room
        above = add(row, least, -1.0)
        self.limit[key] = "needed"
        if key in self.at_least:
            return rate * above[0], {k: rate * v for k, v in above[1].items()}
        if self.value(above) <= 0.0:
            self.limit[key] = "too cold"
            return 0.0, {}
        if self.value(above) * rate < needed:
            self.limit[key] = "least"
            return rate * above[0], {k: rate * v for k, v in above[1].items()}
        return needed, {}

    def share_of(self, key: str) -> float:
        if key in self.exempt:
            return 1.0
        return next(self.cut[n] for n, group in enumerate(self.groups) if key in group)

    def exchanger_row(self, key: str, props: dict[str, Any], port: str) -> Row:
        side = port[0]
        other = "b" if side == "a" else "a"
        own = self.end_row(key, self._entry(key, side))
        there = self._entry(key, other)
        if there is None:
            return own
        c_own, c_other = (
            sum(self.rate[p] for p in self.into[key, at]) for at in (self._entry(key, side), there)
        )
        ua = si(props["ua"], "heat_per_kelvin") * (1 - props.get("fouling", 0.0))
        with_flow = (self._entry(key, "a") == "a_in") == (self._entry(key, "b") == "b_in")
        counter = (props.get("arrangement", "counter") == "counter") == with_flow
        duty = effectiveness(ua, c_own, c_other, counter) * min(c_own, c_other) / c_own
        return add(add(own, own, -duty), self.end_row(key, there), duty)

    def _entry(self, key: str, side: str) -> str | None:
        return next(
            (port for (item, port), p in self.into.items() if item == key and port[0] == side and p), None
        )

    def tank_row(self, key: str, port: str) -> Row:
        given = self.case.get("tanks", {}).get(key)
        if port not in ("coil_in", "coil_out"):
            if given is None:
                return 0.0, {self.place[key]: 1.0}
            return celsius(given if isinstance(given, str) else given[port]), {}
        entry = "coil_in" if port == "coil_out" else "coil_out"
        row = self.end_row(key, entry)
        rate = self.rate[self.into[key, entry][0]]
        share = -math.expm1(-si(self.items[key]["props"]["coil_ua"], "heat_per_kelvin") / rate)
        tank: Row = (celsius(given), {}) if given is not None else (0.0, {self.place[key]: 1.0})
        return add(add(row, row, -share), tank, share)

    def tank_balance(self, key: str) -> Row:
        """Temperature of a mixed tank from what flows in, its coil and its loss."""
        props = self.items[key]["props"]
        loss = si(props.get("ua_loss", "0 W/K"), "heat_per_kelvin")
        heat: Row = (loss * self.indoor + si(props.get("element", "0 W"), "power"), {})
        total = loss
        for port, p in self.into_of[key]:
            weight = self.rate[p]
            if port in ("coil_in", "coil_out"):
                weight *= -math.expm1(-si(props["coil_ua"], "heat_per_kelvin") / weight)
            heat, total = add(heat, self.arriving(p), weight), total + weight
        if total <= 0.0:
            return self.indoor, {}
        return heat[0] / total, {k: v / total for k, v in heat[1].items()}

    def separator_row(self, key: str, port: str) -> Row:
        """a_in and b_out meet above, b_in and a_out below; what is over on one end passes to the other."""
        ends = {True: ("a_in", "b_out"), False: ("b_in", "a_out")}
        upper = port in ends[True]

        def net(end: bool) -> float:
            gone = sum(self.rate[p] for at, p in self.out_of[key] if at in ends[end])
            return sum(self.rate[p] for at in ends[end] for p in self.into[key, at]) - gone

        def own(end: bool) -> tuple[Row, float]:
            row, total = (0.0, {}), 0.0
            for at in ends[end]:
                for p in self.into[key, at]:
                    row, total = add(row, self.arriving(p), self.rate[p]), total + self.rate[p]
            return row, total

        row, total = own(upper)
        if (
            net(upper) < -1e-9
        ):  # water comes over from the other end, which itself only mixes what flows into it
            there, much = own(not upper)
            row, total = add(row, there, -net(upper) / much), total - net(upper)
        return row[0] / total, {k: v / total for k, v in row[1].items()}

    def room_balance(self, key: str) -> Row:
        props = self.items[key]["props"]
        loss = si(props["loss"], "heat_per_kelvin")
        heat: Row = (loss * self.outdoor + si(props.get("gain", "0 W"), "power"), {})
        for emitter in self.serving[key]:
            heat = add(heat, self.heat_row(emitter))
        mine = heat[1].pop(self.place[key], 0.0)
        free: Row = (heat[0] / (loss - mine), {k: v / (loss - mine) for k, v in heat[1].items()})
        held = self.stats.get(key)
        if held is None:
            return free
        self.states[key] = "held" if self.value(free) >= held else "free"
        return (held, {}) if self.states[key] == "held" else free

    # ---- solving

    def pieces(self) -> tuple[np.ndarray, np.ndarray, tuple[Any, ...]]:
        """Matrix and right side of the pieces that the present temperatures stand on."""
        self.looks -= 1
        if self.looks < 0:
            raise NotCovered("too many looks at the pieces")
        size = len(self.place)
        matrix, right = np.eye(size), np.zeros(size)
        self.limit: dict[str, str] = {}
        rows = {}
        for key, leaving in self.out_of.items():
            for port, pipe in leaving:
                rows[self.place[pipe]] = self.leaving(key, port, pipe)
        for key, number in self.place.items():
            if key in self.items:
                rows[number] = (
                    self.room_balance(key) if self.items[key]["kind"] == "room" else self.tank_balance(key)
                )
        for number, (const, terms) in rows.items():
            right[number] = (1 - LEAK) * const + LEAK * T_LEAK
            for column, factor in terms.items():
                matrix[number, column] -= (1 - LEAK) * factor
        marks = (tuple(sorted(self.states.items())), tuple(sorted(self.limit.items())), right.tobytes())
        return matrix, right, marks

    def settle(self) -> bool:
        """Solve, look at the pieces again; whether they agree with what came out."""
        seen = set()
        for _ in range(25):
            matrix, right, marks = self.pieces()
            if marks in seen:
                return bool(np.abs(matrix @ self.now - right).max() < 1e-7)
            seen.add(marks)
            self.now = np.clip(np.linalg.solve(matrix, right), -60.0, 150.0)
        return False

    def solve_states(self, shares: list[float]) -> None:
        """Temperatures with these shares of the groups' loads; hot start, then every state of the sources."""
        self.cut = shares
        if not self.place:
            return
        self.forced = {}
        for start in (None, 90.0, 15.0, 60.0):
            if start is not None:
                self.now = np.full(len(self.place), start)
            if self.settle():
                return
        running = [key for key in self.sources if key not in self.idle]
        loads = [key for key in self.items if self._cut_load(key)][:3]
        for limits in itertools.product((False, True), repeat=len(loads)):
            self.at_least = {key for key, least in zip(loads, limits, strict=True) if least}
            for states in itertools.product(("at set", "at capacity", "hot"), repeat=len(running)):
                self.forced = dict(zip(running, states, strict=True))
                self.now = np.full(len(self.place), 60.0)
                if self.settle() and self._consistent():
                    self.forced, self.at_least = {}, set()
                    return
        self.forced, self.at_least = {}, set()
        for _ in range(12):  # let the water go round, look for the state from there
            for _ in range(20):
                matrix, right, _ = self.pieces()
                self.now = self.now + right - matrix @ self.now
            if self.settle():
                return
        raise NotCovered("the second method finds no state")

    def _consistent(self) -> bool:
        kept = self.forced, self.at_least
        self.forced, self.at_least = {}, set()
        matrix, right, _ = self.pieces()
        self.forced, self.at_least = kept
        return bool(np.abs(matrix @ self.now - right).max() < 1e-6)

    def outlet(self, key: str) -> float:
        return float(self.now[self.place[self.out_of[key][0][1]]])

    def holds(self, group: set[str]) -> bool:
        """Whether at least one running source of a group is at or above its set_temperature."""
        return any(
            self.outlet(key) >= celsius(self.items[key]["props"]["set_temperature"]) - NEAR
            for key in self.sources
            if key in group and key not in self.idle
        )

    def solve_cut(self) -> None:
        """The largest f of each group with which a running source holds; 0 where none does even so."""
        shares = [1.0] * len(self.groups)
        self.solve_states(shares)
        for number, group in enumerate(self.groups):
            loads = [k for k in group if self._cut_load(k)]
            if not loads or self.holds(group):
                continue
            self._cut_one(number, shares)

    def _cut_one(self, number: int, shares: list[float]) -> None:
        """The f of one group between none and all: along the straight piece, else halving."""
        low, high, guess = 0.0, 1.0, self._straight(number, shares)
        shares[number] = 0.0
        self.solve_states(shares)
        if not self.holds(self.groups[number]):
            return
        for turn in range(100):
            if high - low < 2e-8:
                break
            shares[number] = guess if low < guess < high and turn % 3 < 2 else (low + high) / 2
            self.solve_states(shares)
            if self.holds(self.groups[number]):
                low = shares[number]
                guess = low + 1e-8
            else:
                high = shares[number]
                guess = self._straight(number, shares)
        shares[number] = low * (1 - 1e-5)  # surely on the side where the source holds
        self.solve_states(shares)

    def _straight(self, number: int, shares: list[float]) -> float:
        """The f at which the best source would come to its set point if nothing changed its piece."""
        matrix, right, _ = self.pieces()
        self.cut = [f - 1e-6 * (n == number) for n, f in enumerate(shares)]
        slope = np.linalg.solve(matrix, self.pieces()[1] - right) / -1e-6
        self.cut = shares
        places = [
            (self.outlet(k) - self._set(k), slope[self.place[self.out_of[k][0][1]]])
            for k in self.sources
            if k in self.groups[number] and k not in self.idle
        ]
        gap, per = max(places, default=(0.0, 0.0))
        return shares[number] - gap / per - 1e-9 if per < -1e-9 else -1.0

    def _cut_load(self, key: str) -> bool:
        props = self.items[key]["props"]
        sized = "ua" in props or "output_per_degree" in props
        emits = self.items[key]["kind"] in EMITTERS and "load" in props and not sized
        return emits and self.inlet_pipe(key) is not None and key not in self.exempt

    def solve(self) -> Answer:
        """What comes out, with the linked units that are idle as they are."""
        self.solve_cut()
        units = [key for key in self.sources if "linked" in self.items[key]["props"]]
        full = all(self.cut[n] == 1.0 for n, group in enumerate(self.groups) if group & set(units))
        got = self.answer()
        got.units_hold = full and all(self.outlet(k) >= self._set(k) - NEAR for k in units)
        return got

    def _set(self, key: str) -> float:
        return celsius(self.items[key]["props"]["set_temperature"])

    def answer(self) -> Answer:
        self.pieces()
        got = Answer(state=dict(self.states))
        for key in self.rate:
            got.pipes[key] = (float(self.now[self.place[key]]), self.value(self.arriving(key)))
        for key, item in self.items.items():
            kind, props = item["kind"], item["props"]
            flows = self.inlet_pipe(key)
            if kind in SOURCES:
                got.duty[key] = 0.0
                if flows:
                    got.outlet[key] = self.outlet(key)
                    got.duty[key] = self.rate[flows] * (self.outlet(key) - self.value(self.end_row(key)))
            elif kind in EMITTERS:
                got.delivered[key] = self.value(self.heat_row(key)) if flows else 0.0
                if self._cut_load(key):
                    got.cut[key] = self.share_of(key)
                if "load" in props:
                    got.wanted[key] = si(props["load"], "power")
            elif key in self.place:
                got.rooms[key] = float(self.now[self.place[key]])
            elif kind in ("mixing_valve", "three_way_valve") and flows:
                got.mixed[key] = self.value(self.end_row(key))
        return got


def effectiveness(ua: float, c_one: float, c_two: float, counter: bool) -> float:
    """e-NTU of two streams [W/K]; textbook identities."""
    least, most = sorted((c_one, c_two))
    ntu, ratio = ua / least, least / most
    if not counter:
        return -math.expm1(-ntu * (1 + ratio)) / (1 + ratio)
    if abs(1 - ratio) < 1e-9:
        return ntu / (1 + ntu)
    left = math.exp(-ntu * (1 - ratio))
    return (1 - left) / (1 - ratio * left)


def _fluid(spec: dict[str, Any]) -> tuple[float, float]:
    if spec["kind"] != "custom":
        raise NotCovered("a fluid whose properties change")
    return si(spec["density"], "density"), si(spec["heat_capacity"], "heat_capacity")


def linked_choices(data: dict[str, Any]) -> list[set[str]]:
    """Idle units of every choice of linked ones, from the fewest that run; one empty set without any."""
    linked: dict[str, list[str]] = defaultdict(list)
    for item in data["items"]:
        props = item["props"]
        if item["kind"] in SOURCES and "linked" in props and props.get("run_when") is not False:
            linked[props["linked"]].append(item["id"])
    counts = [range(1, len(units) + 1) for units in linked.values()]
    chosen = sorted(itertools.product(*counts), key=sum)
    return [
        {key for n, units in zip(some, linked.values(), strict=True) for key in units[n:]} for some in chosen
    ]
