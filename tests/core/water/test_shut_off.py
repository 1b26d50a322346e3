"""The least cut of hand valves: plants with known answers; all sets of valves tried on random ones."""

from itertools import combinations

import networkx as nx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from core.plant.model import Item, Pipe, Plant, PortRef, System
from core.vocabulary import Trait, joined_ports
from core.water.protection import protection
from core.water.shut_off import BARRED, least_cut
from core.water.ways import water_graph


def plant_of(kinds, lines, props=None):
    """A plant by kinds of items and pipes "A.out-B.in"; a joint's only port may be left out."""
    items = {name: Item(name, kind, (0.0, 0.0), props=(props or {}).get(name, {})) for name, kind in kinds}
    pipes = {}
    for number, line in enumerate(lines, 1):
        ends = [PortRef(*(one.split(".") if "." in one else (one, "at"))) for one in line.split(" > ")]
        pipes[f"L-{number}"] = Pipe(f"L-{number}", *ends, system="s")
    return Plant(items=items, pipes=pipes, systems={"s": System("s")})


def by_search(plant, target):
    """Weight of the lightest allowed set of valves, by trying all; None where none is allowed."""
    valves = [i.id for i in plant.with_trait(Trait.HAND_VALVE) if i.id != target and i.si["open"]]
    shut_now = {i.id for i in plant.with_trait(Trait.HAND_VALVE) if not i.si["open"]}

    def water(shut, parted=()):
        graph = nx.Graph()
        for item in plant.items.values():
            graph.add_nodes_from(PortRef(item.id, port) for port in item.ports)
            groups = [item.ports]
            if item.has(Trait.EXCHANGES_HEAT, Trait.HAS_COIL):
                groups = joined_ports(item.kind, item.props)
            elif item.has(Trait.HAND_VALVE) and item.id != target:
                groups = [] if item.id in shut | shut_now else [item.ports[:2]]
            for group in () if item.has(*parted) else groups:
                nx.add_path(graph, [PortRef(item.id, port) for port in group])
        graph.add_edges_from((pipe.start, pipe.end) for pipe in plant.pipes.values())
        return graph

    def wetted(graph, name, coil=True):
        if name in plant.pipes:
            starts = [plant.pipes[name].start]
        else:
            starts = [PortRef(name, p) for p in plant.items[name].ports if coil or not p.startswith("coil")]
        places = {place for start in starts for place in nx.node_connected_component(graph, start)}
        return {place.item for place in places}

    def guarded(shut, name):
        graph = water(shut, (Trait.PARTS_BODIES,))
        reached = [plant.items[one] for one in wetted(graph, name, coil=False)]
        return any(i.has(Trait.RELIEVES) for i in reached), any(i.has(Trait.EXPANDS) for i in reached)

    drained = wetted(water(set(valves)), target)
    hot = [item.id for item in plant.with_trait(Trait.MAKES_HEAT, Trait.TANK, Trait.BUFFER)]
    for size in range(len(valves) + 1):
        for shut in combinations(valves, size):
            graph = water(set(shut))
            zone = wetted(graph, target)
            barred = {
                one
                for one in zone - {target}
                if plant.items[one].has(*BARRED)
                and (one not in drained or plant.items[one].has(Trait.BRINGS_WATER))
            }
            kept = all(
                now >= before
                for name in hot
                if name not in zone
                for now, before in zip(guarded(set(shut), name), guarded(set(), name), strict=True)
            )
            if not barred and kept:
                return size
    return None


KINDS = (
    *("joint", "joint", "joint", "shutoff", "purge_set", "circulator", "boiler", "boiler", "radiator"),
    *("tank", "coil_tank", "exchanger", "relief_valve", "expansion_tank", "cold_main", "check_valve"),
    *("backflow_preventer", "fixture", "separator", "mixing_valve", "fill_valve"),
)


@st.composite
def plants(draw):
    kinds = draw(st.lists(st.sampled_from(KINDS), min_size=4, max_size=7))
    items = {}
    for number, kind in enumerate(kinds):
        props = {"open": False} if kind == "shutoff" and draw(st.integers(0, 5)) == 0 else {}
        items[f"X{number}"] = Item(f"X{number}", kind, (0.0, 0.0), props=props)
    free = [PortRef(item.id, p) for item in items.values() for p in item.ports if p not in ("hose", "drain")]
    free += [PortRef(item.id, "at") for item in items.values() if item.kind == "joint"] * 2
    free = draw(st.permutations(free))
    pipes = {}
    for number, (one, other) in enumerate(zip(free[::2], free[1::2], strict=False)):
        if one == other:
            continue
        if number < 5 and draw(st.booleans()):
            valve = Item(f"V{number}", "shutoff", (0.0, 0.0))
            items[valve.id] = valve
            pipes[f"M{number}"] = Pipe(f"M{number}", PortRef(valve.id, "b"), other, system="s")
            other = PortRef(valve.id, "a")
        pipes[f"L{number}"] = Pipe(f"L{number}", one, other, system="s")
    return Plant(items=items, pipes=pipes, systems={"s": System("s")})


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(plants(), st.data())
def test_no_set_of_valves_is_smaller(plant, data):
    target = data.draw(st.sampled_from([*plant.items, *plant.pipes]))
    cut = least_cut(water_graph(plant), target)
    expected = by_search(plant, target)
    assert cut.possible == (expected is not None)
    if cut.possible:
        assert len(cut.close) == expected
        assert all(plant.items[key].si["open"] for key in cut.close)
        assert not set(cut.also_dead) & {target, *cut.close}
    else:
        assert cut.reason
        assert len(set(cut.missing)) == len(cut.missing)


@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(plants(), st.data())
def test_valves_in_the_missing_places_make_it_possible(plant, data):
    target = data.draw(st.sampled_from([*plant.items, *plant.pipes]))
    cut = least_cut(water_graph(plant), target)
    if cut.possible or not cut.missing:
        return
    items, pipes = dict(plant.items), dict(plant.pipes)
    for key in cut.missing:
        valve = Item(f"V{key}", "shutoff", (0.0, 0.0))
        items[valve.id] = valve
        old = pipes.pop(key)
        pipes[f"{key}a"] = Pipe(f"{key}a", old.start, PortRef(valve.id, "a"), system="s")
        pipes[f"{key}b"] = Pipe(f"{key}b", PortRef(valve.id, "b"), old.end, system="s")
    with_valves = Plant(items=items, pipes=pipes, systems=plant.systems)
    assert least_cut(water_graph(with_valves), target).possible


BOILER_AND_TWO_RADIATORS = (
    [("B", "boiler"), ("P", "circulator"), ("S", "joint"), ("R", "joint"), ("RV", "relief_valve")]
    + [("ET", "expansion_tank"), ("J", "joint")]
    + [(f"{name}{n}", kind) for n in (1, 2) for name, kind in (("V", "shutoff"), ("W", "shutoff"))]
    + [("A1", "radiator"), ("A2", "radiator")],
    ["B.out > J", "J > P.in", "J > RV", "P.out > S", "R > B.in", "R > ET"]
    + [
        line
        for n in (1, 2)
        for line in (f"S > V{n}.a", f"V{n}.b > A{n}.in", f"A{n}.out > W{n}.a", f"W{n}.b > R")
    ],
)


def test_a_radiator_between_its_valves():
    cut = least_cut(water_graph(plant_of(*BOILER_AND_TWO_RADIATORS)), "A1")
    assert cut.possible
    assert cut.close == ("V1", "W1")
    assert set(cut.zone) == {"A1", "V1", "W1", "L-8", "L-9"}
    assert set(cut.also_dead) == {"L-7", "L-8", "L-9", "L-10"}  # its branch stands; the other one goes on


def test_a_valve_hard_to_reach_counts_more():
    kinds, lines = BOILER_AND_TWO_RADIATORS
    kinds = [*kinds, ("U", "shutoff")]
    lines = [*(line for line in lines if line != "V1.b > A1.in"), "V1.b > U.a", "U.b > A1.in"]
    graph = water_graph(plant_of(kinds, lines))
    assert least_cut(graph, "A1").close == ("W1", "U")  # the nearer one, so that less is drained
    assert least_cut(graph, "A1", {"U": 2.5}).close == ("V1", "W1")


def test_a_circulator_without_valves_names_where_they_are_missing():
    kinds = [("CM", "cold_main"), ("P", "circulator"), ("F", "fixture")]
    cut = least_cut(water_graph(plant_of(kinds, ["CM > P.in", "P.out > F.cold"])), "P")
    assert not cut.possible
    assert cut.close == ()
    assert cut.missing == ("L-1",)
    assert cut.reason == "no hand valve parts it from the cold main"


def test_a_boiler_is_not_cut_from_its_relief_and_expansion():
    kinds = [
        ("B", "boiler"),
        ("V", "shutoff"),
        ("RV", "relief_valve"),
        ("J", "joint"),
        ("ET", "expansion_tank"),
    ]
    graph = water_graph(plant_of(kinds, ["B.out > V.a", "V.b > J", "J > RV", "J > ET"]))
    cut = least_cut(graph, "RV")
    assert not cut.possible
    assert cut.reason == "the valves that part it would cut B from its relief valve (RV)"
    assert protection(graph, "B").relief == ("RV",)
    assert protection(graph, "B", {"V"}) == ((), ()) or protection(graph, "B", {"V"}).relief == ()


def test_only_source_shut_off_leaves_the_emitters_cold():
    # a separator between: its circuits still go round, but nothing heats them
    kinds = [
        *(("B", "boiler"), ("V", "shutoff"), ("W", "shutoff"), ("HS", "separator"), ("P", "circulator")),
        ("A", "radiator"),
    ]
    lines = [
        *("B.out > V.a", "V.b > HS.a_in", "HS.a_out > W.a", "W.b > B.in"),
        *("HS.b_out > P.in", "P.out > A.in", "A.out > HS.b_in"),
    ]
    cut = least_cut(water_graph(plant_of(kinds, lines)), "B")
    assert cut.close == ("V", "W")
    assert "A" in cut.also_dead
    assert "P" not in cut.also_dead


@pytest.mark.parametrize("target", ["A1", "V1", "L-8", "B", "P", "ET"])
def test_shut_valves_that_stand_shut_are_not_listed(target):
    plant = plant_of(*BOILER_AND_TWO_RADIATORS, props={"W1": {"open": False}})
    assert "W1" not in least_cut(water_graph(plant), target).close
