"""A small plant of our own with made-up figures, for pictures and layout tests; no solver needed."""

from __future__ import annotations

from typing import Any

from core.diagram.states import dead_end
from core.figures import PipeFigures
from core.plant.model import Case, Item, Pipe, Plant, PortRef, System
from core.solve import Note, Solution
from tests.support.figures import item_figures


def _items() -> list[Item]:
    cm = {"pressure": "60 psi"}
    pump = {"curve": [["0 gpm", "19 ft_head"], ["16 gpm", "6 ft_head"]], "watts": "84 W"}
    return [
        Item("H-1", "heater", (100, 180), props={"capacity": "80 kBtu/h", "set_temperature": "140 degF"}),
        Item("H-2", "heater", (220, 180), props={"capacity": "80 kBtu/h", "set_temperature": "140 degF"}),
        Item("V-2", "shutoff", (90, 250), 90),
        Item("V-3", "shutoff", (210, 250), 90, props={"open": False}),
        Item("J-1", "joint", (90, 330)),
        Item("J-2", "joint", (230, 300)),
        Item("TH-1", "thermometer", (280, 280)),
        Item("J-3", "joint", (280, 300)),
        Item("J-4", "joint", (320, 300)),
        Item("T-1", "tank", (430, 220), props={"volume": "80 gal"}),
        Item("AQ-1", "aquastat", (360, 120), props={"senses": ["T-1", "mid"], "set_temperature": "130 degF"}),
        Item("RV-1", "relief_valve", (430, 120), props={"set_pressure": "75 psi"}),
        Item("MV-1", "mixing_valve", (570, 180), props={"set_temperature": "120 degF"}),
        Item("J-5", "joint", (630, 180)),
        Item("F-1", "fixture", (680, 190)),
        Item("P-5", "circulator", (590, 310), 180, props=pump),
        Item("CV-5", "check_valve", (480, 310), 180),
        Item("J-6", "joint", (530, 260)),
        Item("P-1", "circulator", (240, 480), 180, props=pump),
        Item("ST-1", "strainer", (310, 480), 180),
        Item("J-7", "joint", (360, 480)),
        Item("HX-1", "exchanger", (610, 460), props={"ua": "2200 Btu/h/degF"}),
        Item("AS-1", "air_separator", (690, 440)),
        Item("J-8", "joint", (730, 440)),
        Item("RV-2", "relief_valve", (730, 400), props={"set_pressure": "30 psi"}),
        Item("J-9", "joint", (760, 280)),
        Item("P-2", "circulator", (840, 130), props=pump),
        Item("CV-2", "check_valve", (890, 130)),
        Item("FC-1", "floor_circuit", (1020, 140), props={"area": "620 ft2", "load": "24 kBtu/h"}),
        Item("P-3", "circulator", (840, 280), props=pump),
        Item("CV-3", "check_valve", (890, 280)),
        Item("MC-1", "melt_circuit", (1020, 290), props={"area": "310 ft2", "load": "40 kBtu/h"}),
        Item("J-10", "joint", (950, 300)),
        Item("PS-1", "purge_set", (860, 480), 180),
        Item("J-11", "joint", (780, 480)),
        Item("PG-2", "gauge", (780, 440)),
        Item("J-12", "joint", (700, 480)),
        Item("ET-2", "expansion_tank", (700, 530), props={"volume": "4.4 gal", "precharge": "15 psi"}),
        Item("CM-1", "cold_main", (90, 600), props=cm),
        Item("V-1", "service_valve", (150, 600)),
        Item("CV-1", "check_valve", (210, 600)),
        Item("M-1", "manifold", (330, 620), props={"branches": 4}),
        Item("SW-1", "switch", (940, 420)),
    ]  # fmt: skip


def _pipes() -> list[tuple[str, str, str, str, str, float, float]]:
    """id, from, to, system, size, flow [gpm], temperature [degF]."""
    return [
        ("L-1", "P-1 out", "J-1 at", "potable", "1 in", 8.4, 121),
        ("L-2", "J-1 at", "V-2 b", "potable", "3/4 in", 4.2, 121),
        ("L-3", "V-2 a", "H-1 in", "potable", "3/4 in", 4.2, 121),
        ("L-4", "J-1 at", "V-3 b", "potable", "3/4 in", 0, 121),
        ("L-5", "V-3 a", "H-2 in", "potable", "3/4 in", 0, 121),
        ("L-6", "H-1 out", "J-2 at", "potable", "3/4 in", 4.2, 140),
        ("L-7", "H-2 out", "J-2 at", "potable", "3/4 in", 0, 140),
        ("L-8", "J-2 at", "J-3 at", "potable", "1 in", 8.4, 140),
        ("L-9", "J-3 at", "TH-1 at", "potable", "1/2 in", 0, 140),
        ("L-10", "J-3 at", "J-4 at", "potable", "1 in", 8.4, 140),
        ("L-11", "J-4 at", "T-1 hot", "potable", "3/4 in", 3.2, 140),
        ("L-12", "J-4 at", "HX-1 a_in", "potable", "1 in", 5.2, 140),
        ("L-13", "T-1 top", "RV-1 at", "potable", "3/4 in", 0, 138),
        ("L-14", "T-1 supply", "MV-1 hot", "potable", "3/4 in", 2.1, 138),
        ("L-15", "MV-1 mixed", "J-5 at", "potable", "3/4 in", 2.6, 120),
        ("L-16", "J-5 at", "F-1 hot", "potable", "1/2 in", 2.0, 120),
        ("L-17", "J-5 at", "P-5 in", "potable", "1/2 in", 0.6, 120),
        ("L-18", "P-5 out", "CV-5 in", "potable", "1/2 in", 0.6, 119),
        ("L-19", "CV-5 out", "T-1 bottom", "potable", "1/2 in", 0.6, 119),
        ("L-20", "J-6 at", "T-1 return", "potable", "3/4 in", 1.5, 48),
        ("L-21", "J-6 at", "MV-1 cold", "potable", "1/2 in", 0.5, 48),
        ("L-22", "T-1 cold", "J-7 at", "potable", "1 in", 3.2, 118),
        ("L-23", "J-7 at", "ST-1 in", "potable", "1 in", 8.4, 121),
        ("L-24", "ST-1 out", "P-1 in", "potable", "1 in", 8.4, 121),
        ("L-25", "HX-1 a_out", "J-7 at", "potable", "1 in", 5.2, 122.7),
        ("L-26", "HX-1 b_out", "AS-1 in", "floor", "1 in", 6.5, 118),
        ("L-27", "AS-1 out", "J-8 at", "floor", "1 in", 6.5, 118),
        ("L-28", "J-8 at", "RV-2 at", "floor", "3/4 in", 0, 118),
        ("L-29", "J-8 at", "J-9 at", "floor", "1 in", 6.5, 118),
        ("L-30", "J-9 at", "P-2 in", "floor", "3/4 in", 6.5, 118),
        ("L-31", "P-2 out", "CV-2 in", "floor", "3/4 in", 6.5, 118),
        ("L-32", "CV-2 out", "FC-1 in", "floor", "3/4 in", 6.5, 118),
        ("L-33", "FC-1 out", "J-10 at", "floor", "3/4 in", 6.5, 101.5),
        ("L-34", "J-9 at", "P-3 in", "floor", "3/4 in", 0, 118),
        ("L-35", "P-3 out", "CV-3 in", "floor", "3/4 in", 0, 118),
        ("L-36", "CV-3 out", "MC-1 in", "floor", "3/4 in", 0, 118),
        ("L-37", "MC-1 out", "J-10 at", "floor", "3/4 in", 0, 118),
        ("L-38", "J-10 at", "PS-1 a", "floor", "1 in", 6.5, 103.3),
        ("L-39", "PS-1 b", "J-11 at", "floor", "1 in", 6.5, 103.3),
        ("L-40", "J-11 at", "PG-2 at", "floor", "1/2 in", 0, 103.3),
        ("L-41", "J-11 at", "J-12 at", "floor", "1 in", 6.5, 103.3),
        ("L-42", "J-12 at", "ET-2 at", "floor", "1/2 in", 0, 103.3),
        ("L-43", "J-12 at", "HX-1 b_in", "floor", "1 in", 6.5, 103.3),
        ("L-44", "CM-1 at", "V-1 a", "potable", "3/4 in", 2.0, 48),
        ("L-45", "V-1 b", "CV-1 in", "potable", "3/4 in", 2.0, 48),
        ("L-46", "CV-1 out", "M-1 trunk", "potable", "3/4 in", 2.0, 48),
        ("L-47", "M-1 end", "J-6 at", "potable", "3/4 in", 2.0, 48),
    ]


def demo_plant() -> Plant:
    """Potable side, exchanger, glycol side: every mark and most placings occur."""
    pipes = {}
    for name, start, end, system, size, _, _ in _pipes():
        pipes[name] = Pipe(
            name, PortRef(*start.split()), PortRef(*end.split()), system,
            {"material": "copper_l", "size": size}, "6 ft",
        )  # fmt: skip
    return Plant(
        title="Demonstration plant",
        systems={
            "potable": System("potable", "potable"),
            "floor": System("floor", "closed", {"kind": "propylene_glycol", "fraction": 0.35}, "15 psi"),
        },
        items={item.id: item for item in _items()},
        pipes=pipes,
        cases=(Case("Design night", "5 degF"),),
    )


def demo_solution(still: bool = False) -> Solution:
    """Made-up figures; with `still`, nothing moves."""
    pipes = {}
    for name, _, _, _, size, gpm, fahrenheit in _pipes():
        bore = {"1/2 in": 0.0138, "3/4 in": 0.0199, "1 in": 0.026}[size]
        flow = 0.0 if still else gpm * 6.309e-5
        velocity = flow / (0.785 * bore**2)
        warm = (fahrenheit - 32) / 1.8
        pipes[name] = PipeFigures(
            flow, velocity, velocity * bore / 5e-7, 2e5 * flow, warm, warm - 0.1, 150e3, 149e3
        )
    on = not still
    items: dict[str, dict[str, Any]] = {
        "P-1": {"flow_m3_s": 5.3e-4, "head_m": 4.05, "running": on, "speed": 1.0},
        "P-2": {"flow_m3_s": 4.1e-4, "head_m": 2.8, "running": on, "speed": 0.7},
        "P-3": {"flow_m3_s": 0.0, "head_m": 0.0, "running": False, "speed": 0.0},
        "P-5": {"flow_m3_s": 3.8e-5, "head_m": 0.94, "running": on, "speed": 1.0},
        "H-1": {"duty_w": 11700.0, "short_w": 0.0, "running": on},
        "H-2": {"duty_w": 0.0, "short_w": 0.0, "running": False},
        "HX-1": {"duty_w": 13200.0, "effectiveness": 0.71},
        "FC-1": {"wanted_w": 7200.0, "delivered_w": 7000.0, "short_w": 200.0},
        "MC-1": {"wanted_w": 0.0, "delivered_w": 0.0, "short_w": 0.0},
        "MV-1": {"hot_share": 0.8, "temperature_c": 48.9},
        "F-1": {"flow_m3_s": 1.26e-4, "temperature_c": 48.9},
        "T-1": {"temperature_c": 58.0, "duty_w": 2000.0},
    }
    notes = (
        Note("L-36", "no pump drives this branch, so it stands still in this case."),
        Note("FC-1", "the slab is short of its wanted heat by 3 % because its supply is too cool."),
    )
    kinds = {item.id: item.kind for item in _items()}
    figures = {name: item_figures(kinds[name], **given) for name, given in items.items()}
    return Solution("Design night", {"SW-1": False}, pipes=pipes, items=figures, notes=notes)


def _runs(plant: Plant) -> dict[str, int]:
    """A number for each pipe, the same for pipes that follow one another through in-line items."""
    number = {name: i for i, name in enumerate(plant.pipes)}
    ends: dict[str, list[str]] = {}
    for pipe in plant.pipes.values():
        for end in (pipe.start, pipe.end):
            if len(plant.items[end.item].ports) == 2:
                ends.setdefault(end.item, []).append(pipe.id)
    for _ in plant.pipes:
        before = dict(number)
        for names in ends.values():
            for name in names:
                number[name] = min(number[other] for other in names)
        if number == before:
            break
    return number


def made_up(plant: Plant, case: str = "made up") -> Solution:
    """Figures for any plant, to fill its labels: some runs stand still, the rest move."""
    pipes = {}
    for name, number in _runs(plant).items():
        still = number % 7 == 3 or dead_end(plant, plant.pipes[name])
        flow = 0.0 if still else (1 - 2 * (number % 2)) * (0.03 + 0.061 * (number % 11)) * 1e-3
        warm = 30.0 + 7.3 * (number % 5)
        pipes[name] = PipeFigures(flow, flow * 2000, 12000.0, flow * 3e6, warm, warm - 0.4, 152e3, 151e3)
    items = {}
    for number, item in enumerate(plant.items.values()):
        if item.kind_info.report is not None:
            items[item.id] = item_figures(
                item.kind, flow_m3_s=2e-4, head_m=3.1, running=number % 3 > 0, speed=0.8, duty_w=12500.0,
                wanted_w=9000.0, delivered_w=8700.0, temperature_c=48.9,
            )  # fmt: skip
    places = [*plant.pipes][::17] + [*plant.items][::23]
    notes = tuple(
        Note(at, "a made-up note that is long enough to run over two lines of its column.") for at in places
    )
    return Solution(case, pipes=pipes, items=items, notes=notes)
