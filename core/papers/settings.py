"""What is set at each part, and what each gauge should show in each case: for start-up and for the binder."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from core import units
from core.diagram.runs import stretches
from core.figures import Figures, MixingFigures, PointFigures, PumpFigures
from core.papers.blocks import Grid
from core.papers.plant_words import NOTHING, by_tag, display_of, titled, trimmed, value_of
from core.plant.model import Item, Plant
from core.solve import Solution
from core.vocabulary import Trait
from core.water.neighbors import next_part
from core.working import Display, show_value

NOT_SOLVED = "not solved"
STILL = 1e-7  # below this nothing flows [m3/s]
FEW = 4  # instruments that stand below each other; of more, two beside each other
ZERO = 273.15  # [K]


def settings(plant: Plant) -> list[tuple[str, str, str]]:
    """Tag, what it is, and to what it is set, of all that is set by hand."""
    display = display_of(plant)
    out = []
    for item in by_tag(plant.items.values()):
        said = "; ".join(_set(item, display)) if item.stays else ""
        if said:
            out.append((item.id, titled(item), said))
    return out


def _set(item: Item, display: Display) -> Iterator[str]:
    si = item.si
    if item.has(Trait.EXPANDS):
        yield f"precharge {value_of(item, 'precharge', 'pressure', display)}, before it is filled"
        return
    if item.has(Trait.RELIEVES):
        return  # it is made to its pressure; nobody sets it
    if isinstance(si.get("set_temperature"), float):
        yield trimmed(show_value(si["set_temperature"], "temperature", display))
    if isinstance(si.get("differential"), float) and si["differential"] > 0.0:
        yield f"differential {trimmed(show_value(si['differential'], 'temperature_difference', display))}"
    if isinstance(si.get("set_pressure"), float):
        yield trimmed(show_value(si["set_pressure"], "pressure", display))
    elif si.get("set_pressure") is not None and hasattr(si["set_pressure"], "is_head"):
        yield lift_words(si["set_pressure"], display)
    if item.has(Trait.BALANCES):
        limit = isinstance(si.get("set_flow"), float)
        yield (
            f"at most {units.show(si['set_flow'], 'flow', display)}"
            if limit
            else (f"{100 * float(si.get('setting') or 0.0):.0f} % open")
        )
    if item.has(Trait.DRIVES):
        yield _speed(item, display)
    if item.has(Trait.RESETS) and si.get("line"):
        points = [
            " → ".join(trimmed(show_value(each, "temperature", display)) for each in row)
            for row in si["line"]
        ]
        yield f"outdoors → supply: {'; '.join(points)}"
    if item.has(Trait.SHARES) and isinstance(si.get("position"), float):
        yield f"{100 * si['position']:.0f} % from a"


def lift_words(lift: object, display: Display) -> str:
    """A head or a pressure as it was typed."""
    value, is_head = float(getattr(lift, "value", 0.0)), bool(getattr(lift, "is_head", False))
    return trimmed(show_value(value, "head" if is_head else "pressure", display))


def _speed(item: Item, display: Display) -> str:
    si = item.si
    target = si.get("target")
    control = str(si.get("control") or "fixed")
    if control == "fixed" or target is None:
        return f"{100 * float(si.get('speed') or 0.0):.0f} % speed"
    if hasattr(target, "is_head"):
        return f"{control.replace('_', ' ').replace('delta p', 'pressure')}, {lift_words(target, display)}"
    return f"holds a difference of {trimmed(show_value(float(target), 'temperature_difference', display))}"


def readings_grid(plant: Plant, solutions: Sequence[Solution]) -> Grid:
    """Expected value of each gauge, thermometer and flow meter in each case."""
    display = display_of(plant)
    rows = []
    for item in by_tag(plant.with_trait(Trait.SHOWS_PRESSURE, Trait.SHOWS_TEMPERATURE, Trait.SHOWS_FLOW)):
        values = [_expected(plant, item, solution, display) for solution in solutions]
        rows.append((item.id, where_words(plant, item), *values))
    heads = ("tag", "where", *(solution.case for solution in solutions))
    return Grid("Expected at gauges and thermometers", heads, tuple(rows), frozenset(range(2, len(heads))))


def case_readings(plant: Plant, solutions: Sequence[Solution]) -> list[Grid]:
    """For each case a table of what each instrument should show, with a blank beside each value."""
    display = display_of(plant)
    gauges = by_tag(plant.with_trait(Trait.SHOWS_PRESSURE, Trait.SHOWS_TEMPERATURE, Trait.SHOWS_FLOW))
    out = []
    for solution in solutions if gauges else ():
        cells = [(g.id, where_words(plant, g), _expected(plant, g, solution, display)) for g in gauges]
        half = -(-len(cells) // 2) if len(cells) > FEW else len(cells)
        left, right = cells[:half], cells[half:]
        right += [("", "", "")] * (len(left) - len(right)) if right else []
        blank = " " * 10
        rows = [(*row, blank, *((*right[k], blank) if right else ())) for k, row in enumerate(left)]
        heads = ("tag", "where", "expected", "read") * (2 if right else 1)
        calls = [name for name, on in solution.signals.items() if on]
        title = f"{solution.case}: {'on are ' + ', '.join(calls) if calls else 'nothing calls'}"
        figures = frozenset(k for k, head in enumerate(heads) if head == "expected")
        out.append(Grid(title, heads, tuple(rows), figures))
    return out


def where_words(plant: Plant, item: Item) -> str:
    """The label of an instrument, else its kind and the part nearest to it."""
    if item.label:
        return item.label
    near = next_part(plant, item)
    return f"{item.kind_info.title} near {near}" if near else item.kind_info.title


def _expected(plant: Plant, item: Item, solution: Solution, display: Display) -> str:
    if not solution.converged:
        return NOT_SOLVED
    if item.has(Trait.SHOWS_FLOW):
        return units.show(abs(solution.flow(item.id)), "flow", display)
    got = solution.at(item.id, PointFigures)
    if got is None:
        return NOTHING
    if item.has(Trait.SHOWS_PRESSURE):
        return show_value(got.pressure_pa, "pressure", display)
    return show_value(got.temperature_c + ZERO, "temperature", display)


def balance_grid(plant: Plant, solutions: Sequence[Solution]) -> Grid:
    """Setting of each balance valve with the flow it should show, and room to write what is measured."""
    display = display_of(plant)
    rows, loops = [], _loops(plant)
    for item in by_tag(plant.with_trait(Trait.BALANCES)):
        flows = [(s.case, abs(s.flow(item.id))) for s in solutions if s.converged]
        case, flow = max(flows, key=lambda pair: pair[1], default=("", 0.0))
        shown = units.show(flow, "flow", display) if case else NOT_SOLVED
        loop = item.label or ", ".join(loops.get(item.id, ())) or NOTHING
        rows.append((item.id, loop, "; ".join(_set(item, display)), shown, case, " " * 10))
    heads = ("tag", "loop", "set to", "flow", "in case", "measured")
    return Grid("Balancing", heads, tuple(rows), frozenset({3}))


def _loops(plant: Plant) -> dict[str, list[str]]:
    """What gives or stores heat on the same unbranched run, by the items of the run."""
    found: dict[str, list[str]] = {}
    for names in stretches(plant):
        ends = {end.item: None for name in names for end in (plant.pipes[name].start, plant.pipes[name].end)}
        served = [key for key in ends if plant.items[key].has(Trait.GIVES_HEAT, Trait.STORES_HEAT)]
        for key in ends:
            found.setdefault(key, []).extend(served)
    return found


def found_at(got: Figures | None, display: Display) -> str:
    """What a setting came to in a case: flow, speed or temperature; empty where nothing is known."""
    if isinstance(got, MixingFigures) and got.temperature_c is not None:
        return show_value(got.temperature_c + ZERO, "temperature", display)
    if isinstance(got, PumpFigures):
        return f"{100 * got.speed:.0f} % speed" if got.running else "off"
    if isinstance(got, PointFigures):
        return show_value(got.pressure_pa, "pressure", display)
    flow = None if got is None else got.flow
    if flow is None:
        return ""
    return units.show(abs(flow), "flow", display) if abs(flow) > STILL else "no flow"
