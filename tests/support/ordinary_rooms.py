"""Ordinary mechanical rooms by seed: sources, a header, circuits of every usual sort, domestic water.

Built so that it has a steady state wherever the contract gives one: every circuit can flow, sources are sized
from a third to three times of what the circuits want. `ordinary_room(seed)` is the same plant each time.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from itertools import pairwise
from typing import Any

import numpy as np

from tests.support.builders import Board, c, constant_fluid, flow, w
from tests.support.random_plants import some

GLYCOL = {"kind": "propylene_glycol", "fraction": 0.3}
WATER = {"kind": "water"}


class Room:
    """One mechanical room in the making."""

    def __init__(self, seed: int, plain: bool = False) -> None:
        self.rng = np.random.default_rng(seed)
        self.plain = plain  # only what the second method covers
        fluids = [constant_fluid(), WATER, GLYCOL]
        fluid = fluids[0] if plain else fluids[int(self.rng.choice(3, p=[0.5, 0.3, 0.2]))]
        self.fluid = fluid
        self.board = Board(fluid)
        self.wants = 0.0
        self.number = 0
        self.given: dict[str, str] = {}
        self.draws: dict[str, str] = {}
        self.set_to = float(self.rng.uniform(45, 75))

    def chance(self, share: float) -> bool:
        return bool(self.rng.random() < share)

    def name(self, mark: str) -> str:
        self.number += 1
        return f"{mark}-{self.number}"

    def tube(self) -> dict[str, Any]:
        keys: dict[str, Any] = {
            "bore": float(self.rng.choice([0.0199, 0.026, 0.0326])),
            "length": some(self.rng, 0.3, 15.0),
        }
        if self.chance(0.15):
            keys["insulation"] = {"loss": f"{some(self.rng, 0.1, 0.4)!r} W/m/K"}
        return keys

    def chain(self, *stops: str) -> None:
        for start, stop in pairwise(stops):
            self.board.pipe(self.board.ends(start)[1], self.board.ends(stop)[0], **self.tube())

    def join(self, start: str, stop: str) -> None:
        self.board.pipe(start, stop, **self.tube())

    def joint(self) -> str:
        return self.board.item(self.name("J"), "joint")

    def pump(self, check: bool = False, **props: Any) -> str:
        head, out = some(self.rng, 20e3, 60e3), some(self.rng, 5e-4, 2e-3)
        return self.board.pump(self.name("P"), head, out, integral_check=check, **props)

    def piece(self, at: float = 0.0) -> str:
        return self.board.resistance(self.name("S"), at or some(self.rng, 1e-4, 6e-4), 12e3)

    # ---- circuits

    def emitter(self, warm: float) -> str:
        """An emitter of water of about `warm` degC; what it wants is added up."""
        kinds = ["load", "floor", "typed", "radiator", "coil", "room"]
        kind = str(self.rng.choice(kinds, p=[0.25, 0.2, 0.15, 0.15, 0.1, 0.15]))
        heat = some(self.rng, 1e3, 10e3)
        size = f"{heat / max(warm - 25.0, 8.0)!r} W/K"
        self.wants += heat
        ident = self.name("E")
        if kind == "load":
            return self.board.item(ident, str(self.rng.choice(["load", "floor_circuit"])), load=w(heat))
        if kind == "coil":
            return self.board.item(
                ident, "fan_coil", ua=size, load=w(heat * float(self.rng.uniform(0.5, 1.5)))
            )
        if kind == "room":
            return self.served(ident, heat, size)
        if kind == "radiator":
            return self.board.item(ident, "radiator", ua=size)
        typed = {"load": w(heat * float(self.rng.uniform(0.6, 1.3)))} if kind == "typed" else {}
        return self.board.item(ident, "floor_circuit", output_per_degree=size, **typed)

    def served(self, ident: str, heat: float, size: str) -> str:
        room = self.board.item(self.name("R"), "room", loss=f"{heat / 30.0!r} W/K", wanted="20 degC")
        if not self.plain and self.chance(0.4):
            self.board.item(self.name("TH"), "thermostat", senses=[room], set_temperature="20 degC")
        return self.board.item(ident, "radiator", ua=size, serves=room)

    def straight(self, start: str, stop: str) -> None:
        """One or two emitters behind each other, with or without a pump."""
        stops = [self.piece(), self.emitter(self.set_to)]
        if self.chance(0.3):
            stops.append(self.emitter(self.set_to - 8))
        if self.chance(0.3):
            stops.insert(0, self.pump(check=True))
        if not self.plain and self.chance(0.2):
            stops.insert(0, self.board.item(self.name("CV"), "check_valve", cv=12.0))
        self.chain(start, *stops, stop)

    def mixed(self, start: str, stop: str) -> None:
        """A mixing valve, a pump, emitters at a lower temperature."""
        rest, ahead = self.joint(), self.joint()
        low = min(float(self.rng.uniform(30, 45)), self.set_to - 5)
        valve = self.board.item(
            self.name("MV"), "mixing_valve", cv=some(self.rng, 3, 12), set_temperature=c(low)
        )
        pump = self.pump()
        self.join(f"{start}:at", f"{valve}:hot")
        self.join(f"{rest}:at", f"{valve}:cold")
        self.join(f"{valve}:mixed", f"{pump}:in")
        self.join(f"{pump}:out", f"{ahead}:at")
        for _ in range(int(self.rng.integers(1, 3))):
            self.chain(ahead, self.piece(), self.emitter(low), rest)
        self.join(f"{rest}:at", f"{stop}:at")

    def exchanged(self, start: str, stop: str) -> None:
        """An exchanger with a ring of its own beyond; sometimes a second one in cascade."""
        ident = self.exchanger(start, stop)
        self.board.body(self.name("ring"), self.fluid)
        begin, end = self.joint(), self.joint()
        self.chain(end, self.pump(), f"{ident}:b_in>b_out", begin)
        self.vessel(end)
        self.straight(begin, end)
        if self.chance(0.25):
            second = self.exchanger(begin, end)
            self.board.body(self.name("ring"), self.fluid)
            first, last = self.joint(), self.joint()
            self.chain(last, self.pump(), f"{second}:b_in>b_out", first)
            self.vessel(last)
            self.chain(first, self.piece(), self.emitter(self.set_to - 15), last)
        self.board.system = "loop"

    def exchanger(self, start: str, stop: str) -> str:
        ident = self.board.item(self.name("HX"), "exchanger", ua=f"{some(self.rng, 200, 2500)!r} W/K")
        own = [self.pump(check=True)] if self.chance(0.5) else []
        self.chain(start, self.piece(), *own, f"{ident}:a_in>a_out", stop)
        return ident

    def coil(self, start: str, stop: str) -> None:
        """A tank with a coil, given or mixed, with a main and a tap."""
        taps = {"cold": "0 m", "hot": "0 m"}
        size = f"{some(self.rng, 150, 900)!r} W/K"
        tank = self.board.item(
            self.name("T"), "coil_tank", volume="200 L", taps=taps, coil_ua=size, ua_loss="2 W/K"
        )
        self.chain(
            start, self.piece(), *([self.pump(check=True)] if self.chance(0.5) else []), f"{tank}:coil_in"
        )
        self.join(f"{tank}:coil_out", f"{stop}:at")
        self.wants += 4000.0
        self.tap(tank)

    def charged(self, start: str, stop: str) -> None:
        """A tank charged through an exchanger by a pump of its own."""
        ident = self.exchanger(start, stop)
        taps = {"cold": "0 m", "hot": "0 m", "low": "0 m", "high": "0 m"}
        tank = self.board.item(self.name("T"), "tank", volume="200 L", taps=taps, ua_loss="2 W/K")
        self.board.body(self.name("potable"), constant_fluid() if self.plain else WATER, "potable")
        self.chain(f"{tank}:low", self.pump(), f"{ident}:b_in>b_out")
        self.join(f"{ident}:b_out", f"{tank}:high")
        self.wants += 4000.0
        self.tap(tank, new=False)

    def tap(self, tank: str, new: bool = True) -> None:
        board = self.board
        if new:
            board.body(self.name("potable"), constant_fluid() if self.plain else WATER, "potable")
        main = board.item(self.name("CM"), "cold_main", pressure="300 kPa", temperature="9 degC")
        fixture = board.item(self.name("F"), "fixture", set_temperature="40 degC")
        self.join(f"{main}:at", f"{tank}:cold")
        self.join(f"{tank}:hot", f"{fixture}:hot")
        if self.chance(0.6):
            self.given[tank] = c(float(self.rng.uniform(20, 50)))
        if self.chance(0.5):
            self.draws[fixture] = flow(some(self.rng, 2e-5, 1.5e-4))
        board.system = "loop"

    def vessel(self, at: str) -> None:
        self.chain(at, self.board.item(self.name("ET"), "expansion_tank", volume="18 L", precharge="100 kPa"))

    # ---- sources

    def source(self, most: float, **more: Any) -> str:
        kinds = ["boiler", "heater"] if self.plain else ["boiler", "heater", "heat_pump"]
        kind = str(self.rng.choice(kinds, p=[0.7, 0.3] if self.plain else [0.6, 0.25, 0.15]))
        if "linked" in more:
            kind = "heater"
        warm = c(self.set_to + float(self.rng.choice([0, 0, -5])))
        ident = self.name({"boiler": "B", "heater": "H", "heat_pump": "HP"}[kind])
        if kind == "heat_pump":
            rows = [(-20, 25, 0.7), (-20, 80, 0.6), (15, 25, 1.2), (15, 80, 1.0)]
            table = [[c(float(a)), c(float(b)), w(most * s), w(most / 3)] for a, b, s in rows]
            return self.board.item(ident, kind, table=table, set_temperature=warm)
        props: dict[str, Any] = {"capacity": w(most), "set_temperature": warm, **more}
        if kind == "heater":
            props["min_flow"] = flow(some(self.rng, 1e-6, 8e-5))
            if not self.plain and self.chance(0.2):
                props["throttles"] = True
        return self.board.item(ident, kind, **props)

    def sources(self, start: str, stop: str) -> None:
        """One to three, in series, side by side or linked, with the header's pump before them."""
        count = int(self.rng.integers(1, 4))
        way = str(self.rng.choice(["series", "parallel", "linked"])) if count > 1 else "series"
        most = some(self.rng, 1 / 3, 3.0) * self.wants
        parts = self.rng.dirichlet([4.0] * count) * most
        pump = self.pump()
        spread = self.chance(0.15)
        if way == "series":
            units = [self.source(float(part)) for part in parts]
            self.chain(start, pump, *units, stop)
        else:
            split = self.joint()
            self.chain(start, pump, split)
            more = {"linked": "row"} if way == "linked" else {}
            units = [self.source(float(part), **more) for part in parts]
            for unit in units:
                self.chain(split, self.piece(), unit, stop)
        if spread and len(units) == 1:
            senses = [[units[0], "out"], [units[0], "in"]]
            target = f"{float(self.rng.uniform(5, 15))!r} K"
            self.board.items[pump]["props"].update(control="delta_t", target=target, senses=senses)
        elif not self.plain and self.chance(0.1):
            self.board.items[pump]["props"].update(control="delta_p_constant", target="12 kPa")

    def build(self) -> dict[str, Any]:
        start, stop = self.joint(), self.joint()
        ways: list[tuple[Callable[[str, str], None], float]] = [
            (self.straight, 0.45),
            (self.mixed, 0.25),
            (self.exchanged, 0.14),
            (self.coil, 0.08),
            (self.charged, 0.08),
        ]
        for _ in range(int(self.rng.integers(1, 5))):
            ways[int(self.rng.choice(len(ways), p=[share for _, share in ways]))][0](start, stop)
        if self.chance(0.4):
            self.chain(start, self.piece(2e-4), stop)
        self.sources(stop, start)
        self.vessel(stop)
        if not self.plain and self.chance(0.08):
            self.aquastat()
        common: dict[str, Any] = {"draws": self.draws, "tanks": self.given}
        self.board.case("design", outdoor="-10 degC", **common)
        self.board.case("mild", outdoor="8 degC", **common)
        return self.board.data()

    def aquastat(self) -> None:
        """An aquastat over the header's flowing water that runs the sources."""
        sources = [i for i in self.board.items.values() if i["kind"] in ("boiler", "heat_pump")]
        if sources:
            feels = sources[0]["id"]
            warm = c(self.set_to - 8.0)
            stat = self.board.item(
                self.name("AQ"), "aquastat", senses=[feels, "out"], set_temperature=warm, differential="5 K"
            )
            for one in sources:
                one["props"]["run_when"] = stat


def ordinary_room(seed: int, plain: bool = False) -> dict[str, Any]:
    """The plant file's data of one room; `plain` keeps to what the second method covers."""
    return Room(seed, plain).build()


def fussy_room(seed: int) -> dict[str, Any]:
    """One case of a plain room with what is typed more rarely, by seed.

    Least temperatures of loads, temperatures of rooms about emitters, snow melting, sources that are off or
    set to any temperature.
    """
    rng, data = random.Random(seed), ordinary_room(seed, plain=True)
    for item in data["items"]:
        props, kind = item["props"], item["kind"]
        if "load" in props and not {"ua", "output_per_degree"} & props.keys() and rng.random() < 0.6:
            props["least_return"] = f"{rng.uniform(15, 60)} degC"
        if kind == "floor_circuit" and "serves" not in props and rng.random() < 0.3:
            item["kind"], props["room_temperature"] = "melt_circuit", f"{rng.uniform(-10, 5)} degC"
        if kind in ("radiator", "fan_coil") and "serves" not in props and rng.random() < 0.3:
            props["room_temperature"] = f"{rng.uniform(5, 55)} degC"
        if kind == "boiler" and rng.random() < 0.15:
            props["run_when"] = False
        if kind in ("boiler", "heater") and rng.random() < 0.15:
            props["set_temperature"] = f"{rng.uniform(20, 90)} degC"
    return {**data, "cases": data["cases"][:1]}
