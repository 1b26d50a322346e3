"""Rules of circulators and the valves of their zones: shut ways, steep curves, held differences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise, product

from core.controls.expressions import runs
from core.figures import PumpFigures
from core.plant.model import Case, Item, PortRef
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.study import Study
from core.vocabulary import Trait, signal_names
from core.water.no_flow import NO_FLOW
from core.water.numbers import reached
from core.water.stream import Stream

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
MOST_SIGNALS = 8  # with more, not every state of them is tried
STEEP = 1.4  # head at rest over head at six tenths of the last flow
SHARE = 0.6
APPROACH_K = 5.0  # [K] by which water must be warmer than a tank it charges, at least
FEW = 2  # zones


@rule(
    "every-way-shut",
    "Circulator that can run against shut valves",
    Severity.MEND,
    "With every way shut it stirs its own water until that boils and its bearings run dry.",
    PRACTICE,
    "Stop it with the last zone, leave one way open, or put in a bypass valve.",
    origin="dead-head",
)
def every_way_shut(study: Study) -> Iterator[Found]:
    """Circulators with a state of signals, or a solved case, in which they run and no way is open."""
    for item in study.items(Trait.DRIVES):
        way = next(iter(study.graph.ways_of.get(item.id, ())), None)
        if way is None or item.id in study.arrows.backward or not study.arrows.loop(way):
            continue
        found = _shut_state(study, item)
        if found is not None:
            yield Found((item.id, *found[1]), found[0])


def _shut_state(study: Study, item: Item) -> tuple[str, tuple[str, ...]] | None:
    (way,) = study.graph.ways_of[item.id]
    shut_by_hand = frozenset(
        w.key for w in study.graph.ways if w.hand_valve and not w.part and not w.stands_open
    )
    if shut_by_hand and not study.arrows.loop(way, shut_by_hand):
        near = tuple(sorted(shut_by_hand & {w.key for w in study.runs.live}))
        return f"{item.id} has no way round past the valves that stand shut: {', '.join(near)}.", near
    if str(item.si.get("control") or "").startswith("delta_p"):
        return None
    valves = study.items_in(study.body_of(item), Trait.OPENS_BY_SIGNAL)
    if not valves or study.arrows.loop(way, shut_by_hand | {v.id for v in valves}):
        return None
    for on in states(study, [item, *valves]):
        closed = {v.id for v in valves if not runs(v.si, on)}
        if runs(item.si, on) and not study.arrows.loop(way, shut_by_hand | closed):
            calls = [key for key, state in on.items() if state and key in study.signals.items]
            words = f"with {', '.join(calls)} on" if calls else "with no call on"
            near = tuple(v.id for v in valves if v.id in closed)
            return f"{item.id} runs {words} while every valve on its way is shut.", near
    return None


def states(study: Study, items: list[Item]) -> Iterator[dict[str, bool]]:
    """Every state of the signals that some items run by; what merely feeds them with power is on.

    Nothing where there are too many.
    """
    named = {name for item in items for name in signal_names(item.si.get("run_when"))}
    feeding = {name for item in items for name in signal_names(item.si.get("powered_by"))} - named
    base = reached(
        (name for name in named if name in study.signals.items),
        lambda name: study.signals.needs.get(name, set()),
    )
    free = sorted(name for name in base if study.signals.items[name].si.get("switched_by") is None)
    if len(free) > MOST_SIGNALS:
        return
    for state in product((False, True), repeat=len(free)):
        given = {**dict.fromkeys(feeding, True), **dict(zip(free, state, strict=True))}
        yield study.signals.states(Case("", signals=given), {}).on


@rule(
    "zone-valves-on-a-steep-curve",
    "Zone valves on a steep curve",
    Severity.CONSIDER,
    "With one zone open the head of a circulator of fixed speed rises: valves whistle, and may not close.",
    PRACTICE,
    "Put in a bypass valve, or a circulator that holds its pressure.",
    origin="zone-valve-direction",
)
def zone_valves_on_a_steep_curve(study: Study) -> Iterator[Found]:
    """Circulators of fixed speed with zone valves on every way and no bypass valve."""
    for item in study.items(Trait.DRIVES):
        points = curve_points(item)
        way = next(iter(study.graph.ways_of.get(item.id, ())), None)
        if way is None or not points or item.si.get("control") not in (None, "fixed"):
            continue
        valves = study.items_in(study.body_of(item), Trait.OPENS_BY_SIGNAL)
        fed = _fed(study, item)
        own = [v for v in valves if _is_fed(v, fed)]
        bypass = study.items_in(study.body_of(item), Trait.OPENS_BY_PRESSURE)
        if len(own) < 2 or bypass or not study.arrows.loop(way):
            continue
        steep = points[0][1] / max(_head_at(points, SHARE * points[-1][0]), 1e-6)
        if steep > STEEP and not study.arrows.loop(way, frozenset(v.id for v in valves)):
            yield Found(
                (item.id,),
                f"{item.id} runs at fixed speed with a zone valve on every way; at rest its head is "
                f"{steep:.1f} times that near full flow.",
                (Figure("steepness", steep),),
            )


def _fed(study: Study, pump: Item) -> dict[PortRef, None]:
    """Places that a circulator's water comes to before another circulator or a vessel."""
    stop = {one.id for one in study.items(Trait.DRIVES, Trait.WATER_STANDS)}
    return study.arrows.from_([PortRef(pump.id, "out")], {*stop, ""})


def _is_fed(item: Item, fed: Mapping[PortRef, None]) -> bool:
    """Whether water enters a zone valve at any port, or what gives heat at its inlet."""
    entries = item.ports[:1] if item.has(Trait.GIVES_HEAT) else item.ports
    return any(PortRef(item.id, port) in fed for port in entries)


def curve_points(item: Item) -> list[tuple[float, float]]:
    """Flow [m^3/s] and head [m] of a circulator's curve; pressures as heads of cold water."""
    curve = item.si.get("curve") or ()
    return [(float(q), float(h.value) if h.is_head else float(h.value) / 9806.65) for q, h in curve]


def _head_at(points: list[tuple[float, float]], flow: float) -> float:
    for (q0, h0), (q1, h1) in pairwise(points):
        if q0 <= flow <= q1:
            return h0 + (h1 - h0) * (flow - q0) / (q1 - q0)
    return points[-1][1]


# speeds held by a difference of temperature -----------------------------------------------------------------


def _by_difference(study: Study) -> list[Item]:
    return [item for item in study.items(Trait.DRIVES) if item.si.get("control") == "delta_t"]


@rule(
    "difference-out-of-reach",
    "Held difference out of reach at the end of charging",
    Severity.CONSIDER,
    "Near the end of charging the tank leaves less difference than the circulator is to hold: it slows to "
    "its "
    "least speed and charging drags on.",
    "heat balance",
    "Hold a smaller difference, or raise the source's set point.",
    origin="dtpump-endcharge",
)
def difference_out_of_reach(study: Study) -> Iterator[Found]:
    """Circulators that hold a difference larger than source less tank and approach leave."""
    for item in _by_difference(study):
        target = item.si.get("target")
        source = max(
            (
                float(one.si["set_temperature"])
                for one in study.sources_of(PortRef(item.id, "in"))
                if one.si.get("set_temperature") is not None
            ),
            default=None,
        )
        tank, held = _charged(study, item)
        if target is None or source is None or tank is None or held is None:
            continue
        left = source - held - APPROACH_K
        if _number(target) > left:
            yield Found(
                (item.id, tank),
                f"{item.id} holds {study.span(_number(target))}, but at the end of charging {tank} to "
                f"{study.warm(held)} a source at {study.warm(source)} leaves {study.span(max(left, 0.0))}.",
                (Figure("beyond_k", _number(target) - left),),
            )


def _number(target: object) -> float:
    return float(getattr(target, "value", target))  # type: ignore[arg-type]


def _charged(study: Study, pump: Item) -> tuple[str | None, float | None]:
    """A tank that a circulator charges, directly or through its coil, and the set point of its stat."""
    fed = {p.item for p in study.arrows.from_([PortRef(pump.id, "out")], {pump.id, ""})}
    for stat in study.items(Trait.STAT):
        senses = stat.si.get("senses")
        at = str(senses[0]) if senses else ""
        tank = study.plant.items.get(at)
        if tank is not None and tank.has(Trait.TANK) and at in fed and stat.si.get("set_temperature"):
            falls = stat.si.get("makes_on", "fall") == "fall"
            if falls and _same_call(pump, stat):
                return at, float(stat.si["set_temperature"])
    return None, None


def _same_call(pump: Item, stat: Item) -> bool:
    return stat.id in signal_names(pump.si.get("run_when"))


@rule(
    "difference-starves-emitters",
    "Held difference with water that follows the weather",
    Severity.CONSIDER,
    "In mild weather the supply is cool; a fixed difference then takes most of what the emitters need.",
    "published trade article on differing differences",
    "Let it run at fixed speed or hold its pressure.",
    origin="dtpump-emitter",
)
def difference_starves_emitters(study: Study) -> Iterator[Found]:
    """Circulators that hold a difference, with emitters on few zones and a reset that sets their supply."""
    sets = {name for one in study.items(Trait.RESETS) for name in one.si.get("sets") or ()}
    for item in _by_difference(study):
        body = study.body_of(item)
        named = [one.id for one in study.items_in(body) if one.id in sets]
        fed = {p.item for p in study.arrows.from_([PortRef(item.id, "out")], {item.id, ""})}
        zones = [one for one in study.items_in(body, Trait.HEATS_ROOM) if one.id in fed]
        first = _fed(study, item)
        own = [one for one in zones if _is_fed(one, first)]
        if named and own and len(own) <= FEW:
            yield Found(
                (item.id, named[0]),
                f"{item.id} holds a fixed difference over {len(own)} zone{'s' if len(own) > 1 else ''} whose "
                f"water {named[0]} cools with the weather.",
            )


@rule(
    "difference-below-least-flow",
    "Least speed below a source's least flow",
    Severity.CONSIDER,
    "Slowed to its least speed the circulator gives the source less than it needs to fire.",
    "affinity law",
    "Raise the least speed.",
    origin="dtpump-minflow",
    solved=True,
)
def difference_below_least_flow(study: Study) -> Iterator[Found]:
    """Circulators held by a difference whose flow at least speed misses a source's least flow."""
    for solution, stream in study.each():
        for item in _by_difference(study):
            pump = solution.at(item.id, PumpFigures)
            if pump is None or not pump.running or pump.speed <= 0.0 or pump.flow_m3_s <= NO_FLOW:
                continue
            least = pump.flow_m3_s * float(item.si.get("min_speed") or 0.0) / pump.speed
            for name, needed in _needing(study, stream, item):
                if least < needed:
                    yield Found(
                        (item.id, name),
                        f"At its least speed {item.id} moves about {study.flow(least)}; {name} wants "
                        f"{study.flow(needed)}.",
                        (Figure("least_m3_s", least, -1),),
                        solution.case,
                    )


def _needing(study: Study, stream: Stream, pump: Item) -> list[tuple[str, float]]:
    """Sources on its way round with a least flow."""
    own = set(stream.circuit(pump.id))
    found = [(one.id, float(one.si.get("min_flow") or 0.0)) for one in study.items(Trait.MAKES_HEAT)]
    return [(name, least) for name, least in found if least > 0.0 and name in own]
