"""Candidates that change what is there: sizes, curves, speeds, settings, limits, set points, priorities."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from typing import Any

from core import units
from core.cures.candidate import LESS, Candidate, Make, NotTried, Surroundings, ends_open
from core.figures import EmitterFigures, OutletFigures, PumpFigures
from core.hydraulics.network import build
from core.media.tubes import sizes, spoken, tube_of
from core.plant import edits
from core.plant.changes import Change, ReplaceItem
from core.plant.model import Item, Plant, PortRef
from core.questions.asking import asking
from core.questions.intake import NO_FLOW, ZERO
from core.sizing.second_circulator.available import at_hand
from core.thermal.plates import exchanger_ua
from core.vocabulary import Trait, signal_names
from core.water.numbers import reached

NEXT_SIZES = 3
MORE = (1.25, 1.5, 2.0)
THROTTLED = (*LESS, 0.1)
WARMER = (5.0, 10.0)  # [K]
SET_AT = ("set_temperature", "target")
MOST_PIPES = 12  # whose tube is changed, those that lose most
WAITS = "control wiring: see local code; a tank that waits must stay hot enough against Legionella"
GAS = "fuel, venting and combustion air are for a licensed trade"
POWER = "wiring is for a licensed electrician where the load grows"


def prop_changes(name: str, values: Mapping[str, Any]) -> Make:
    """Changes that set properties of an item."""
    return lambda plant: edits.set_props(plant, name, values)


def settings(near: Surroundings) -> Iterator[Candidate]:
    """Every change of what is there that could bring more (or, where it is too warm, less)."""
    yield from tubes(near)
    yield from _loops(near)
    yield from pumps(near)
    yield from _exchangers(near)
    yield from _capacities(near)
    yield from valves(near)
    yield from _set_points(near)
    yield from _priorities(near)


# tubes -----------------------------------------------------------------------------------------------------


def next_sizes(tube: Any, smaller: bool = False) -> list[dict[str, str]]:
    """The next three sizes of the same material; none of a tube that is typed by its bore."""
    if not isinstance(tube, Mapping) or "material" not in tube:
        return []
    names = list(sizes(str(tube["material"])))
    here = tube_of(str(tube["material"]), str(tube["size"])).nominal
    place = names.index(here)
    after = names[max(0, place - 1) : place] if smaller else names[place + 1 : place + 1 + NEXT_SIZES]
    return [{"material": str(tube["material"]), "size": size} for size in after]


def tubes(near: Surroundings) -> Iterator[Candidate]:
    """Larger tube for each pipe of the way, those that lose most first, and for loops; smaller for less."""
    plant = near.plant
    for key in near.pipes[:MOST_PIPES]:
        opens = ends_open(plant, key)
        for step, tube in enumerate(next_sizes(plant.pipes[key].tube, near.sign < 0.0)):
            text = f"{key} in {spoken(tube['material'], tube['size'])}"
            yield Candidate("tube", key, text, partial(_set_tube, key, tube), opens, step=step)
    item = plant.items.get(near.at)
    for step, tube in enumerate(next_sizes(item and item.props.get("tube"), near.sign < 0.0)):
        text = f"{near.at} with loops of {spoken(tube['material'], tube['size'])}"
        opens = _buried(plant.items[near.at]) + ends_open(plant, near.at)
        yield Candidate("tube", near.at, text, prop_changes(near.at, {"tube": tube}), opens, step=step)


def _set_tube(key: str, tube: Mapping[str, str], plant: Plant) -> list[Change]:
    return edits.set_pipe(plant, key, tube=tube)


def _buried(item: Item) -> int:
    """Loops in a made floor cannot be exchanged without breaking it up: counted so that it comes last."""
    return 100 if item.stage in ("existing", "joined", "tested") else 0


def _loops(near: Surroundings) -> Iterator[Candidate]:
    """The same length of tube in more, shorter loops."""
    item = near.plant.items[near.at]
    loops = item.si.get("loops")
    if not loops or near.sign < 0.0:
        return
    count = sum(int(n) for n, _ in loops)
    whole = sum(float(n) * float(length) for n, length in loops)
    for more in (1, 2):
        each = whole / (count + more)
        typed = f"{units.to_unit(each, _length_unit(near.plant)):.4g} {_length_unit(near.plant)}"
        text = f"{near.at} in {count + more} loops of {typed} instead of {count}"
        make = prop_changes(near.at, {"loops": [[count + more, typed]]})
        opens = _buried(item) + ends_open(near.plant, near.at)
        yield Candidate("length", near.at, text, make, opens, step=more)


def _length_unit(plant: Plant) -> str:
    return "m" if plant.units == "si" else "ft"


# circulators -----------------------------------------------------------------------------------------------


def pumps(near: Surroundings) -> Iterator[Candidate]:
    """Other speeds, curves and controls of running circulators."""
    plant = near.plant
    own = {item.id for item in near.with_trait(Trait.DRIVES)}
    for item in plant.with_trait(Trait.DRIVES):
        figures = near.solution.at(item.id, PumpFigures)
        if figures is None or not figures.running or item.id not in near.joined:
            continue
        if item.id not in own:
            if near.sign > 0.0 and not drinking(plant, item.id):
                yield from _slower(near, item)
            continue
        yield from _speeds(near, item)
        yield from _controls(item)
        for pump in at_hand(plant):
            if pump.props.get("curve") == item.props.get("curve"):
                continue
            values = {key: pump.props.get(key) for key in ("curve", "watts", "amps", "invented")}
            text = f"{item.id} with the curve {pump.title}"
            make = prop_changes(item.id, values)
            strength = float(pump.shut_off or 0.0) * float(pump.run_out or 0.0)
            yield Candidate("curve", item.id, text, make, ends_open(plant, item.id), POWER, strength)


def _speeds(near: Surroundings, item: Item) -> Iterator[Candidate]:
    speed = float(item.si.get("speed") or 1.0)
    if near.sign > 0.0 and speed < 1.0:
        for other in dict.fromkeys(min(1.0, speed * times) for times in (*MORE, 1.0 / speed)):
            text = f"{item.id} at {other:.0%} speed instead of {speed:.0%}"
            make = prop_changes(item.id, {"speed": round(other, 4)})
            yield Candidate("speed", item.id, text, make, step=other)
    if near.sign < 0.0:
        yield from _slower(near, item)


def _slower(near: Surroundings, item: Item) -> Iterator[Candidate]:
    speed = float(item.si.get("speed") or 1.0)
    for share in near.less:
        text = f"{item.id} at {speed * share:.0%} speed instead of {speed:.0%}"
        make = prop_changes(item.id, {"speed": round(speed * share, 4)})
        yield Candidate("speed", item.id, text, make, step=-share)


def _controls(item: Item) -> Iterator[Candidate]:
    control = item.si.get("control") or "fixed"
    if control == "fixed":
        return
    values = {"control": "fixed", "target": None}
    text = f"{item.id} at fixed speed instead of {str(control).replace('_', ' ')}"
    yield Candidate("control", item.id, text, prop_changes(item.id, values))
    target = item.si.get("target")
    if control == "delta_t" and isinstance(target, float):
        for share in LESS[:2]:
            text = f"{item.id} holding a difference of {share * target:.3g} K instead of {target:.3g} K"
            make = prop_changes(item.id, {"target": f"{share * target:.4g} K"})
            yield Candidate("difference", item.id, text, make, step=-share)


# heat ------------------------------------------------------------------------------------------------------


def _exchangers(near: Surroundings) -> Iterator[Candidate]:
    plant = near.plant
    net = build(plant)
    for item in near.with_trait(Trait.EXCHANGES_HEAT):
        if not near.passes_heat(item.id):
            continue
        opens = ends_open(plant, item.id)
        fouling = float(item.si.get("fouling") or 0.0)
        clean = exchanger_ua(net, item.id) / (1.0 - fouling) if fouling < 1.0 else 0.0
        if fouling > 0.0:
            make = prop_changes(item.id, {"fouling": 0.0})
            yield Candidate("exchanger", item.id, f"{item.id} descaled, clean", make, step=1.0)
        for times in MORE if clean > 0.0 and near.sign > 0.0 else ():
            make = prop_changes(item.id, {"ua": f"{clean * times:.6g} W/K", "rated": None})
            text = f"{item.id} with {times:g} times its UA"
            yield Candidate("exchanger", item.id, text, make, opens, step=times)
    for item in near.with_trait(Trait.HAS_COIL):
        coil = item.si.get("coil_ua")
        for times in MORE if coil is not None and near.sign > 0.0 else ():
            make = prop_changes(item.id, {"coil_ua": f"{float(coil or 0.0) * times:.6g} W/K"})
            text = f"{item.id} with {times:g} times the UA of its coil"
            yield Candidate("exchanger", item.id, text, make, ends_open(plant, item.id), step=times)


def _capacities(near: Surroundings) -> Iterator[Candidate]:
    plant = near.plant
    for item in plant.with_trait(Trait.MAKES_HEAT):
        capacity, table = item.si.get("capacity"), item.si.get("table")
        if item.id not in near.joined or near.sign < 0.0:
            continue
        for times in MORE if table else ():
            make = prop_changes(item.id, {"table": [_stronger(row, times) for row in table or ()]})
            text = f"{item.id} of {times:g} times its heat and power"
            yield Candidate("capacity", item.id, text, make, ends_open(plant, item.id), POWER, times)
        if not capacity:
            continue
        for times in MORE:
            make = prop_changes(item.id, {"capacity": f"{float(capacity) * times:.6g} W", "fuel_input": None})
            shown = units.show(float(capacity) * times, "power", plant.units)
            text = f"{item.id} of {shown}, {times:g} times its capacity"
            yield Candidate("capacity", item.id, text, make, ends_open(plant, item.id), GAS, times)


def _stronger(row: Any, times: float) -> list[str]:
    """A row of a heat pump's table: outdoors and supply as they are, heat and power times as much."""
    outdoor, supply, heat, power = (float(value) for value in row)
    warm = (f"{value - ZERO:.6g} degC" for value in (outdoor, supply))
    return [*warm, *(f"{times * value:.6g} W" for value in (heat, power))]


# valves ----------------------------------------------------------------------------------------------------


def valves(near: Surroundings) -> Iterator[Candidate]:
    """Balance valves: its own opened, those of others throttled or limited."""
    plant = near.plant
    for item in plant.with_trait(Trait.BALANCES):
        if item.id not in near.joined or drinking(plant, item.id):  # a recirculation must keep its flow
            continue
        own, flow = item.id in near.way and _series(near, item.id), abs(near.solution.flow(item.id))
        typed = item.si.get("setting")
        setting = 1.0 if typed is None else float(typed)
        if item.si.get("set_flow") is None and item.si.get("cv"):
            if own == (near.sign > 0.0) and own and setting < 1.0:
                yield _balance(item.id, 1.0)
            elif own != (near.sign > 0.0) and flow > NO_FLOW:
                yield from (_balance(item.id, round(setting * share, 4)) for share in THROTTLED)
        if flow <= NO_FLOW:
            continue
        set_flow = item.si.get("set_flow")
        if own and near.sign > 0.0 and set_flow:
            yield from (_limit(near, item.id, float(set_flow) * times, times) for times in MORE)
        elif own != (near.sign > 0.0) and (set_flow or item.si.get("setting") is None):
            yield from (_limit(near, item.id, flow * share, -share) for share in near.less)


def _series(near: Surroundings, key: str) -> bool:
    """Whether the circuit's own water, and no other circuit's, runs through a valve."""
    own = abs(near.solution.flow(near.at))
    return abs(abs(near.solution.flow(key)) - own) <= 0.02 * own


def _balance(key: str, setting: float) -> Candidate:
    text = f"{key} {setting:.0%} open"
    return Candidate("balance", key, text, prop_changes(key, {"setting": setting}), step=abs(1.0 - setting))


def _limit(near: Surroundings, key: str, flow: float, step: float) -> Candidate:
    unit = "L/s" if near.plant.units == "si" else "gpm"
    typed = f"{units.to_unit(flow, unit):.4g} {unit}"
    make = prop_changes(key, {"set_flow": typed, "setting": None})
    return Candidate("limiter", key, f"{key} limiting to {typed}", make, step=step)


# set points and priority -----------------------------------------------------------------------------------


def _set_points(near: Surroundings) -> Iterator[Candidate]:
    """Warmer sources and mixing valves, where everything their water reaches says how warm it may get; cooler
    mixing valves where a circuit gets too much. Never drinking water, and nothing that heats it."""
    plant = near.plant
    if near.is_tap:
        return
    traits = (Trait.MAKES_HEAT, Trait.MIXES) if near.sign > 0.0 else (Trait.MIXES,)
    for item in near.with_trait(*traits):
        name = next((key for key in SET_AT if isinstance(item.si.get(key), float)), "")
        if not name:
            continue
        downstream = reaches(near, item)
        limit = hottest_allowed(near.plant, downstream)
        if downstream is None or (near.sign > 0.0 and limit is None):
            continue
        for more in WARMER:
            other = float(item.si[name]) + near.sign * more
            if near.sign < 0.0 or other <= float(limit or 0.0):
                typed = _temperature(plant, other)
                how = "warmer" if near.sign > 0.0 else "cooler"
                text = f"{item.id} set to {typed}, {more:g} K {how}"
                make = prop_changes(item.id, {name: typed})
                yield Candidate("set_point", item.id, text, make, step=more)


def _temperature(plant: Plant, kelvin: float) -> str:
    unit = "degC" if plant.units == "si" else "degF"
    return f"{units.to_unit(kelvin, unit):.4g} {unit}"


def reaches(near: Surroundings, source: Item) -> set[str] | None:
    """Items that the water of a source or mixing valve reaches, or its heat through a wall; None where
    drinking water is among them, or a store."""

    def onward(place: PortRef) -> list[PortRef]:
        across = [w.other if w.one == place else w.one for w in near.graph.walls if place in (w.one, w.other)]
        return [*near.stream.downstream(place)[1:], *across]

    starts = list(near.graph.places_of[source.id])
    if source.has(Trait.MIXES):
        starts = [place for place in starts if place.port == source.ports[-1]]
    found = {place.item for place in reached(starts, onward)} & near.plant.items.keys() | {source.id}
    for key in found:
        if near.plant.items[key].has(Trait.TANK, Trait.DRAWS_WATER) or drinking(near.plant, key):
            return None
    return found


def hottest_allowed(plant: Plant, keys: set[str] | None) -> float | None:
    """The lowest max_temperature, or stop, of some items, [K]; None where any has none."""
    limits = []
    for item in (plant.items[key] for key in keys or ()):
        if item.has(Trait.JOINS):
            continue
        limit = item.si.get("max_temperature")
        if not isinstance(limit, float):
            return None
        limits.append(limit)
        stop = item.si.get("high_limit")
        if isinstance(stop, float) and not isinstance(stop, bool):
            limits.append(stop)
    return min(limits, default=None)


def drinking(plant: Plant, key: str) -> bool:
    """Whether an item holds drinking water."""
    return any(
        plant.systems[pipe.system].use == "potable"
        for pipe in plant.pipes.values()
        if key in (pipe.start.item, pipe.end.item)
    )


def _priorities(near: Surroundings) -> Iterator[Candidate]:
    """Another call held off while this circuit's own is on."""
    plant, on = near.plant, near.solution.signals
    own = own_calls(near)
    if not own or near.sign < 0.0:
        return
    for call in asking(plant):
        if not on.get(call) or call in own:
            continue
        moves = plant.with_trait(Trait.DRIVES, Trait.OPENS_BY_SIGNAL)
        runs = [i for i in moves if _only(i, call, own) and not drinking(plant, i.id)]
        if runs:
            names = " and ".join(item.id for item in runs)
            text = f"{own[0]} before {call}: {names} wait{'s' * (len(runs) == 1)} while {own[0]} calls"
            make = partial(_hold_off, [item.id for item in runs], own[0])
            yield Candidate("priority", runs[0].id, text, make, 0, WAITS)


def own_calls(near: Surroundings) -> list[str]:
    """Calls without which the circuit would not flow, or what heats a tap: those that alone run what brings
    it its heat."""
    found: list[set[str]] = []
    for item in near.with_trait(Trait.DRIVES, Trait.OPENS_BY_SIGNAL):
        names = set(signal_names(item.si.get("run_when")))
        if names and near.solution.signals.keys() & names:
            found.append(names & set(asking(near.plant)))
    alone = [names for names in found if len(names) == 1]
    judged = isinstance(near.solution.items.get(near.at), (EmitterFigures, OutletFigures))
    return sorted(alone[0]) if alone and judged else []


def _only(item: Item, call: str, own: list[str]) -> bool:
    names = set(signal_names(item.si.get("run_when")))
    return call in names and not names & set(own)


def _hold_off(keys: list[str], own: str, plant: Plant) -> list[Change]:
    changes: list[Change] = []
    for key in keys:
        item = plant.items[key]
        run = {"all": [item.props.get("run_when", True), {"not": own}]}
        changes.append(ReplaceItem(replace(item, props={**item.props, "run_when": run})))
    return changes


def not_tried(near: Surroundings) -> Iterator[NotTried]:
    """Sorts of change that were left out, each with its reason."""
    yield NotTried("length", "shorter pipes: their length follows from where things stand")
    if not near.is_tap and near.sign > 0.0:
        for item in near.with_trait(Trait.MAKES_HEAT):
            if item.si.get("set_temperature") is None:
                continue
            if hottest_allowed(near.plant, reaches(near, item)) is None:
                why = "not all that its water reaches has a highest temperature, or it heats drinking water"
                yield NotTried("set_point", f"{item.id} warmer: {why}")
    if not own_calls(near):
        yield NotTried("priority", "no single call of its own is named in what runs it")
