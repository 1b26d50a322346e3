"""How an item's figures came about: head of a circulator, heat of sources, emitters, exchangers, mixing.

Computed anew from the flows and temperatures at its ports.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from core.derivation import rooms
from core.derivation.leaves import (
    WARMED,
    View,
    dimension_of,
    fluid_property,
    in_si,
    mean,
    mean_capacity,
    name_of,
)
from core.figures import CoilTankFigures, ExchangerFigures, PumpFigures
from core.hydraulics.circulators import at_speed
from core.hydraulics.curves import head_curve
from core.plant.model import Item
from core.thermal.emitters import emitter_of
from core.thermal.exchanger import effectiveness
from core.thermal.plates import rated_ua
from core.vocabulary.traits import Report
from core.working import Working, given, show_value

STILL = 1e-12  # [m^3/s]
SOURCE_LAW = "heat carried by flowing water"
ONE_TEMPERATURE = "effectiveness of an exchanger whose other side stays at one temperature (e-NTU)"


def item_working(view: View, name: str, key: str) -> Working | None:
    """Working of one figure of an item; None where the item has no such figure."""
    if view.value(name, key) is None:
        return None
    item = view.plant.items[name]
    report = item.kind_info.report
    maker = None if report is None else _MAKERS.get((report, key))
    found = maker(view, item) if maker is not None else None
    return found if found is not None else _plain(view, item, key)


def _plain(view: View, item: Item, key: str) -> Working:
    """A figure that is the outcome of the whole plant, not of a formula of its own."""
    value = view.value(item.id, key)
    words = f"{name_of(key)} of {item.id}"
    how = WARMED if key.endswith("_c") else "found by the solver with the flows and temperatures of all"
    return Working("x", words, in_si(key, value), dimension_of(key), how=how, origin="solved")


def _flow(view: View, item: Item, key: str = "flow_m3_s") -> Working:
    found = view.solved("Q", f"flow through {item.id}", item.id, key)
    return Working("Q", found.words, abs(float(found.value)), "flow", how=found.how, origin="solved")


def _head(view: View, item: Item) -> Working | None:
    figures = view.role(item.id, PumpFigures)
    points = item.si.get("curve")
    flow, speed = figures.flow_m3_s, figures.speed
    if not figures.running or not points or flow < 0.0 or not points[0][1].is_head:
        return None
    curve = head_curve([(q, lift.value) for q, lift in points])
    s = view.solved("s", "share of full speed", item.id, "speed", _speed_words(view, item))
    q = _flow(view, item)
    scaled = Working("Q_1", "flow on the full-speed curve", flow / speed, "flow", "Q / s", (q, s))
    full = at_speed(curve, 1.0, flow / speed)[0]
    shown = ", ".join(
        f"{show_value(q, 'flow', view.display)} {show_value(lift.value, 'head', view.display)}"
        for q, lift in points
    )
    typed = Working(
        "H_c",
        f"curve of {item.id}",
        shown,
        origin="typed",
        path=f"items.{item.id}.props.curve",
    )
    on_curve = Working(
        "H_1",
        "head of the full-speed curve there",
        full,
        "head",
        inputs=(scaled, typed),
        how="smooth curve through the points that never rises (PCHIP), straight beyond the last",
        holds="flows of the curve's points",
        within=flow / speed <= points[-1][0] * (1.0 + 1e-9),
    )
    return Working(
        "H",
        f"head of {item.id}",
        speed**2 * full,
        "head",
        "s^2 * H_1",
        (s, on_curve),
        source="affinity laws of similar pumps",
    )


def _speed_words(view: View, item: Item) -> str:
    control = item.si.get("control") or "fixed"
    target = item.props.get("target")
    if control == "fixed" or target is None:
        return "its speed as set"
    held = {
        "delta_t": f"the speed at which its circuit cools by {target}, within its limits",
        "delta_p_constant": f"the speed at which it gives {target} over its own ports",
        "delta_p_proportional": f"the speed on the line that rises to {target} at full flow",
    }
    return f"found by the solver: {held[str(control)]}"


def _heat(view: View, item: Item, ports: tuple[str, str], words: str, taken: bool) -> Working | None:
    """ρ Q c (T_2 − T_1), or the other way for what takes heat out of the water."""
    flow = _flow(view, item)
    signed = view.solution.flow(item.id)
    if float(flow.value) <= STILL:
        return given("q", f"{words}: no flow", 0.0, "power", "solved")
    ends = view.inlet_and_outlet(item.id, signed, *ports)
    if ends is None:
        return None
    first, last = ends
    fluid = view.fluid_at(item.id, *ports)
    rho = fluid_property(fluid, "density", mean("T", "mean temperature", first, last), view.display)
    c = mean_capacity(fluid, first, last)
    formula = "ρ * Q * c * (T_1 - T_2)" if taken else "ρ * Q * c * (T_2 - T_1)"
    sign = -1.0 if taken else 1.0
    rise = sign * (float(last.value) - float(first.value))
    value = float(rho.value) * float(flow.value) * float(c.value) * rise
    return Working("q", words, value, "power", formula, (rho, flow, c, first, last), source=SOURCE_LAW)


def _rate(symbol: str, words: str, rho: Working, flow: Working, c: Working) -> Working:
    """Heat that flowing water carries per degree, [W/K]."""
    value = float(rho.value) * float(flow.value) * float(c.value)
    return Working(symbol, words, value, "heat_per_kelvin", "ρ * Q * c", (rho, flow, c), source=SOURCE_LAW)


def _to_one_temperature(rate: Working, ua: Working, inlet: Working, other: Working) -> float:
    """C (1 - exp(-UA / C)) (T_1 - T): heat to a side that stays at one temperature, [W]."""
    c = float(rate.value)
    return c * -math.expm1(-float(ua.value) / c) * (float(inlet.value) - float(other.value))


def _source_duty(view: View, item: Item) -> Working | None:
    if not view.solution.running(item.id):
        return given("q", f"heat of {item.id}: it does not run", 0.0, "power", "solved")
    return _heat(view, item, ("in", "out"), f"heat of {item.id}", taken=False)


def _source_short(view: View, item: Item) -> Working | None:
    duty = _source_duty(view, item)
    set_at = rooms.set_temperature(view, item)
    ends = view.inlet_and_outlet(item.id, view.solution.flow(item.id), "in", "out")
    if not view.solution.running(item.id) or duty is None or set_at is None or ends is None:
        return None
    fluid = view.fluid_at(item.id, "in", "out")
    rho = fluid_property(fluid, "density", mean("T", "mean temperature", *ends), view.display)
    c = mean_capacity(fluid, ends[0], set_at)
    flow = _flow(view, item)
    need = float(rho.value) * float(flow.value) * float(c.value)
    need *= float(set_at.value) - float(ends[0].value)
    wanted = Working(
        "q_w",
        "heat that the set temperature would want",
        need,
        "power",
        "ρ * Q * c * (T_set - T_1)",
        (rho, flow, c, set_at, ends[0]),
        source=SOURCE_LAW,
    )
    value = max(need - float(duty.value), 0.0)
    inputs = (wanted, duty, given("zero", "no less than nothing", 0.0, "power", "default"))
    return Working("q_s", f"{item.id} short by", value, "power", "max(q_w - q, zero)", inputs)


def _delivered(view: View, item: Item) -> Working | None:
    carried = _heat(view, item, ("in", "out"), f"heat given by {item.id}", taken=True)
    fluid = view.fluid_at(item.id, "in", "out")
    emitter = emitter_of(item, fluid)
    if carried is None or not carried.inputs or emitter.ua is None or emitter.exponent != 1.0:
        return carried
    ends = view.inlet_and_outlet(item.id, view.solution.flow(item.id), "in", "out")
    room = _room(view, item)
    if ends is None or room is None:
        return carried
    rho, flow, c = carried.inputs[:3]
    capacity = _rate("C", "heat carried per degree", rho, flow, c)
    ua = _emitter_ua(view, item, emitter.ua)
    value = _to_one_temperature(capacity, ua, ends[0], room)
    if abs(value - float(carried.value)) > 0.01 * max(abs(value), 1.0):
        return carried  # what it gives is limited by what is wanted, or shared out among loads
    return Working(
        "q",
        f"heat given by {item.id}",
        value,
        "power",
        "C * (1 - exp(-UA / C)) * (T_1 - T_room)",
        (capacity, ua, ends[0], room),
        source=ONE_TEMPERATURE,
    )


def _emitter_ua(view: View, item: Item, value: float) -> Working:
    words = f"heat of {item.id} per degree of water over room"
    for name in ("output_per_degree", "ua"):
        if name in item.props:
            found = view.prop("UA", words, item.id, name)
            if found is not None:
                return found
    how = "from its rated point" if item.props.get("rated") else "from its area and construction, an estimate"
    origin = "computed" if item.props.get("rated") else "memory"
    return Working("UA", words, value, "heat_per_kelvin", how=how, origin=origin)  # type: ignore[arg-type]


def _room(view: View, item: Item) -> Working | None:
    own = view.prop("T_room", "room temperature", item.id, "room_temperature")
    if own is not None:
        return own
    room = str(item.si.get("serves") or "")
    if view.value(room, "temperature_c") is not None:
        return view.solved("T_room", f"temperature of {room}", room, "temperature_c")
    if room:
        return None
    indoor = view.plant.site_si.indoor
    return given("T_room", "room: the site's indoor temperature", indoor, "temperature", "default")


def _exchanger_ends(view: View, item: Item) -> tuple[Working, Working, Working, Working] | None:
    """Inlet temperatures and capacity rates of sides a and b."""
    figures = view.role(item.id, ExchangerFigures)
    found: list[Working] = []
    rates: list[Working] = []
    for side, flow in (("a", figures.a_flow_m3_s), ("b", figures.b_flow_m3_s)):
        ends = view.inlet_and_outlet(item.id, flow, f"{side}_in", f"{side}_out")
        if ends is None or abs(flow) <= STILL:
            return None
        fluid = view.fluid_at(item.id, f"{side}_in", f"{side}_out")
        first, last = ends
        rho = fluid_property(fluid, "density", mean("T", "mean temperature", first, last), view.display)
        c = mean_capacity(fluid, first, last)
        q = Working("Q", f"flow of side {side}", abs(flow), "flow", origin="solved")
        rates.append(_rate(f"C_{side}", f"heat side {side} carries per degree", rho, q, c))
        found.append(
            Working(
                f"T_{side}",
                f"water entering side {side}",
                first.value,
                "temperature",
                how=first.how,
                origin="solved",
            )
        )
    return found[0], found[1], rates[0], rates[1]


def _exchanger_ua(view: View, item: Item) -> Working | None:
    fouling = view.prop("x_f", "share lost to scale", item.id, "fouling")
    clean = view.prop("UA_0", f"UA of {item.id} as typed", item.id, "ua")
    if clean is None:
        rated = item.si.get("rated")
        sides = [view.fluid_at(item.id, f"{side}_in", f"{side}_out") for side in ("a", "b")]
        value = rated_ua(rated, sides, item.si.get("arrangement") or "counter") if rated else 0.0
        if value <= 0.0:
            return None
        clean = Working(
            "UA_0",
            f"UA of {item.id} from its rated point",
            value,
            "heat_per_kelvin",
            how="heat of the rated point over its log-mean difference",
            source="Incropera et al., equation 11.14",
            path=f"items.{item.id}.props.rated",
        )
    if fouling is None:
        fouling = given("x_f", "share lost to scale", 0.0)
    return Working(
        "UA",
        f"UA of {item.id} as it is",
        float(clean.value) * (1.0 - float(fouling.value)),
        "heat_per_kelvin",
        "UA_0 * (1 - x_f)",
        (clean, fouling),
    )


def _effectiveness(view: View, item: Item) -> Working | None:
    ends, ua = _exchanger_ends(view, item), _exchanger_ua(view, item)
    if ends is None or ua is None:
        return None
    _, _, c_a, c_b = ends
    figures = view.role(item.id, ExchangerFigures)
    same = (figures.a_flow_m3_s < 0.0) == (figures.b_flow_m3_s < 0.0)
    counter = ((item.si.get("arrangement") or "counter") == "counter") == same
    small, large = sorted((c_a, c_b), key=lambda c: float(c.value))
    least = Working("C_min", "the smaller rate", small.value, "heat_per_kelvin", "min(C_a, C_b)", (c_a, c_b))
    ntu = float(ua.value) / float(small.value)
    ratio = float(small.value) / float(large.value)
    n = Working("N", "number of transfer units", ntu, "", "UA / C_min", (ua, least))
    most = Working("C_max", "the larger rate", large.value, "heat_per_kelvin", "max(C_a, C_b)", (c_a, c_b))
    r = Working("r", "ratio of the rates", ratio, "", "C_min / C_max", (least, most))
    value = effectiveness(ntu, ratio, "counter" if counter else "parallel")
    if not counter:
        formula = "(1 - exp(-N * (1 + r))) / (1 + r)"
    elif ntu * (1.0 - ratio) < 1e-6:
        formula = "N / (1 + N)"
    else:
        formula = "(1 - exp(-N * (1 - r))) / (1 - r * exp(-N * (1 - r)))"
    words = f"effectiveness of {item.id}, {'counter' if counter else 'parallel'} flow"
    return Working(
        "ε", words, value, "", formula, (n, r), source="Kays and London; Incropera et al., table 11.3"
    )


def _exchanger_duty(view: View, item: Item) -> Working | None:
    eps, ends = _effectiveness(view, item), _exchanger_ends(view, item)
    if eps is None or ends is None:
        return given("q", f"heat through {item.id}: a side has no flow", 0.0, "power", "solved")
    t_a, t_b, c_a, c_b = ends
    least = min(float(c_a.value), float(c_b.value))
    c_min = Working("C_min", "the smaller rate", least, "heat_per_kelvin", "min(C_a, C_b)", (c_a, c_b))
    value = float(eps.value) * least * abs(float(t_a.value) - float(t_b.value))
    return Working(
        "q",
        f"heat through {item.id}",
        value,
        "power",
        "ε * C_min * abs(T_a - T_b)",
        (eps, c_min, t_a, t_b),
        source="definition of effectiveness",
    )


def _hot_share(view: View, item: Item) -> Working | None:
    hot = view.port_temperature(item.id, "hot", "T_h", "water at the hot port")
    cold = view.port_temperature(item.id, "cold", "T_c", "water at the cold port")
    if hot is None or cold is None or view.solution.flow(item.id) <= STILL:
        return None
    mixed = view.solved("T_m", "mixed water", item.id, "temperature_c")
    span = float(hot.value) - float(cold.value)
    if abs(span) < 0.5:
        return None
    value = (float(mixed.value) - float(cold.value)) / span
    return Working(
        "x",
        f"share of hot water in {item.id}",
        value,
        "",
        "(T_m - T_c) / (T_h - T_c)",
        (mixed, cold, hot),
        source="heat balance of two streams that mix",
    )


def _cop(view: View, item: Item) -> Working | None:
    """Heat over the electric power taken."""
    duty = _source_duty(view, item)
    power = view.solved(
        "P", f"electric power of {item.id}", item.id, "power_w", "from its table, in proportion at part load"
    )
    if duty is None or float(power.value) <= 0.0:
        return None
    value = float(duty.value) / float(power.value)
    return Working(
        "COP", f"heat of {item.id} per electric power", value, "", "q / P", (duty, power), source="definition"
    )


def _coil_duty(view: View, item: Item) -> Working | None:
    """What the coil passes to the water standing round it."""
    flow = _flow(view, item, "coil_flow_m3_s")
    signed = view.role(item.id, CoilTankFigures).coil_flow_m3_s
    ends = view.inlet_and_outlet(item.id, signed, "coil_in", "coil_out")
    ua = view.prop("UA", f"UA of the coil of {item.id}", item.id, "coil_ua")
    if ends is None or ua is None or float(flow.value) <= STILL:
        return None
    fluid = view.fluid_at(item.id, "coil_in", "coil_out")
    rho = fluid_property(fluid, "density", mean("T", "mean temperature", *ends), view.display)
    c = mean_capacity(fluid, *ends)
    capacity = _rate("C", "heat carried per degree", rho, flow, c)
    tank = view.solved("T_t", f"water in {item.id}", item.id, "temperature_c")
    value = _to_one_temperature(capacity, ua, ends[0], tank)
    return Working(
        "q",
        f"heat from the coil of {item.id}",
        value,
        "power",
        "C * (1 - exp(-UA / C)) * (T_1 - T_t)",
        (capacity, ua, ends[0], tank),
        source=ONE_TEMPERATURE,
    )


_MAKERS: dict[tuple[Report, str], Callable[[View, Item], Working | None]] = {
    (Report.PUMP, "head_m"): _head,
    **{(report, "duty_w"): _source_duty for report in (Report.SOURCE, Report.HEAT_PUMP)},
    **{(report, "short_w"): _source_short for report in (Report.SOURCE, Report.HEAT_PUMP)},
    (Report.EMITTER, "delivered_w"): _delivered,
    (Report.EXCHANGER, "effectiveness"): _effectiveness,
    (Report.EXCHANGER, "duty_w"): _exchanger_duty,
    (Report.MIXING, "hot_share"): _hot_share,
    (Report.HEAT_PUMP, "cop"): _cop,
    (Report.COIL_TANK, "coil_duty_w"): _coil_duty,
    (Report.ROOM, "loss_w"): rooms.loss,
    (Report.ROOM, "duty_share"): rooms.share,
    (Report.ROOM, "temperature_c"): rooms.temperature,
}
