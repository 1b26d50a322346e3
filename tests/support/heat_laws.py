"""Laws of heat that every settled answer keeps, judged from the plant's data and the reported figures alone.

Each finding is a sentence that begins with the id of its place. Loose where properties of real fluids enter
(0.15 K), tight with a custom fluid (0.02 K). Streams under 0.5 g/s are not judged.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

import networkx as nx

from core.media.fluids import fluid_of
from tests.support.balance import Balance, si
from tests.support.builders import Solved

MIXING = ("joint", "mixing_valve", "three_way_valve")
LEAST = 5e-4  # [kg/s]


class HeatLaws:
    """The laws of one case of a plant."""

    def __init__(self, data: dict[str, Any], solved: Solved, case: dict[str, Any]) -> None:
        self.data, self.solved, self.case = data, solved, case
        self.balance = Balance(data, solved, case)
        plain = all(s["fluid"]["kind"] == "custom" for s in data["systems"].values())
        self.near = 0.02 if plain else 0.15
        self.part = 2e-3 if plain else 2e-2  # heat capacity is taken at one end of an item only
        self.items = self.balance.items
        self.pipes = {pipe["id"]: pipe for pipe in data["pipes"]}
        self.indoor = si(data["site"].get("indoor", "20 degC"), "temperature") - 273.15

    def broken(self) -> list[str]:
        found = list(self.temperatures())
        for ident, item in self.items.items():
            into, out = self.streams(ident)
            if item["kind"] in MIXING:
                found += self.mixes(ident, into, out)
            elif item["kind"] in ("boiler", "heater", "heat_pump") and into and out:
                found += self.source(ident, item["props"], into[0], out[0])
            elif "delivered_w" in self.solved.items.get(ident, {}) and into and out:
                found += self.emitter(ident, item, into[0], out[0])
        return found + list(self.exchangers()) + list(self.cuts()) + list(self.water())

    def streams(self, ident: str, ports: tuple[str, ...] | None = None) -> tuple[list[Any], list[Any]]:
        """(W/K, degC) of what flows into and out of an item."""
        into, out = [], []
        for (item, port), ends in self.balance.touch.items():
            if item != ident or (ports and port not in ports):
                continue
            for pipe, sign in ends:
                mass = -sign * self.balance.mass[pipe]
                if abs(mass) > LEAST:
                    warm = self.balance.warm_at(pipe, sign)
                    (into if mass > 0 else out).append((abs(mass) * self.heat_capacity(pipe), warm))
        return into, out

    def heat_capacity(self, pipe: str) -> float:
        spec = self.data["systems"][self.pipes[pipe]["system"]]["fluid"]
        if spec["kind"] == "custom":
            return si(spec["heat_capacity"], "heat_capacity")
        fluid = fluid_of(spec)
        return float(fluid.heat_capacity(self.balance.mean(pipe) + 273.15))

    def temperatures(self) -> Iterator[str]:
        for key in self.pipes:
            warm = self.solved.warm(key)
            if not -30.0 < warm < 110.0:
                yield f"{key} carries {warm:.6g} degC"

    def mixes(self, ident: str, into: list[Any], out: list[Any]) -> Iterator[str]:
        total = sum(rate for rate, _ in into)
        leaving = sum(rate for rate, _ in out)
        if not into or total < 0.9 * leaving:
            return
        unseen = 100.0 * abs(leaving - total) / total  # [K] by streams too small to be counted above
        mixed = sum(rate * warm for rate, warm in into) / total
        for _, warm in out:
            if abs(warm - mixed) > self.near + 0.01 + unseen:
                yield f"{ident} lets out {warm:.3f} degC where {mixed:.3f} comes in"

    def source(self, ident: str, props: dict[str, Any], entry: Any, exit_: Any) -> Iterator[str]:
        figures = self.solved.items[ident]
        set_to = si(props["set_temperature"], "temperature") - 273.15
        rate, warm = exit_
        duty, near = figures["duty_w"], 2.0 + self.near * rate
        if duty < -near or abs(rate * (warm - entry[1]) - duty) > near + self.part * abs(duty):
            yield f"{ident} gives {duty:.1f} W, its water gains {rate * (warm - entry[1]):.1f}"
        if duty > near and warm > max(set_to, entry[1]) + self.near:
            yield f"{ident} lets out {warm:.3f} degC, set at {set_to:.3f}"
        if "capacity" in props:
            most = si(props["capacity"], "power")
            if duty > most * 1.0001 + 1.0:
                yield f"{ident} gives {duty:.1f} W of {most:.1f}"
            starved = duty < most * 0.999 - near and warm < set_to - 2 * self.near
            if (
                starved
                and figures["running"]
                and "linked" not in props
                and not self.solved.noted(ident, "cycl")
            ):
                yield f"{ident} gives {duty:.1f} W of {most:.1f} though its outlet is short: {warm:.2f}"

    def room(self, props: dict[str, Any]) -> float:
        if "room_temperature" in props:
            return si(props["room_temperature"], "temperature") - 273.15
        return self.solved.items[props["serves"]]["temperature_c"] if "serves" in props else self.indoor

    def least(self, props: dict[str, Any]) -> float:
        if "least_return" in props:
            return si(props["least_return"], "temperature") - 273.15
        return self.room(props)

    def emitter(self, ident: str, item: dict[str, Any], entry: Any, exit_: Any) -> Iterator[str]:
        props, got = item["props"], self.solved.items[ident]["delivered_w"]
        rate, warm = entry
        near = 2.0 + self.near * rate
        if abs(rate * (warm - exit_[1]) - got) > near + self.part * abs(got):
            yield f"{ident} delivers {got:.1f} W, its water loses {rate * (warm - exit_[1]):.1f}"
        size = props.get("ua") or props.get("output_per_degree")
        if size is not None:
            possible = rate * -math.expm1(-si(size, "heat_per_kelvin") / rate) * (warm - self.room(props))
            if item["kind"] == "fan_coil" and "load" in props:
                possible = min(possible, si(props["load"], "power"))
            if abs(possible - got) > near + self.part * abs(got):
                yield f"{ident} delivers {got:.1f} W, by its law {possible:.1f}"
        elif self.plain(item):
            if not -1.0 <= got <= si(props["load"], "power") * 1.0001 + 1.0:
                yield f"{ident} delivers {got:.1f} W of {props['load']}"
            if got > near and exit_[1] < self.least(props) - self.near:
                yield f"{ident} delivers {got:.1f} W out of water of {exit_[1]:.2f} degC"

    def plain(self, item: dict[str, Any]) -> bool:
        props = item["props"]
        sized = any(key in props for key in ("ua", "output_per_degree", "rated", "area", "serves", "loops"))
        return "load" in props and not sized and item["kind"] != "fixture"

    def exchangers(self) -> Iterator[str]:
        for ident, item in self.items.items():
            if item["kind"] != "exchanger":
                continue
            sides = [self.streams(ident, (f"{side}_in", f"{side}_out")) for side in "ab"]
            if not all(into and out for into, out in sides):
                continue
            heats = [into[0][0] * (into[0][1] - out[0][1]) for into, out in sides]
            near = 3.0 + self.near * max(into[0][0] for into, _ in sides)
            if abs(sum(heats)) > near + 4e-3 * abs(heats[0]):
                yield f"{ident} takes {heats[0]:.1f} W and gives {-heats[1]:.1f}"
            span = sides[0][0][0][1] - sides[1][0][0][1]
            least = min(into[0][0] for into, _ in sides)
            if heats[0] * span < -near * abs(span) or abs(heats[0]) > least * abs(span) + near:
                yield f"{ident} moves {heats[0]:.1f} W across {span:.2f} K"

    def groups(self) -> list[set[str]]:
        """Items whose flowing water joins; water fed by a main or by a tank of given temperature left out."""
        graph: nx.Graph = nx.Graph()
        for key, pipe in self.pipes.items():
            if abs(self.balance.mass[key]) > LEAST:
                graph.add_edge(pipe["from"][0], pipe["to"][0])
        given = set(self.case.get("tanks", {}))
        mains = {key for key, item in self.items.items() if item["kind"] == "cold_main"}
        return [set(part) for part in nx.connected_components(graph) if not part & (given | mains)]

    def cuts(self) -> Iterator[str]:
        """Loads get one share; with a share under one no running source is above its set point."""
        for group in self.groups():
            shares: dict[str, float] = {}
            for ident in group:
                if self.plain(self.items[ident]):
                    into, out = self.streams(ident)
                    props = self.items[ident]["props"]
                    least = self.least(props)
                    if into and out and out[0][1] > least + 3 * self.near + 0.5:
                        load = si(self.items[ident]["props"]["load"], "power")
                        shares[ident] = self.solved.items[ident]["delivered_w"] / load
            if not shares:
                continue
            if max(shares.values()) - min(shares.values()) > 2e-3:
                yield f"{min(shares)} and others are cut unequally: {sorted(shares.values())}"
            yield from self.needless(group, max(shares.values()))

    def needless(self, group: set[str], share: float) -> Iterator[str]:
        if share > 1.0 - 2e-3:
            return
        margins: dict[str, float] = {}
        for ident in group:
            figures = self.solved.items.get(ident, {})
            _, out = self.streams(ident)
            if (
                self.items[ident]["kind"] in ("boiler", "heater", "heat_pump")
                and figures.get("running")
                and out
            ):
                set_to = si(self.items[ident]["props"]["set_temperature"], "temperature") - 273.15
                if figures.get("duty_share", 0.0) > 1.0 - 1e-6:
                    set_to = out[0][1]  # held by a stat that is on all the time: that is its set point
                margins[ident] = out[0][1] - set_to
        best = max(margins, key=margins.__getitem__, default="")
        if best and margins[best] > 2 * self.near:
            yield f"{best} stands {margins[best]:.2f} K above its set point while loads get {share:.3f}"
        if best and share > 2e-3 and margins[best] < -3 * self.near:
            yield f"{best} stands {margins[best]:.2f} K below its set point while loads get {share:.3f}"

    def water(self) -> Iterator[str]:
        mass, place = self.balance.worst_mass()
        if mass > 1e-5:
            yield f"{place} is out of mass balance by {mass:.3g} kg/s"
        leak, place = self.balance.worst_leak()
        if leak > 1e-8:
            yield f"{place} leaks {leak:.3g} m3/s"
        for what, limit in ((self.balance.worst_pipe, 5.0), (self.balance.worst_item, 20.0)):
            drop, place = what()
            if drop > limit and not self._moved(place):
                yield f"{place} is off its pressure law by {drop:.3g} Pa"

    def _moved(self, place: str) -> bool:
        """A circulator or heater that is not at the one curve that `Balance` knows."""
        item = self.items.get(place)
        return bool(item and (item["props"].get("control") or item["props"].get("throttles")))


def heat_laws_broken(data: dict[str, Any], solved: Solved, case: dict[str, Any]) -> list[str]:
    """Every law that an answer breaks, in sentences; loads are judged within their own water."""
    groups: dict[str, int] = defaultdict(int)
    found = []
    for text in HeatLaws(data, solved, case).broken():
        groups[text.split(maxsplit=1)[0]] += 1
        if groups[text.split(maxsplit=1)[0]] <= 2:
            found.append(text)
    return found
