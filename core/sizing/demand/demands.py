"""What asks for flow: circuits that give heat, and exchangers and separators that pass it on.

For each its load, its design temperature difference, the flow that follows, and the pipes that carry it.
Which cases let several ask at once is read from the solved cases.

* Design difference: the target of the delta-T circulator that senses the circuit, else the rated point, else
  common practice (floor 15 °F or 8 K, melt 25 °F or 14 K, others 20 °F or 10 K); never the solved one. Of a
  separator no more than what is drawn behind it makes.
* A circuit's water is followed through the case in which it carries most heat.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

from core.plant.model import Case, Item, PortRef
from core.sizing.context import ZERO, Context, MissingInput, memo, symbol_of
from core.sizing.demand.loads import load_of
from core.sizing.demand.returns import Loop, charging_ways, loops, needed_flow
from core.sizing.demand.tracing import STILL, Place, Trace, passing
from core.sizing.trial import solved_with
from core.solve import Solution
from core.vocabulary import Trait
from core.vocabulary.heat_roles import USUAL_DIFFERENCE, HeatEmitter
from core.working import Working, given, typed

# Pushes water through anything, so that ways show; no product, and no figure of it is used.
STAND_IN = {"curve": [["0 L/s", "12 m_head"], ["2 L/s", "4 m_head"]]}
EVERY_CALL = "every call at once"
NOTABLE = 0.02  # share of a circuit's water below which a pipe does not count as carrying it


@dataclass(frozen=True)
class Way:
    """How a circuit's water went in the case followed.

    `shares` is by pipe; `ports` where water came in and went out; `traced` the case.
    """

    place: Place
    traced: str = ""
    ports: tuple[PortRef, PortRef] | None = None
    shares: Mapping[str, float] = field(default_factory=dict)
    givers: Mapping[Place, float] = field(default_factory=dict)
    solution: Solution | None = None


@dataclass(frozen=True)
class Demand:
    """One circuit's design.

    Attributes
    ----------
    way : Way
    flow : Working
        Flow [m^3/s] with everything behind it asking
    load, difference : Working or None
        Heat [W], temperature difference [K]; None of a limiter, whose flow is typed
    by_case : dict
        Flow in each case that has it asking, [m^3/s]
    """

    way: Way
    flow: Working
    by_case: Mapping[str, Working]
    load: Working | None = None
    difference: Working | None = None

    @property
    def heat(self) -> float:
        """Heat that it must have, [W]."""
        return 0.0 if self.load is None else float(self.load.value)

    @property
    def at(self) -> str:
        return self.way.place.item


class Demands:
    """The demands of a plant, and what keeps some from being found."""

    def __init__(self, context: Context) -> None:
        self.context = context
        self.ways: dict[Place, Way] = {}
        self.found: dict[Place, Demand] = {}
        self.lacking: dict[str, tuple[str, ...]] = {}
        self._traces: dict[str, Trace] = {}
        self._extra: Solution | None = None
        returns = loops(context)
        places = [*self._places(), *(Place(loop.circulator) for loop in returns)]
        for place in places[: len(places) - len(returns)]:
            self.ways[place] = self._way(place, places)
        for place in self.ways:
            self._find(place, ())
        for loop in returns:
            self._returned(loop)
        for loop in charging_ways(context):
            self._charging(loop)
        for item in self._items():
            if item.has(Trait.BALANCES) and item.si.get("set_flow"):
                self._limited(item, places)

    def _limited(self, item: Item, places: list[Place]) -> None:
        """A branch with a typed limit that no circuit asks water of, such as a tank's charging."""
        pipes = [
            p for port in item.ports for p in self.context.plant.pipes_at.get(PortRef(item.id, port), ())
        ]
        if any(True for pipe in pipes for _ in self.passing(pipe)):
            return
        place = Place(item.id)
        way = self._way(place, [*places, place])
        flow = self.context.prop("Q", f"flow set at {item.id}", item.id, "set_flow")
        if flow is None or not way.shares:
            return
        cases = [c.name for c, _ in self.context.converged() if self.trace(c.name).through(place) > STILL]
        self.found[place] = Demand(way, flow, dict.fromkeys(cases, flow))

    def _returned(self, loop: Loop) -> None:
        """A hot water return: its flow is what makes up for the pipes' loss, in every case that runs it."""
        flow = needed_flow(self.context, loop)
        if flow is None:
            return
        place = Place(loop.circulator)
        running = [
            case.name
            for case, _ in self.context.converged()
            if self.context.solution(case.name).running(loop.circulator)
        ]
        way = Way(place, loop.case, self.trace(loop.case).ports(place), loop.shares)
        self.found[place] = Demand(way, flow, dict.fromkeys(running, flow))

    def _charging(self, loop: Loop) -> None:
        """A tank's charging: it carries all the heat that the sources on its way can give."""
        context, place = self.context, Place(loop.circulator)
        trace = self.trace(loop.case)
        parts = [
            replace(power, symbol=symbol_of("P", item.id))
            for item in self._items()
            if item.has(Trait.MAKES_HEAT)
            and passing(loop.shares, trace, Place(item.id)) > NOTABLE
            and (power := context.prop("P", f"capacity of {item.id}", item.id, "capacity")) is not None
        ]
        if not parts:
            return
        way = Way(place, loop.case, trace.ports(place), loop.shares)
        load = Working(
            "Φ", f"heat of the sources that {loop.circulator} takes to the tank",
            sum(float(part.value) for part in parts), "power",
            " + ".join(part.symbol for part in parts), tuple(parts),
        )  # fmt: skip
        difference = self._typed_difference(way) or self._usual_difference(way)
        flow = self._flow(way, load, difference)
        from_practice = " (common practice, no source)" if difference.origin == "practice" else ""
        how = (
            f"it takes the {context.shown(load.value, 'power')} that the sources on its way can give to the "
            f"tank, at a difference of {difference.shown(context.display)}{from_practice}"
        )
        running = [
            c.name for c, _ in context.converged() if context.solution(c.name).running(loop.circulator)
        ]
        flow = replace(flow, how=how)
        self.found[place] = Demand(way, flow, dict.fromkeys(running, flow))

    def passing(self, pipe: str) -> Iterator[tuple[Demand, float]]:
        """The demands whose water passes a pipe, with the share that does."""
        for demand in self.found.values():
            share = demand.way.shares.get(pipe, 0.0)
            if share > NOTABLE:
                yield demand, share

    def of(self, item: str) -> Demand | None:
        """The demand of an item."""
        return next((d for d in self.found.values() if d.at == item), None)

    # Places and ways ---------------------------------------------------------------------------------------

    def _items(self) -> Iterator[Item]:
        return (item for item in self.context.plant.items.values() if item.stage != "to_remove")

    def _places(self) -> Iterator[Place]:
        for item in self._items():
            if item.has(Trait.GIVES_HEAT):
                yield Place(item.id)
            elif item.has(Trait.EXCHANGES_HEAT):
                yield Place(item.id, self._hot_side(item.id))
            elif item.has(Trait.PARTS_FLOWS):
                yield Place(item.id, "a")
            elif item.has(Trait.HAS_COIL):
                yield Place(item.id, "coil")

    def _hot_side(self, item: str) -> str:
        """Side that gives the heat in the case of the greatest duty; without any, the one with a source."""
        worst = self.context.worst(item, "duty_w")
        if worst is not None and worst.value > 1.0:
            trace = self.trace(worst.case)
            warm = {}
            for side in ("a", "b"):
                ports = trace.ports(Place(item, side))
                leaf = ports and port_temperature(self.context, "T", "", ports[0], trace, worst.case)
                warm[side] = float(leaf.value) if leaf else 0.0
            return max(warm, key=warm.__getitem__)
        trace = self.trace(EVERY_CALL)
        for side in ("a", "b"):
            shares = trace.shares(Place(item, side), ())
            if any(
                passing(shares, trace, Place(i.id)) > NOTABLE
                for i in self._items()
                if i.has(Trait.MAKES_HEAT)
            ):
                return side
        return "a"

    def trace(self, case: str) -> Trace:
        """The pipes of a case in the direction of their flow."""
        if case not in self._traces:
            self._traces[case] = Trace(self.context.plant, self.solution(case))
        return self._traces[case]

    def solution(self, case: str) -> Solution:
        """The solved case of that name, or that of every call at once."""
        return self._every_call() if case == EVERY_CALL else self.context.solution(case)

    def _every_call(self) -> Solution:
        """A case in which all signals are on, for circuits that no case of the file lets flow.

        Circulators without a curve get a stand-in there: it shows where the water would go, not how much.
        """
        if self._extra is None:
            plant = self.context.plant
            signals = dict.fromkeys(plant.signal_ids, True)
            first = self.context.cases[0]
            case = Case(EVERY_CALL, plant.site.get("outdoor_design"), signals, tanks=first.tanks)
            bare = {i.id: STAND_IN for i in self._items() if i.has(Trait.DRIVES) and not i.si.get("curve")}
            self._extra = (
                solved_with(self.context, case, bare, "stand-ins") if bare else self.context.solve(case)
            )
        return self._extra

    def _way(self, place: Place, places: list[Place]) -> Way:
        cases = [c.name for c, _ in self.context.converged() if self.trace(c.name).through(place) > STILL]
        case = max(cases, key=lambda name: self._heat(place, name), default=EVERY_CALL)
        trace = self.trace(case)
        stores = [Place(item.id) for item in self._items() if item.has(Trait.TANK)]
        shares = trace.shares(place, places, stores)
        if not shares:
            return Way(place)
        passed = {giver: passing(shares, trace, giver) for giver in self._givers(places, place)}
        total = sum(passed.values())
        givers = {giver: share / total for giver, share in passed.items() if share > 1e-6}
        solution = self._extra if case == EVERY_CALL else self.context.solution(case)
        return Way(place, case, trace.ports(place), shares, givers, solution)

    def _givers(self, places: list[Place], own: Place) -> Iterator[Place]:
        for item in self._items():
            if item.has(Trait.MAKES_HEAT):
                yield Place(item.id)
        for place in places:
            if _hands_on(place) and place.item != own.item:
                yield _cold(place)

    def _heat(self, place: Place, case: str) -> float:
        """Flow times temperature difference of a place in a case, [m^3 K/s]: its heat but for rho c."""
        trace = self.trace(case)
        ports = trace.ports(place)
        ends = ports and [port_temperature(self.context, "T", "", port, trace, case) for port in ports]
        if not ends or ends[0] is None or ends[1] is None:
            return 0.0
        return trace.through(place) * abs(float(ends[0].value) - float(ends[1].value))

    # Load, difference, flow --------------------------------------------------------------------------------

    def _find(self, place: Place, asked_by: tuple[Place, ...]) -> Demand | None:
        if place in self.found or place in asked_by:
            return self.found.get(place)
        way = self.ways[place]
        try:
            behind = self._behind(place, (*asked_by, place)) if _hands_on(place) else []
            load = self._passed_on(place, behind) if _hands_on(place) else load_of(self.context, place.item)
            if load is None or float(load.value) <= 0.0:
                return None
            difference = self._difference(way)
            if difference.origin == "practice" and self.context.plant.items[place.item].has(
                Trait.PARTS_FLOWS
            ):
                difference = min(
                    difference, *self._drawn(way, load, behind), key=lambda one: float(one.value)
                )
            flow = self._flow(way, load, difference)
        except MissingInput as lack:
            self.lacking[place.item] = lack.sentences
            return None
        by_case = {}
        for case, _ in self.context.converged():
            asking = [(share, d) for share, d in behind if case.name in d.by_case]
            if _hands_on(place) and asking and len(asking) < len(behind):
                part = self._passed_on(place, asking, case.name)
                assert part is not None
                by_case[case.name] = self._flow(way, part, difference)
            elif asking or (not _hands_on(place) and self.trace(case.name).through(place) > STILL):
                by_case[case.name] = flow
        self.found[place] = Demand(way, flow, by_case, load, difference)
        return self.found[place]

    def _behind(self, place: Place, asked_by: tuple[Place, ...]) -> list[tuple[float, Demand]]:
        """The demands that draw their heat through a place, with the share of it that they do."""
        cold = _cold(place)
        found = []
        for other, way in self.ways.items():
            if cold in way.givers and (demand := self._find(other, asked_by)) is not None and demand.load:
                found.append((way.givers[cold], demand))
        return found

    def _passed_on(self, place: Place, behind: list[tuple[float, Demand]], case: str = "") -> Working | None:
        """Heat that an exchanger or a separator must pass on."""
        if not behind:
            return None
        inputs: list[Working] = []
        terms = []
        for share, demand in behind:
            assert demand.load is not None
            load = replace(demand.load, symbol=symbol_of("Φ", demand.at))
            inputs.append(load)
            terms.append(load.symbol)
            if share < 1.0 - 1e-6:
                letter = symbol_of("s", demand.at)
                inputs.append(
                    _share(letter, f"share of {demand.at}'s heat that comes through {place.item}", share)
                )
                terms[-1] = f"{letter} * {load.symbol}"
        value = sum(share * demand.heat for share, demand in behind)
        words = f"heat that {place.item} must pass on" + (f" in {case}" if case else "")
        return Working("Φ", words, value, "power", " + ".join(terms), tuple(inputs))

    def _drawn(self, way: Way, load: Working, behind: list[tuple[float, Demand]]) -> list[Working]:
        """Difference that the circuits behind a separator make of what they draw from it, [K].

        With less water on its giving side than they draw, it would cool their supply.
        """
        inputs: list[Working] = []
        terms, total = [], 0.0
        for _, demand in behind:
            share = passing(demand.way.shares, self.trace(demand.way.traced), _cold(way.place))
            flow, letter = replace(demand.flow, symbol=symbol_of("Q", demand.at)), symbol_of("s", demand.at)
            words = f"share of {demand.at}'s water that comes from {way.place.item}"
            inputs += [flow, _share(letter, words, share)]
            terms.append(f"{letter} * {flow.symbol}")
            total += share * float(flow.value)
        if total <= 0.0:
            return []
        words = f"what the circuits behind {way.place.item} draw from it"
        drawn = Working("Q_drawn", words, total, "flow", " + ".join(terms), tuple(inputs))
        density, capacity = self._flow(way, load, drawn).inputs[1:3]
        value = float(load.value) / (float(density.value) * float(capacity.value) * total)
        words = f"difference of {way.place.item} with as much water as is drawn from it"
        return [
            Working("ΔT", words, value, "temperature_difference", "Φ / (ρ * c * Q_drawn)",
                    (load, density, capacity, drawn), "with as much water as is drawn behind it")
        ]  # fmt: skip

    def _flow(self, way: Way, load: Working, difference: Working) -> Working:
        context = self.context
        item = way.place.item
        system = context.system_at(item, *((way.ports[0].port,) if way.ports else ()))
        if system is None:
            raise MissingInput(f"{item}: no pipe at any of its ports, so its fluid is not known")
        mean = self._mean_temperature(way)
        density = context.fluid_leaf("density", system, mean)
        capacity = context.fluid_leaf("heat_capacity", system, mean)
        value = float(load.value) / (float(density.value) * float(capacity.value) * float(difference.value))
        return Working(
            "Q",
            f"design flow of {item}",
            value,
            "flow",
            "Φ / (ρ * c * ΔT)",
            (load, density, capacity, difference),
            source="heat balance of the water (first law)",
        )

    def _mean_temperature(self, way: Way) -> Working:
        ends = self._ends(way)
        if ends is None:
            return given("T", "mean water temperature", 50.0 + ZERO, "temperature", "practice")
        warm, cool = ends
        value = 0.5 * (float(warm.value) + float(cool.value))
        words = f"mean water temperature of {way.place.item}"
        return Working("T", words, value, "temperature", "(T_in + T_back) / 2", (warm, cool))

    def _ends(self, way: Way) -> tuple[Working, Working] | None:
        """Temperatures at inlet and outlet in the case followed."""
        if way.ports is None or way.traced == EVERY_CALL:
            return None
        trace, at = self.trace(way.traced), way.place.item
        warm = port_temperature(self.context, "T_in", f"inlet of {at}", way.ports[0], trace, way.traced)
        cool = port_temperature(self.context, "T_back", f"outlet of {at}", way.ports[1], trace, way.traced)
        return (warm, cool) if warm and cool else None

    def _difference(self, way: Way) -> Working:
        """Design temperature difference: typed, rated, or common practice, in that order.

        Never the solved one: a circulator too large would make it small, and confirm its own flow by it.
        """
        return self._typed_difference(way) or self._rated_difference(way) or self._usual_difference(way)

    def _usual_difference(self, way: Way) -> Working:
        """What such a circuit is usually laid out for, whatever the circulator drawn makes of it."""
        role = self.context.plant.items[way.place.item].kind_info.heat
        us, si = role.difference if isinstance(role, HeatEmitter) else USUAL_DIFFERENCE
        return Working(
            "ΔT",
            f"design temperature difference of {way.place.item}",
            si if self.context.display == "si" else us,
            "temperature_difference",
            how="nothing typed: the usual difference of such a circuit",
            origin="practice",
        )

    def _typed_difference(self, way: Way) -> Working | None:
        """Target of the delta-T circulator that senses this circuit, or where all of its water passes."""
        for item in self._items():
            target = item.si.get("target")
            if (
                not item.has(Trait.DRIVES)
                or item.si.get("control") != "delta_t"
                or not isinstance(target, float)
            ):
                continue
            senses = [tuple(map(str, place)) for place in item.si.get("senses") or ()]
            if any(place[0] == way.place.item for place in senses) or all(
                self._carries_all(way, place) for place in senses or [(item.id, "in")]
            ):
                path, text = f"items.{item.id}.props.target", str(item.props.get("target", ""))
                words = f"difference held by {item.id}"
                return Working(
                    "ΔT", words, target, "temperature_difference", origin="typed", path=path, typed=text
                )
        return None

    def _carries_all(self, way: Way, place: tuple[str, ...]) -> bool:
        """Whether all water of a way passes a port, or a pipe."""
        pipes = place if len(place) == 1 else self.context.plant.pipes_at.get(PortRef(*place[:2]), ())
        return any(way.shares.get(pipe, 0.0) > 0.99 for pipe in pipes)

    def _rated_difference(self, way: Way) -> Working | None:
        """ΔT of a radiator's rated point: heat / (ρ c flow)."""
        item = self.context.plant.items[way.place.item]
        rated = item.si.get("rated")
        system = self.context.system_at(item.id)
        if not rated or not item.has(Trait.GIVES_HEAT) or system is None:
            return None
        raw, path = item.props["rated"], f"items.{item.id}.props.rated"

        def part(symbol: str, name: str, dimension: str) -> Working:
            return typed(symbol, f"rated {name}", rated[name], dimension, f"{path}.{name}", str(raw[name]))

        heat, flow = part("Φ_r", "heat", "power"), part("Q_r", "flow", "flow")
        supply = part("T", "supply", "temperature")
        density = self.context.fluid_leaf("density", system, supply)
        capacity = self.context.fluid_leaf("heat_capacity", system, supply)
        value = rated["heat"] / (float(density.value) * float(capacity.value) * rated["flow"])
        words = f"temperature difference of {item.id} at its rated point"
        inputs = (heat, density, capacity, flow)
        return Working("ΔT", words, value, "temperature_difference", "Φ_r / (ρ * c * Q_r)", inputs)


@memo
def demands(context: Context) -> Demands:
    """The demands of a context's plant."""
    return Demands(context)


def _hands_on(place: Place) -> bool:
    """Whether a place passes heat on to other circuits: an exchanger's or separator's giving side."""
    return place.side in ("a", "b")


def _cold(place: Place) -> Place:
    """The side of an exchanger or separator that takes heat up, from the side that gives it."""
    return Place(place.item, "b" if place.side == "a" else "a")


def _share(symbol: str, words: str, value: float) -> Working:
    how = "share of the water that goes that way in the solved case, where ways part in proportion to flow"
    return Working(symbol, words, value, how=how, origin="solved")


def port_temperature(
    context: Context, symbol: str, words: str, port: PortRef, trace: Trace, case: str
) -> Working | None:
    """Solved temperature at a port, from the pipe there that carries most; None with all of them still."""
    pipes = [name for name in context.plant.pipes_at.get(port, ()) if name in trace.flow]
    if not pipes or case == EVERY_CALL:
        return None
    pipe = max(pipes, key=trace.flow.__getitem__)
    key = "temperature_in_c" if context.plant.pipes[pipe].start == port else "temperature_out_c"
    return context.solved(symbol, words, pipe, key, case)
