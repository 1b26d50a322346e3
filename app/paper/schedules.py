"""The words of the schedules, legend and key of a plant in a case. Strings only; no places, no painting."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any

from app.paper.blocks import NOTHING, LegendEntry, LineSample, Table
from app.paper.run_rows import runs_table
from core.diagram import control_lines, stages, states
from core.diagram.annotations import (
    CELSIUS,
    INVENTED,
    Display,
    figure,
    item_text,
    port_figure,
    system_letters,
    system_strokes,
)
from core.diagram.control_lines import Wire
from core.diagram.states import SolvedCase, State
from core.errors import escaped
from core.figures import (
    EmitterFigures,
    Figures,
    HeatPumpFigures,
    PumpFigures,
    Role,
    RoomFigures,
    TankFigures,
    TwoEndsFigures,
)
from core.media.tubes import dashed
from core.papers.plant_words import natural
from core.papers.settings import found_at
from core.plant.heating import heats_by_electricity
from core.plant.model import Item, Plant
from core.thermal.room_loss import loss_of
from core.units import show
from core.vocabulary import KINDS, Schedule, Trait

THIN, MEDIUM, THICK = 0.25, 0.5, 1.0  # line weights, each twice the one before (ISO 128, from memory) [mm]

VALVES_TOO = (Trait.DRAINS, Trait.VENTS)  # stand with the valves, though no schedule names them

Where = Callable[[str], str]
"""Zone of an item or pipe on the sheets, such as D2."""


def schedules(plant: Plant, solution: SolvedCase | None, units: Display, where: Where) -> list[Table]:
    """All tables that have rows, in the order in which they are wanted on the sheet."""
    tables = (
        _circulators(plant, solution, units, where),
        _sources(plant, solution, units, where),
        _heat_pumps(plant, solution, units, where),
        _circuits(plant, solution, units, where),
        _rooms(plant, solution, units, where),
        _valves(plant, solution, units, where),
        runs_table(plant, solution, units, where),
    )
    return [_by_tag(table).trimmed() for table in tables if table.rows]


def _by_tag(table: Table) -> Table:
    """Rows in the order of their tags, numbers by size."""
    return replace(table, rows=tuple(sorted(table.rows, key=lambda row: natural(row[0]))))


def _of(plant: Plant, schedule: Schedule) -> list[Item]:
    """Items of a table, kind by kind."""
    order = {name: place for place, name in enumerate(KINDS)}
    found = [item for item in plant.items.values() if item.kind_info.schedule is schedule]
    return sorted(found, key=lambda item: order[item.kind])


def _mark(solution: SolvedCase | None, item: Item, figure: str) -> str:
    return "" if solution is None else solution.mark(item.id, figure)


def _figures(solution: SolvedCase | None, item: str, role: type[Role]) -> Role | None:
    return None if solution is None else solution.at(item, role)


def _circulators(plant: Plant, solution: SolvedCase | None, units: Display, where: Where) -> Table:
    rows = []
    for item in _of(plant, Schedule.CIRCULATORS):
        got = _figures(solution, item.id, PumpFigures)
        on = got if got is not None and got.running else None
        moved = NOTHING if got is None else "off"
        if on:
            moved = _mark(solution, item, "flow_m3_s") + _value(on.flow_m3_s, "flow", units)
        watts = item.si.get("watts")
        serves = [_plain(item.label)] + [INVENTED] * bool(item.si.get("invented"))
        rows.append(
            (
                item.id, where(item.id), " · ".join(part for part in serves if part),
                moved,
                _mark(solution, item, "head_m") + _value(on.head_m, "head", units) if on else NOTHING,
                f"{100 * on.speed:.0f} %" if on else NOTHING,
                f"{watts:.0f} W" if isinstance(watts, int | float) else NOTHING,
                str(item.si.get("body") or NOTHING).replace("_", " "),
                expression(item.props.get("run_when", True)),
            )
        )  # fmt: skip
    heads = ("tag", "at", "serves", "flow", "head", "speed", "watts", "material", "runs when")
    return Table("CIRCULATORS", heads, tuple(rows), frozenset({"flow", "head", "speed", "watts"}))


def _sources(plant: Plant, solution: SolvedCase | None, units: Display, where: Where) -> Table:
    rows = []
    for item in _of(plant, Schedule.SOURCES):
        now = item_text(plant, item, solution, units)[1]
        if (tank := _figures(solution, item.id, TankFigures)) is not None:
            now = _mark(solution, item, "temperature_c") + _celsius(tank.temperature_c, units)
        if (ends := _figures(solution, item.id, TwoEndsFigures)) is not None:
            now = f"{show(abs(ends.cross_flow_m3_s), 'flow', units)} across"
        size = _first_set(
            item, (("capacity", "power"), ("volume", "volume"), ("ua", "heat_per_kelvin")), units
        )
        temperature = _first_set(item, (("set_temperature", "temperature"), ("pressure", "pressure")), units)
        rows.append((item.id, where(item.id), _what(item), size, temperature, now or NOTHING))
    heads = ("tag", "at", "what", "capacity", "set point", "now")
    return Table("SOURCES, EXCHANGERS, STORAGE", heads, tuple(rows), frozenset({"capacity", "set point"}))


def _heat_pumps(plant: Plant, solution: SolvedCase | None, units: Display, where: Where) -> Table:
    rows = []
    for item in _of(plant, Schedule.HEAT_PUMPS):
        got = _figures(solution, item.id, HeatPumpFigures)
        on = got if got is not None and got.running else None
        given = [row[2] for row in item.si.get("table") or ()]
        least, most = (_value(pick(given), "power", units) if given else NOTHING for pick in (min, max))
        rows.append(
            (
                item.id, where(item.id), _what(item), least if least == most else f"{least} to {most}",
                _first_set(item, (("set_temperature", "temperature"),), units),
                NOTHING if got is None else _value(on.duty_w, "power", units) if on else "off",
                _value(on.power_w, "power", "si") if on else NOTHING,  # as on a bill
                f"{on.cop:.2f}" if on and on.cop is not None else NOTHING,
            )
        )  # fmt: skip
    heads = ("tag", "at", "what", "capacity", "set point", "heat", "electric", "COP")
    return Table("HEAT PUMPS", heads, tuple(rows), frozenset(heads[3:]))


def _rooms(plant: Plant, solution: SolvedCase | None, units: Display, where: Where) -> Table:
    rows = []
    for item in _of(plant, Schedule.ROOMS):
        got = _figures(solution, item.id, RoomFigures)
        loss = loss_of(plant, item)
        rows.append(
            (
                item.id, where(item.id), _plain(item.label) or item.kind_info.title,
                _value(None if loss is None else loss.value, "heat_per_kelvin", units),
                *((NOTHING,) * 5 if got is None else (
                    _celsius(got.wanted_c, units),
                    _mark(solution, item, "temperature_c") + _celsius(got.temperature_c, units),
                    _mark(solution, item, "loss_w") + _value(got.loss_w, "power", units),
                    _mark(solution, item, "heat_w") + _value(got.heat_w, "power", units),
                    f"{100 * got.duty_share:.0f} %",
                )),
            )
        )  # fmt: skip
    heads = ("tag", "at", "room", "heat loss", "needed", "found", "loses", "heat while on", "on for")
    return Table("ROOMS", heads, tuple(rows), frozenset(heads[3:]))


def _circuits(plant: Plant, solution: SolvedCase | None, units: Display, where: Where) -> Table:
    rows = []
    for item in _of(plant, Schedule.CIRCUITS):
        got = _figures(solution, item.id, Figures)
        heat = _figures(solution, item.id, EmitterFigures)
        flow = None if got is None else got.flow
        ends = [port_figure(plant, solution, item.id, port, "temperature") for port in ("in", "out")]
        moving = abs(flow or 0.0) > states.STILL
        rows.append(
            (
                item.id, where(item.id), _what(item),
                _mark(solution, item, "wanted_w") + _value(heat.wanted_w if heat else None, "power", units),
                _mark(solution, item, "delivered_w")
                + _value(heat.delivered_w if heat else None, "power", units),
                NOTHING
                if flow is None
                else _mark(solution, item, "flow_m3_s") + _value(flow, "flow", units)
                if moving
                else "no flow",
                *(_value(end if moving else None, "temperature", units) for end in ends),
            )
        )  # fmt: skip
    heads = ("tag", "at", "where", "needed", "delivered", "flow", "in", "out")
    return Table("HEAT CIRCUITS AND FIXTURES", heads, tuple(rows), frozenset(heads[3:]))


def _valves(plant: Plant, solution: SolvedCase | None, units: Display, where: Where) -> Table:
    rows = []
    others = [i for i in plant.with_trait(*VALVES_TOO) if i.kind_info.schedule is not Schedule.VALVES]
    for item in (*_of(plant, Schedule.VALVES), *others):
        size = item.props.get("size") or item.props.get("inlet_size") or _pipe_size(plant, item)
        setting = _first_set(
            item,
            (("set_pressure", "pressure"), ("set_temperature", "temperature"), ("set_flow", "flow"),
             ("precharge", "pressure")),
            units,
        )  # fmt: skip
        if setting == NOTHING and "open" in item.kind_info.properties:
            setting = "shut" if item.si.get("open") is False else "open"
        if setting == NOTHING and item.has(Trait.DRAINS):
            setting = "shut"
        if setting == NOTHING and item.has(Trait.OPENS_BY_SIGNAL):
            setting = f"opens on {expression(item.props.get('run_when', True))}"
        if setting == NOTHING and item.has(Trait.BALANCES):
            setting = f"{100 * float(item.si.get('setting') or 0):.0f} % open"
        rows.append(
            (
                item.id,
                where(item.id),
                _what(item),
                _plain(dashed(str(size or NOTHING))),
                setting,
                found_at(_figures(solution, item.id, Figures), units),
                _plain(item.note),
            )
        )
    heads = ("tag", "at", "what", "size", "setting", "found", "note")
    return Table("VALVES AND SAFETY", heads, tuple(rows), frozenset({"setting", "found"}))


def _pipe_size(plant: Plant, item: Item) -> str:
    """Size of the tube that ends at the item."""
    for pipe in plant.pipes.values():
        if item.id in (pipe.start.item, pipe.end.item) and pipe.tube and "size" in pipe.tube:
            return str(pipe.tube["size"])
    return ""


def _what(item: Item) -> str:
    title, label = KINDS[item.kind].title, _plain(item.label)
    if title.casefold() in label.casefold():
        return label
    return f"{title}, {label}" if label else title


def _plain(text: str) -> str:
    return escaped(text)


def _first_set(item: Item, choices: Iterable[tuple[str, str]], units: Display) -> str:
    for name, dimension in choices:
        value = item.si.get(name) if name in item.kind_info.properties else None
        if isinstance(value, int | float):
            number, _, unit = show(float(value), dimension, units).partition(" ")
            return f"{number.removesuffix('.0')} {unit}"
    return NOTHING


def _value(value: object, dimension: str, units: Display) -> str:
    return figure(float(value), dimension, units) if isinstance(value, int | float) else NOTHING


def _celsius(value: object, units: Display) -> str:
    return _value(value + CELSIUS if isinstance(value, int | float) else None, "temperature", units)


def expression(raw: Any) -> str:
    """A `run_when` in words: AQ-1 or AQ-2."""
    if raw is True or raw is None:
        return "always"
    if raw is False:
        return "never"
    if isinstance(raw, str):
        return raw
    if "not" in raw:
        return f"not {_inner(raw['not'])}"
    joint = " or " if "any" in raw else " and "
    return joint.join(_inner(part) for part in raw.get("any", raw.get("all", ())))


def _inner(raw: Any) -> str:
    text = expression(raw)
    return f"({text})" if isinstance(raw, Mapping) and "not" not in raw else text


def legend_entries(plant: Plant, shown: Mapping[str, State]) -> list[LegendEntry]:
    """Every kind used, in the order of the table; where the fill tells a state, each state that occurs."""
    words = {State.RUNS: "running", State.RESTS: "off", State.OPEN: "open", State.SHUT: "shut"}
    out: list[LegendEntry] = []
    for kind in KINDS:
        items = [item for item in plant.items.values() if item.kind == kind]
        for electric in (False, True):
            found = {shown[item.id] for item in items if heats_by_electricity(item) is electric}
            for state in (State.PLAIN, State.RUNS, State.RESTS, State.OPEN, State.SHUT):
                if state not in found:
                    continue
                plain = state is State.PLAIN or (KINDS[kind].has(Trait.SPACER) and state is State.OPEN)
                title = f"{KINDS[kind].title}, electric" if electric else KINDS[kind].title
                out.append(LegendEntry(kind, title if plain else f"{title}, {words[state]}", state, electric))
    return out


def line_samples(plant: Plant, units: Display, wires: Sequence[Wire]) -> list[LineSample]:
    """The key of lines: still water, steps of flow, letters of the systems."""
    limit = "4 gpm" if units == "us" else "0.25 L/s"
    out = [
        LineSample(THIN, "no flow in this case", (1.5, 1.0)),
        LineSample(MEDIUM, f"flow under {limit}"),
        LineSample(THICK, f"{limit} and more"),
        LineSample(THIN, "to an instrument, relief, vessel or cap"),
    ]
    letters, strokes = system_letters(plant), system_strokes(plant)
    out += [
        LineSample(0.5, f"{_plain(name)}: {fluid_words(system.fluid)}", (), letters[name], strokes[name])
        for name, system in plant.systems.items()
    ]
    if staged := stages.used(plant):
        said = ", ".join(f"‹{stages.LETTERS[stage]}› {stages.WORDS[stage]}" for stage in staged)
        out.append(LineSample(0.0, f"Stage of the work: {said}."))
    kinds = [k for k in control_lines.KINDS if any(wire.kind == k and wire.lines for wire in wires)]
    samples = [
        LineSample(0.25, control_lines.WORDS[kind], tuple(0.25 * p for p in control_lines.PATTERNS[kind]))
        for kind in kinds
    ]
    if samples:
        first, *rest = samples
        out.append(replace(first, words=f"from a control: {first.words}", beside=tuple(rest)))
    out.append(LineSample(0.0, "A dot joins. A bow passes over without joining. An open circle ends open."))
    return out


def fluid_words(fluid: Mapping[str, Any]) -> str:
    """A system's fluid in words."""
    kind = str(fluid.get("kind", "water")).replace("_", " ")
    share = fluid.get("fraction")
    return f"{100 * float(share):.0f} % {kind}" if isinstance(share, int | float) and share else kind
