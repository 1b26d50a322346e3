"""The words that stand at pipes and items, made from the solution alone. No places, no painting.

A pipe's temperature is that of the end where its water comes in; flow, velocity and loss carry no sign, the
arrow tells the direction. Pipes that follow one another and say the same carry one label.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from core.diagram.states import SolvedCase, still
from core.media.tubes import spoken
from core.plant.as_set import plant_in
from core.units import show
from core.vocabulary import Trait

if TYPE_CHECKING:
    from core.figures import EmitterFigures, Figures, OutletFigures, PipeFigures, PumpFigures
    from core.plant.model import Item, Pipe, Plant

Display = Literal["us", "si"]
QUANTITIES = ("flow", "velocity", "temperature", "head_loss")
DEFAULT_QUANTITIES = ("flow", "velocity", "temperature")
TUBE = "tube"  # size and material, for a drawing that one builds from
PAPER_QUANTITIES = (TUBE, *DEFAULT_QUANTITIES)
NO_FLOW = "no flow"
CELSIUS = 273.15
GRAVITY = 9.80665  # standard gravity [m/s2]
DAY = 86400.0  # [s]
_WATER = 999.0  # only where no plant is given to tell the fluid [kg/m3]


def pipe_text(
    pipe: str,
    solution: SolvedCase | None,
    quantities: Sequence[str] = DEFAULT_QUANTITIES,
    units: Display = "us",
    plant: Plant | None = None,
) -> list[str]:
    """The chosen quantities of a pipe as words, in the order chosen; `no flow` alone for standing water.

    The temperature is that of the end where the water comes in. Flow and head loss are without sign: the
    arrow tells the direction. Head loss is a column of the fluid there when `plant` is given.
    """
    figures = solution.pipes.get(pipe) if solution is not None else None
    words = [short_tube(plant.pipes[pipe])] if TUBE in quantities and plant is not None else []
    words = [word for word in words if word]
    if figures is None:
        return words
    if still(solution, pipe):
        return [NO_FLOW]
    for quantity in (each for each in quantities if each != TUBE):
        word = _pipe_word(pipe, figures, quantity, units, plant)
        if word and solution is not None:
            key = PIPE_KEYS[quantity]
            words.append(
                solution.mark(pipe, key if figures.flow_m3_s >= 0 else BACKWARD.get(key, key)) + word
            )
    return words


PIPE_KEYS = {
    "flow": "flow_m3_s",
    "velocity": "velocity_m_s",
    "temperature": "temperature_in_c",
    "pressure_drop": "drop_pa",
    "head_loss": "drop_pa",
}
"""Which figure of a pipe each quantity shows."""
BACKWARD = {"temperature_in_c": "temperature_out_c"}


def short_tube(pipe: Pipe) -> str:
    """Size and material of a pipe's tube, for a label; empty where it has none."""
    tube = pipe.tube or {}
    if pipe.joined or "material" not in tube:
        return ""
    return (
        spoken(str(tube["material"]), str(tube.get("size", "")))
        .replace("Type ", "")
        .replace("Schedule ", "sch. ")
    )


def _pipe_word(pipe: str, figures: PipeFigures, quantity: str, units: Display, plant: Plant | None) -> str:
    if quantity == "flow":
        return show(abs(figures.flow_m3_s), "flow", units)
    if quantity == "velocity":
        # Parts bolted flange to flange have no tube, so no velocity either.
        return show(abs(figures.velocity_m_s), "velocity", units) if figures.velocity_m_s else ""
    if quantity == "temperature":
        return _celsius(figures.temperature_at(figures.flow_m3_s >= 0), units)
    drop = abs(figures.drop_pa)
    if quantity == "pressure_drop":
        return show(drop, "pressure", units, 2 if units == "us" else None)
    return show(head_lost(pipe, figures, plant), "head", units, 2)


def head_lost(pipe: str, figures: PipeFigures, plant: Plant | None) -> float:
    """Loss of a pipe as a column of the fluid in it [m]."""
    return abs(figures.drop_pa) / (_density(pipe, figures, plant) * GRAVITY)


def _density(pipe: str, figures: PipeFigures, plant: Plant | None) -> float:
    """Density of the pipe's fluid at the mean of its end temperatures [kg/m3]."""
    if plant is None or pipe not in plant.pipes:
        return _WATER
    system = plant.systems.get(plant.pipes[pipe].system)
    if system is None:
        return _WATER
    from core.media.fluids import fluid_of

    fluid = fluid_of(system.si.fluid)
    mean = (figures.temperature_in_c + figures.temperature_out_c) / 2 + CELSIUS
    return float(fluid.density(min(max(mean, fluid.low), fluid.high)))


INVENTED = "invented curve, not a product"
"""Said at every circulator whose curve is one of the program's own sizes."""


def item_text(
    plant: Plant, item: Item, solution: SolvedCase | None, units: Display = "us"
) -> tuple[str, str]:
    """An item's tag and the line under it: its duty in this case, or its setting."""
    if item.has(Trait.JOINS):
        return "", ""
    figures = solution.items.get(item.id) if solution is not None else None
    if solution is not None:
        item = plant_in(plant, solution.case).items.get(item.id, item)
    return item.id, " · ".join(part for part in _second(plant, item, solution, figures, units) if part)


def _second(
    plant: Plant, item: Item, solution: SolvedCase | None, figures: Figures | None, units: Display
) -> list[str]:
    """By the figures where the case gives some, else by what is set."""
    if figures is None:
        return _setting(plant, item, solution, units)
    from core import figures as of  # 12 ms of start-up, and asked for only once a case is solved

    def mark(key: str) -> str:
        return "" if solution is None else solution.mark(item.id, key)

    match figures:
        case of.PumpFigures():
            first, *more = _circulator(figures, units)
            return [mark("head_m") * figures.running + first, *more, *_invented(item)]
        case of.SourceFigures():
            return [mark("duty_w") + figure(figures.duty_w, "power", units) if figures.running else "off"]
        case of.EmitterFigures():
            return [mark("delivered_w") + _emitter(figures, units)]
        case of.ExchangerFigures():
            return [mark("duty_w") + figure(figures.duty_w, "power", units)]
        case of.MixingFigures() | of.SharingFigures():
            return [mark("temperature_c") + _celsius(figures.temperature_c, units)]
        case of.UseFigures() if figures.uses_m3_s:
            return _a_day(figures.uses_m3_s, units)
        case of.BypassFigures():
            return [*_opening(item, units), "open" if figures.flow_m3_s > 1e-9 else "shut"]
        case of.OutletFigures():
            words = _fixture(figures, units)
            return (
                words if len(words) < 2 else [mark("flow_m3_s") + words[0], mark("temperature_c") + words[1]]
            )
        case of.RoomFigures():
            return [mark("temperature_c") + _celsius(figures.temperature_c, units)]
    return _setting(plant, item, solution, units)


def _invented(item: Item) -> list[str]:
    return [INVENTED] if item.si.get("invented") else []


def _a_day(flow: float, units: Display) -> list[str]:
    return [f"{show(flow * DAY, 'volume', units)} a day"]


def _circulator(figures: PumpFigures, units: Display) -> list[str]:
    if not figures.running:
        return ["off"]
    words = [show(figures.head_m, "head", units)]
    return words if abs(figures.speed - 1.0) <= 5e-4 else [*words, f"{100 * figures.speed:.0f} %"]


def _emitter(figures: EmitterFigures, units: Display) -> str:
    wanted, given = figures.wanted_w, figures.delivered_w
    if abs(wanted) < 0.5 and abs(given) < 0.5:
        return "off"
    given_text = figure(given, "power", units)
    if abs(wanted - given) < 0.005 * max(abs(wanted), 1.0):
        return given_text
    return f"{given_text.split()[0]} of {show(wanted, 'power', units)}"


def _opening(item: Item, units: Display) -> list[str]:
    """The pressure at which it opens."""
    lift = item.si.get("set_pressure")
    return [] if lift is None else [show(lift.value, "head" if lift.is_head else "pressure", units)]


def _fixture(figures: OutletFigures, units: Display) -> list[str]:
    if abs(figures.flow_m3_s) < 1e-9:
        return ["shut"]
    return [show(figures.flow_m3_s, "flow", units), _celsius(figures.temperature_c, units)]


def _setting(plant: Plant, item: Item, solution: SolvedCase | None, units: Display) -> list[str]:
    """What is set or read at an item: a setting that matters, or what an instrument shows."""
    has = item.has
    if has(Trait.DRIVES):
        return _invented(item)
    if has(Trait.MAKES_HEAT):
        return [_si(item, "capacity", "power", units)]
    if has(Trait.STORES_HEAT):
        return [_si(item, "volume", "volume", units)]
    if has(Trait.TEMPERS):
        return [_si(item, "set_temperature", "temperature", units)]
    if has(Trait.SHARES):
        return [_si(item, "target", "temperature", units)]
    if has(Trait.USES_WATER):
        return _a_day(item.si["uses"], units) if item.si.get("uses") else []
    if has(Trait.OPENS_BY_PRESSURE):
        return _opening(item, units)
    if has(Trait.RELIEVES, Trait.FILLS, Trait.HOLDS_OUTLET_PRESSURE):
        return [_si(item, "set_pressure", "pressure", units)]
    if has(Trait.EXPANDS):
        return [_si(item, "volume", "volume", units), _si(item, "precharge", "pressure", units)]
    if has(Trait.BRINGS_WATER):
        return [_si(item, "pressure", "pressure", units)]
    if has(Trait.TIMED):
        return [_hours(item)]
    if has(Trait.STAT):
        return [_si(item, "set_temperature", "temperature", units)]
    if has(Trait.SHOWS_PRESSURE):
        value = port_figure(plant, solution, item.id, "at", "pressure")
        return [] if value is None else [show(value, "pressure", units)]
    if has(Trait.SHOWS_TEMPERATURE):
        value = port_figure(plant, solution, item.id, "at", "temperature")
        return [] if value is None else [show(value, "temperature", units)]
    if has(Trait.SWITCHED_BY_HAND) and solution is not None and item.id in solution.signals:
        return ["on" if solution.signals[item.id] else "off"]
    if has(Trait.BALANCES):
        if item.si.get("set_flow") is not None:
            return [_si(item, "set_flow", "flow", units)]
        share = item.si.get("setting")
        return [] if share in (None, 1, 1.0) else [f"{100 * float(share):.0f} % open"]
    return []


def _hours(item: Item) -> str:
    """When a timer is on, as typed: its intervals, or how long and how often."""
    props = item.props
    if "on" in props:
        return ", ".join("–".join(span) for span in props["on"])
    return f"{props['for']} every {props['every']}" if "every" in props else ""


def port_figure(
    plant: Plant, solution: SolvedCase | None, item: str, port: str, what: Literal["pressure", "temperature"]
) -> float | None:
    """Pressure [Pa] or temperature [K] at a port, read off the pipe that ends there."""
    if solution is None:
        return None
    for pipe in plant.pipes.values():
        found = solution.pipes.get(pipe.id)
        for end, starts in ((pipe.start, True), (pipe.end, False)):
            if found is not None and end.item == item and end.port == port:
                if what == "pressure":
                    return found.pressure_at(starts)
                return found.temperature_at(starts) + CELSIUS
    return None


def system_letters(plant: Plant) -> dict[str, str]:
    """A letter or two for each system: P potable, G glycol, H heating water; numbered where two are alike."""
    first: dict[str, str] = {}
    for name, system in plant.systems.items():
        kind = str(system.fluid.get("kind", "water"))
        glycol = kind.endswith("glycol")
        first[name] = "P" if system.use == "potable" else "G" if glycol else "H"
    out: dict[str, str] = {}
    for name, letter in first.items():
        alike = [other for other, its in first.items() if its == letter]
        out[name] = letter if len(alike) == 1 else f"{letter}{alike.index(name) + 1}"
    return out


MOST_STROKES = 3


def system_strokes(plant: Plant) -> dict[str, int]:
    """Strokes that cross the line beside a system's letter: none for the first, drinking water before others.

    Past three strokes only the letters tell systems apart.
    """
    order = sorted(plant.systems, key=lambda name: plant.systems[name].use != "potable")
    return {name: min(number, MOST_STROKES) for number, name in enumerate(order)}


def figure(value: float, dimension: str, units: Display) -> str:
    """A figure as it is shown, nothing being a plain 0."""
    text = show(value, dimension, units)
    number, _, unit = text.partition(" ")
    return text if float(number) else f"0 {unit}"


def _si(item: Item, name: str, dimension: str, units: Display) -> str:
    """A setting as it was meant: without noughts after the point."""
    value = item.si.get(name)
    if not isinstance(value, int | float):
        return ""
    number, _, unit = show(value, dimension, units).partition(" ")
    return f"{number.removesuffix('.0')} {unit}"


def _celsius(value: float, units: Display) -> str:
    return show(value + CELSIUS, "temperature", units)
