"""Purging air out of a closed body, loop by loop: what to shut, where water goes in and out. Common practice.

A valve belongs to the loops that have no way round any more once it is shut. To purge one loop, valves are
shut until no other has a way. Loops that no valve parts are purged together.
"""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass

from core.papers.plant_words import listed
from core.plant.model import Item, Plant, PortRef
from core.vocabulary import Trait
from core.water.connections import bodies, driven
from core.water.ways import WaterGraph, past_shut_valves

SHUTS = (Trait.HAND_VALVE, Trait.BALANCES, Trait.OPENS_BY_SIGNAL)
LOOPS = (Trait.GIVES_HEAT, Trait.EXCHANGES_HEAT, Trait.HAS_COIL)


@dataclass(frozen=True)
class Loop:
    """One loop to purge: what lies in it, valves to shut meanwhile, and loops that no valve parts from it."""

    at: tuple[str, ...]
    shut: tuple[str, ...]
    together: tuple[str, ...] = ()


@dataclass(frozen=True)
class Purge:
    """One closed body: its system, hose drains with a valve beside them, other drains, fill valves, loops."""

    system: str
    sets: tuple[str, ...]
    drains: tuple[str, ...]
    fills: tuple[str, ...]
    loops: tuple[Loop, ...]


def purges(plant: Plant, graph: WaterGraph) -> list[Purge]:
    """Every closed body with loops in it, in the order of the file."""
    out = []
    for body in bodies(graph):
        pipes = [p for p in plant.pipes.values() if p.start in body and p.stage != "to_remove"]
        if not pipes or plant.systems[pipes[0].system].use == "potable":
            continue
        items = [item for item in graph.items_at(body) if item.stays]
        sets = [item.id for item in items if item.has(Trait.HAND_VALVE) and item.has(Trait.DRAINS)]
        loops = _loops(plant, graph, body, items, sets[:1])
        if not loops:
            continue
        drains = [item.id for item in items if item.has(Trait.DRAINS) and item.has(Trait.ENDS_RUN)]
        drains += [i.id for i in items if _hose_beside(i, body)]
        fills = [item.id for item in items if item.has(Trait.FILLS)]
        out.append(Purge(pipes[0].system, tuple(sets), tuple(drains), tuple(fills), loops))
    return out


def _hose_beside(item: Item, body: Set[PortRef]) -> bool:
    """Whether it is a hand valve of this body with a hose port."""
    hand = item.has(Trait.HAND_VALVE) and not item.has(Trait.DRAINS)
    return hand and any(PortRef(item.id, port) in body for port in item.kind_info.capped)


def _loops(
    plant: Plant, graph: WaterGraph, body: Set[PortRef], items: list[Item], in_use: list[str]
) -> tuple[Loop, ...]:
    """Loops of a body, each with what to shut; `in_use` is the valve that the hose hangs on."""
    pumps = [item.id for item in plant.with_trait(Trait.DRIVES)]

    def without_way(shut: Set[str]) -> frozenset[str]:
        alive = {
            way.key
            for way in driven(graph, pumps, past_shut_valves(shut), main_too=True)
            if way.start in body
        }
        return frozenset(item.id for item in items if item.has(*LOOPS) and item.id not in alive)

    never = without_way(frozenset())
    loops = [item.id for item in items if item.has(*LOOPS) and item.id not in never]
    valves = [item.id for item in items if item.has(*SHUTS) and item.id not in in_use]
    stilled = {valve: without_way(frozenset({valve})) - never for valve in valves}
    found = [_loop(name, loops, {v: still for v, still in stilled.items() if still}) for name in loops]
    rows = {}
    for loop in found:
        alike = tuple(name for name in loops if name in (*loop.at, *loop.together))
        mutual = all(other.shut == loop.shut and {*other.at, *other.together} == {*alike} for other in found
                     if other.at[0] in alike)  # fmt: skip
        rows[alike if mutual else loop.at] = Loop(alike, loop.shut) if mutual else loop
    return tuple(rows.values())


def _loop(name: str, loops: list[str], stilled: Mapping[str, frozenset[str]]) -> Loop:
    """As few valves as still every other loop that can be stilled without this one."""
    others = {other for other in loops if other != name}
    shut: list[str] = []
    while others:
        choices = [v for v, found in stilled.items() if name not in found and found & others]
        if not choices:
            break
        best = max(choices, key=lambda valve: len(stilled[valve] & others))
        shut.append(best)
        others -= stilled[best]
    return Loop((name,), tuple(shut), tuple(other for other in loops if other in others))


def way_words(purge: Purge) -> tuple[str, str]:
    """Where water goes in and out, and how the valves stand again afterwards."""
    way_in = listed(purge.fills or purge.drains[-1:], "a hose port")
    if purge.sets:
        out = f"hose out at {purge.sets[0]}, its main valve shut"
        back = f"main valve of {purge.sets[0]} open, its hose port shut and capped"
    else:
        out = f"hose out at {listed(purge.drains[:1], 'a drain: none is drawn, fit one')}"
        back = "drains shut and capped"
    return f"{purge.system}: water in at {way_in}, {out}.", back


def loop_words(loop: Loop) -> str:
    """What is shut for a loop, and until when water runs."""
    shut = f"shut {listed(loop.shut)}, all else open" if loop.shut else "all open"
    beside = f" ({listed(loop.together)} flow with it: no valve parts them)" if loop.together else ""
    return f"{listed(loop.at)}: {shut}{beside}; run water until no bubbles come."
