"""Balance valves: the setting that gives each branch its share, with the circulators as they are.

On each way round, what the circulator gives at design flow less what all else loses is left for the branch's
valve. A valve that cannot take so little is short: its branch, or the circulator, is the bottleneck.

A valve wide open counts as short only where more than 0.5 % of the driving pressure lacks.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from core import units
from core.hydraulics.circulators import at_speed, flow_at_head
from core.hydraulics.elements import Element
from core.plant.model import Item
from core.sizing.context import Context, MissingInput, memo, symbol_of
from core.sizing.demand import flows
from core.sizing.demand.demands import Demand, demands
from core.sizing.demand.losses import GPM_LEAF, GRAVITY_LEAF, PSI_LEAF, WATER_LEAF
from core.sizing.demand.paths import Ways, critical_path, loss_of, ways_of
from core.sizing.families.circulators import control_of, curve_in_metres
from core.sizing.result import Option, Sized
from core.vocabulary import Trait
from core.working import Working, derived

LEAST_SETTING = 0.05  # settings below are too fine to make by hand; common practice, no source
HAND = 1000.0  # settings are rounded to a thousandth
FINE = (
    0.005  # share of what drives a way round that may lack: 1/4 % of flow, what one flow in all of it costs
)


@dataclass(frozen=True)
class Branch:
    """A circuit's way round through its circulator: the elements but for its valve, and what drives them."""

    demand: Demand
    circulator: str
    case: str
    valve: Element
    rest: tuple[Element, ...]


def size(context: Context) -> list[Sized]:
    """Every balance valve in line with a circuit."""
    names = [i.id for i in context.plant.with_trait(Trait.BALANCES)]
    return context.one_by_one(names, "balance", lambda name: _of(context, name))


@memo
def branches(context: Context) -> dict[str, Branch]:
    """The branch of each balance valve that is a circuit's own, by valve."""
    return {b.valve.key: b for b in _branches(context)}


def _branches(context: Context) -> Iterable[Branch]:
    for item in context.plant.items.values():
        if not item.has(Trait.DRIVES) or item.stage == "to_remove":
            continue
        path = critical_path(context, item.id)
        if path is None:
            continue
        ways = ways_of(context, path.case)
        for name in flows.serves(context, item.id):
            demand = demands(context).of(name)
            if demand is not None and path.case in demand.by_case:
                found = _branch(context, ways, item.id, demand, path.case)
                if found is not None:
                    yield found


def _branch(context: Context, ways: Ways, circulator: str, demand: Demand, case: str) -> Branch | None:
    """From the circulator to the circuit, through it, and back, other circuits left out."""
    own = ways.net.of_item[circulator][0]
    place = demand.way.place
    inside = [e for e in ways.net.of_item[place.item] if place.side in ("", e.part)]
    if ways.merged_item(place.item):
        inside = []
    others = {
        e.index
        for d in demands(context).found.values()
        if d.at != demand.at
        for e in ways.net.of_item[d.at]
        if d.way.place.side in ("", e.part)
    }
    pumps = {e.index for e in ways.net.elements if e.has(Trait.DRIVES)}
    if demand.way.ports is None:
        return None
    entry, leave = (ways.net.node(*port) for port in demand.way.ports)
    for without in (others | pumps, pumps, {own.index}):
        there = ways.longest(own.end, entry, without | {own.index})
        through = ways.longest(entry, leave, set()) if inside else []
        back = ways.longest(leave, own.start, without | {own.index})
        if there is not None and through is not None and back is not None:
            whole = [*there, *through, *back]
            valves = [e for e in whole if e.has(Trait.BALANCES) and ways.own_valve(e) is demand]
            if not valves:
                return None
            rest = tuple(e for e in whole if e is not valves[0])
            return Branch(demand, circulator, case, valves[0], rest)
    return None


def given_head(context: Context, name: str, flow: float, density: float, asked: float) -> tuple[float, str]:
    """Head that a circulator gives at a flow, as it is run, [m], and how in words; `asked` is its path's."""
    item = context.plant.items[name]
    curve = curve_in_metres(item, density)
    if curve is None:
        raise MissingInput(f"{name}: props.curve is not given, so no valve behind it can be set")
    control = control_of(item, density)
    full = at_speed(curve, control.speed, flow)[0]
    if control.kind == "delta_t":
        return min(full, asked), f"{name} slows down to what the critical path asks"
    if control.target is None or control.kind == "fixed":
        return full, f"curve of {name} at that flow"
    if control.kind == "delta_p_constant":
        return min(full, control.target), f"head that {name} holds"
    top = flow_at_head(curve, control.target)
    line = control.target * (0.5 + 0.5 * min(flow / top, 1.0)) if top > 0.0 else full
    return min(full, line), f"head that {name} holds at that flow"


def _of(context: Context, name: str) -> Sized | None:
    branch = branches(context).get(name)
    item = context.plant.items[name]
    if branch is None:
        return None
    if item.si.get("set_flow"):
        return _limiter(context, item, branch)
    wide = context.wanted("C_wide", f"cv of {name} wide open", name, "cv", "no setting can be found")
    path = critical_path(context, branch.circulator)
    assert path is not None
    ways = ways_of(context, branch.case)
    water = ways.water(ways.pipe_of(branch.valve))
    left = _left(context, branch, ways)
    if float(left.value) <= 0.0:
        return _short(context, item, branch, left, 1.0)
    coefficient = derived(
        "C_v", f"flow coefficient {name} must have", "", "Q / u_Q * sqrt(ρ / ρ_w * u_p / Δp)",
        water.flow, GPM_LEAF, water.density, WATER_LEAF, PSI_LEAF, left,
        source="definition of the flow coefficient",
    )  # fmt: skip
    setting = derived("x", f"setting of {name}", "", "min(C_v / C_wide, 1)", coefficient, wide)
    least = float(left.value) * (float(coefficient.value) / float(wide.value)) ** 2
    if least - float(left.value) > FINE * _drive(left):
        return _short(context, item, branch, left, 1.0, setting)
    return _set(context, item, branch, setting, left)


def _left(context: Context, branch: Branch, ways: Ways) -> Working:
    """Pressure left for the valve: what drives the way round less what all else on it loses."""
    path = critical_path(context, branch.circulator)
    assert path is not None
    density = path.steps[0].water.density
    flow, asked = float(path.flow.value), float(path.head.value)
    head, how = given_head(context, branch.circulator, flow, float(density.value), asked)
    drive = Working("H", f"head of {branch.circulator}", head, "head", inputs=(path.flow,), how=how)
    inputs: list[Working] = [density, GRAVITY_LEAF, drive]
    terms = []
    for e in branch.rest:
        loss = loss_of(context, ways.step(e))
        if float(loss.value) == 0.0:
            continue
        symbol = symbol_of("Δp", e.key)
        while any(part.symbol == symbol for part in inputs):
            symbol += "_"
        inputs.append(replace(loss, symbol=symbol))
        terms.append(symbol)
    formula = f"ρ * g * H - ({' + '.join(terms) or '0'})"
    return derived("Δp", f"pressure left for {branch.valve.key}", "pressure", formula, *inputs)


def _drive(left: Working) -> float:
    """Pressure that drives the way round, [Pa], from the working of what is left of it."""
    density, gravity, head = (float(part.value) for part in left.inputs[:3])
    return density * gravity * head


def _set(context: Context, item: Item, branch: Branch, setting: Working, left: Working) -> Sized:
    value = round(float(setting.value) * HAND) / HAND
    now = context.prop("x", f"setting of {item.id}", item.id, "setting")
    assert now is not None
    words = (
        f"{item.id} set to {100.0 * value:.1f} % gives {branch.demand.at} its "
        f"{context.shown(branch.demand.by_case[branch.case].value, 'flow')} in {branch.case}: "
        f"{context.shown(left.value, 'pressure')} are left for it with {branch.circulator} as it is"
    )
    if abs(float(now.value) - value) > 0.002:
        words += f"; it stands at {100.0 * float(now.value):.1f} %"
    cautions: tuple[str, ...] = ()
    if value < LEAST_SETTING:
        cautions = (
            f"{item.id}: a setting that fine is hard to make; a smaller valve does better (common practice).",
        )
    option = Option(
        f"set to {100.0 * value:.1f} %", {"drop_pa": float(left.value)}, True, "", {"setting": value}, setting
    )
    return Sized(
        item.id, "balance", f"{words}.", value, "", "", branch.case, (option,), option.name, setting,
        cautions=cautions,
    )  # fmt: skip


def _limiter(context: Context, item: Item, branch: Branch) -> Sized:
    """A limiter is set to the flow itself; it can hold it where enough pressure is left."""
    ways = ways_of(context, branch.case)
    left = _left(context, branch, ways)
    need = loss_of(context, ways.step(branch.valve))
    wanted = branch.demand.by_case[branch.case]
    unit = units.unit_for("flow", context.display)
    text = f"{units.to_unit(float(wanted.value), unit):.3g} {unit}"
    if float(need.value) - float(left.value) > FINE * _drive(left):
        return _short(context, item, branch, left, 1.0)
    typed = context.prop("Q", f"flow set at {item.id}", item.id, "set_flow")
    words = (
        f"{item.id} set to {context.shown(wanted.value, 'flow')} gives {branch.demand.at} what it needs in "
        f"{branch.case}; {context.shown(left.value, 'pressure')} are left for it, it takes at least "
        f"{context.shown(need.value, 'pressure')}"
    )
    if typed is not None and abs(float(typed.value) / float(wanted.value) - 1.0) > 0.02:
        words += f". It is set to {context.shown(typed.value, 'flow')}"
    figures = {"flow_m3_s": float(wanted.value), "drop_pa": float(left.value)}
    option = Option(f"limit at {text}", figures, True, "", {"set_flow": text}, replace(wanted, symbol="Q"))
    return Sized(
        item.id, "balance", f"{words}.", float(wanted.value), "m3_s", "flow", branch.case, (option,),
        option.name, wanted,
    )  # fmt: skip


def _short(
    context: Context,
    item: Item,
    branch: Branch,
    left: Working,
    setting: float,
    working: Working | None = None,
) -> Sized:
    ways = ways_of(context, branch.case)
    lost = context.shown(max(-float(left.value), 0.0), "pressure")
    why = (
        f"all else on its way loses {lost} more than {branch.circulator} gives"
        if float(left.value) <= 0.0
        else f"only {context.shown(left.value, 'pressure')} are left for it, less than it takes wide open"
    )
    words = (
        f"{item.id} wide open still leaves {branch.demand.at} short of its "
        f"{context.shown(ways.water(ways.pipe_of(branch.valve)).flow.value, 'flow')} in {branch.case}: {why}"
    )
    props = {"setting": setting} if not item.si.get("set_flow") else None
    option = Option("wide open", {"drop_pa": float(left.value)}, False, why, props, left)
    return Sized(
        item.id,
        "balance",
        f"{words}.",
        setting,
        "",
        "",
        branch.case,
        (option,),
        option.name,
        working or left,
        fails=True,
    )
