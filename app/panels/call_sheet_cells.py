"""The call sheet's figures as cells: combinations, one of them, the worst, outlets, a year. No widgets."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache, partial
from typing import TYPE_CHECKING

from app.panels.call_sheet_table import Cell, Head
from core import units

if TYPE_CHECKING:
    from core.calls.energy import Energy
    from core.calls.one_unit_out import OneUnitOut
    from core.calls.receptacles import OutletLoad
    from core.calls.rows import CallRow, Load
    from core.calls.sheet import CallSheet
    from core.calls.worst import Worst
    from core.plant.model import Plant
    from core.working import Display

Table = tuple[tuple[Head, ...], list[tuple[Cell, ...]]]

WORST_WORDS = {
    "heat": "most heat",
    "wanted": "most needed",
    "short": "shortest",
    "power": "most watts",
    "not_settled": "not solved",
}


def disc(on: bool, soft: bool = False, tip: str = "", key: object = None) -> Cell:
    """A filled disc where something is on or runs, else a dash."""
    return Cell(mark="disc" if on else "dash", soft=soft, tip=tip, key=key)


def power(watts: float, display: Display) -> str:
    return units.show(watts, "power", display)


def bare(watts: float, display: Display) -> str:
    """Heat without its unit."""
    return power(watts, display).split(" ")[0] if abs(watts) > 0.5 else ""


def heads_of(plant: Plant, calls: Sequence[str], runs: Sequence[str]) -> tuple[Head, ...]:
    """Headings of the combinations: calls, heat needed, delivered and short, worst in, who runs."""
    return (
        *(Head(call, _called(plant, call)) for call in calls),
        Head("needed", "Heat needed by the circuits that are called", rule=True),
        Head("delivered", "Heat delivered to them"),
        Head("short", "What they lack"),
        Head("heat", "Heat of all sources"),
        Head("worst in", "What is greatest of all combinations here", most=110),
        *(Head(key, _called(plant, key), rule=not n) for n, key in enumerate(runs)),
        Head(""),
    )


@lru_cache(maxsize=2100)
def unknown(name: str, calls: tuple[str, ...], width: int) -> tuple[Cell, ...]:
    """A combination not solved yet: its calls alone."""
    on = name.split(" + ")
    return (*(disc(call in on, key=name) for call in calls), *[Cell(key=name)] * (width - len(calls)))


def combination(
    row: CallRow, calls: Sequence[str], worst: Sequence[Worst], stale: bool, display: Display
) -> tuple[Cell, ...]:
    """One combination; in soft ink where it is of the plant before the last edit."""
    name = row.name
    big = {each.what for each in worst}
    figures = (
        ("wanted", "needed", row.wanted),
        ("", "delivered", row.delivered),
        ("short", "short", row.short),
        ("heat", "heat", row.heat),
    )
    cells = [disc(call in row.on, stale, key=name) for call in calls]
    cells += [
        Cell(
            bare(value, display) or "·",
            heavy=what in big or (what == "short" and value > 0.5),
            soft=stale,
            right=True,
            key=name,
            tip=f"{word} {power(value, display)}",
        )
        for what, word, value in figures
    ]
    settled = row.solution.converged
    words = [WORST_WORDS.get(each.what) or f"{each.at} {each.words}" for each in worst]
    said = ", ".join([*([] if settled else ["not solved"]), *words])
    cells.append(Cell(said, heavy=not settled, soft=stale, tip=said.replace(", ", "\n"), key=name))
    return (*cells, *(disc(on, stale, key=name) for on in row.runs.values()), Cell(key=name))


def _called(plant: Plant, key: str) -> str:
    item = plant.items.get(key)
    return "" if item is None else item.label or item.kind_info.title


def one_row(plant: Plant, row: CallRow, display: Display) -> Table:
    """Everything in one combination: circuits, sources, exchangers, tanks, rooms, circulators."""
    heads = (Head("at"), Head(""), Head("is"), Head("of", "Needed, or capacity"), Head("", "Share"))
    lines = []
    for key, c in row.circuits.items():
        if c.called:
            said = f"short {power(c.short, display)}" if c.is_short else "met"
            given, wanted = power(c.delivered, display), power(c.wanted, display)
            lines.append((key, "delivered", given, wanted, said, c.is_short))
    for key, load in {**row.sources, **row.exchangers}.items():
        if load.running:
            lines.append((key, *_load(load, display)))
    for key, heat in row.tanks.items():
        held = row.duty_shares.get(key)
        time = "" if held is None else _held(held)
        words = "absorbs" if heat >= 0.0 else "gives off"
        lines.append((key, words, power(abs(heat), display), "", time, False))
    for key, share in row.duty_shares.items():
        if key not in row.tanks:
            lines.append((key, "held", "", "", _held(share), share > 1.0))
    for key, m in row.circulators.items():
        if m.running:
            watts = "" if m.power is None else f"{float(m.power.value):.0f} W"
            flow, head = units.show(m.flow, "flow", display), units.show(m.head, "head", display)
            speed = "" if m.speed > 0.995 else f" at {100 * m.speed:.0f} % speed"
            lines.append((key, "moves", flow, head, watts + speed, False))
    return heads, [_line(plant, *line) for line in lines]


def _held(share: float) -> str:
    """How long a call lasts that holds a store or room."""
    if share > 1.0:
        return "even a call that lasts does not hold it"
    return f"called {100 * share:.0f} % of the time to hold it"


def _load(load: Load, display: Display) -> tuple[str, str, str, str, bool]:
    """What a source or exchanger carries, of what, and its share."""
    most = load.capacity or load.possible
    share = "" if load.share is None else f"{100 * load.share:.0f} %"
    lacks = f" short {power(load.short, display)}" if load.short > 0.5 else ""
    words = "gives" if load.possible is None else "transfers"
    of = power(most, display) if most else "not stated"
    return words, power(load.duty, display), of, share + lacks, bool(lacks)


def _line(
    plant: Plant, key: str, words: str, value: str, of: str, more: str, heavy: bool = False
) -> tuple[Cell, ...]:
    return (
        Cell(key, heavy=True, tip=_called(plant, key), key=("go", key)),
        Cell(words, soft=True, key=("go", key)),
        Cell(value, right=True, key=("go", key)),
        Cell(of, right=True, soft=True, key=("go", key)),
        Cell(more, heavy=heavy, key=("go", key)),
    )


def worst(sheet: CallSheet, display: Display) -> Table:
    """The extremes and the combination each stands in; a click goes to that row."""
    heads = (Head("worst"), Head("value"), Head("with"))
    out: list[tuple[Cell, ...]] = []
    for each in sheet.worst:
        bad = each.what in ("short", "circuit_short", "not_settled")
        value = units.show(each.value, each.dimension, display) if each.dimension else ""
        if each.what == "power":
            value = f"{each.value:.0f} W"
        key = ("row", each.case)
        name = Cell(f"{each.at} {each.words}".strip(), key=key)
        where = Cell(each.case, soft=True, tip=each.case, key=key)
        out.append((name, Cell(value, right=True, heavy=bad, key=key), where))
    return heads, out


def outlets(sheet: CallSheet) -> Table:
    """Each outlet at its worst combination, then what it feeds; a click shows the working of the current."""
    heads = tuple(Head(word) for word in ("outlet", "carries", "takes", "verdict", "with"))
    out: list[tuple[Cell, ...]] = []
    order = ("idle", "within", "unknown", "over 80 %", "over rating")

    def grave(row: CallRow, place: int) -> tuple[int, float, int]:
        load = row.outlets[place]
        return order.index(load.verdict), float(load.amps.value), -len(row.on)

    for place in range(len(sheet.rows[0].outlets)) if sheet.rows else ():
        row = max(sheet.rows, key=partial(grave, place=place))
        load = row.outlets[place]
        out.append(_outlet(load, row.name))
        out += [_fed(p) for p in load.feeds]
    return heads, out


def _outlet(load: OutletLoad, case: str) -> tuple[Cell, ...]:
    amps = f"{float(load.amps.value):.1f} A" + (" + ?" if load.unknown else "")
    limit = "?" if load.limit is None else f"{float(load.limit.value):.1f} A"
    rating = "rating unknown" if load.rating is None else f"80 % of {float(load.rating.value):.0f} A"
    bad = load.verdict in ("over rating", "over 80 %", "unknown")
    said = load.words()
    return (
        Cell(load.at, heavy=True, key=("go", load.at)),
        Cell(amps, right=True, heavy=bad, tip=said, key=("working", load.amps)),
        Cell(limit, right=True, tip=rating, key=("working", load.limit)),
        Cell({"unknown": "not proven"}.get(load.verdict, load.verdict), heavy=bad, tip=said),
        Cell(case, soft=True, tip=case, key=("row", case)),
    )


def _fed(plugged: object) -> tuple[Cell, ...]:
    from core.calls.receptacles import Plugged

    assert isinstance(plugged, Plugged)
    way = f" through {', '.join(plugged.through)}" if plugged.through else ""
    amps = "? A" if plugged.amps is None else f"{float(plugged.amps.value):.1f} A"
    return (
        Cell(f"    {plugged.at}", key=("go", plugged.at)),
        Cell(amps, right=True, soft=not plugged.runs, key=plugged.amps and ("working", plugged.amps)),
        Cell(""),
        Cell("" if plugged.runs else "off", soft=True),
        Cell(way.strip(), soft=True),
    )


def year(energy: Energy | None, fewer: Sequence[OneUnitOut]) -> Table:
    """Energy of each case and of the year in kWh, and what one heater fewer would carry."""
    cases = energy.cases if energy is not None else ()
    heads = (
        Head(""),
        Head("year, kWh"),
        *(Head(c.case, f"{c.hours:g} h a year", rule=not n) for n, c in enumerate(cases)),
    )
    out: list[tuple[Cell, ...]] = []
    if energy is not None:
        for words, sums in (
            ("heat", energy.heat),
            ("fuel", energy.fuel),
            ("electricity", energy.electricity),
        ):
            for key, total in sums.items():
                each = [getattr(c, words).get(key) for c in cases]
                cells = [_kwh(w) for w in each]
                out.append((Cell(f"{words} of {key}", key=("go", key)), _kwh(total), *cells))
            whole = sum(float(w.value) for w in sums.values())
            if len(sums) > 1:
                blank = [Cell("")] * len(cases)
                sum_cell = Cell(f"{whole / 3.6e6:,.0f}", right=True, heavy=True)
                out.append((Cell(f"all {words}", heavy=True), sum_cell, *blank))
        blank = [Cell("")] * (len(cases) + 1)
        out += [(Cell(f"missing: {text}", soft=True, tip=text), *blank) for text in energy.missing]
    for group in fewer:
        out.append(_without(group, [c.case for c in cases]))
    return heads, out


def _kwh(working: object) -> Cell:
    value = getattr(working, "value", None)
    if value is None:
        return Cell("?", right=True, tip="not known")
    return Cell(f"{float(value) / 3.6e6:,.0f}", right=True, key=("working", working))


def _without(group: OneUnitOut, cases: Sequence[str]) -> tuple[Cell, ...]:
    """One line: without its largest unit the group carries these cases, and that share of the hours."""
    by_case = {c.case: c for c in group.cases}
    verdicts = []
    for name in cases:
        c = by_case.get(name)
        said = "" if c is None else "carried" if c.carries else "not carried"
        tip = "" if c is None else f"heat {c.heat:.0f} W, with one fewer {c.heat_fewer:.0f} W"
        verdicts.append(Cell(said, heavy=said == "not carried", right=True, tip=tip))
    share = group.share
    total = "?" if share is None else f"{100 * float(share.value):.1f} % of h"
    return (
        Cell(f"{', '.join(group.units)} without {group.without}", tip="Largest unit of the group left out"),
        Cell(total, right=True, heavy=True, key=share and ("working", share)),
        *verdicts,
    )
