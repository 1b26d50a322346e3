"""Rules of exchangers: both waters the same way, too near an approach, one side still."""

from __future__ import annotations

from collections.abc import Iterator

from core.controls.expressions import runs
from core.figures import ExchangerFigures
from core.plant.model import Item, PortRef
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.sources import APPROACH_K, tank_stats
from core.review.study import Study
from core.solve.solution import Solution
from core.vocabulary import Trait
from core.water.no_flow import NO_FLOW

SLIGHT = 1e-6  # [m^3/s] a creep that says nothing of the piping
RULES: list[Rule] = []
rule = registrar(RULES)


@rule(
    "exchanger-in-parallel-flow",
    "Exchanger piped in parallel flow",
    Severity.MEND,
    "With both waters running the same way the cold side never gets warmer than the hot side leaves: at four "
    "transfer units and equal flows 0.50 passes instead of 0.80.",
    "effectiveness of exchangers (textbook relations of Incropera)",
    "Change over the two pipes of one side.",
    origin="hx-counterflow",
    solved=True,
)
def exchanger_in_parallel_flow(study: Study) -> Iterator[Found]:
    """Exchangers whose arrangement is parallel, or through which one side runs backward."""
    for item in study.items(Trait.EXCHANGES_HEAT):
        if item.si.get("arrangement") == "parallel":
            yield Found((item.id,), f"{item.id} is set to parallel flow.")
            continue
        for solution, _ in study.each():
            hx = solution.at(item.id, ExchangerFigures)
            if hx is not None and hx.a_flow_m3_s * hx.b_flow_m3_s < -(SLIGHT**2):
                side = "a" if hx.a_flow_m3_s < 0.0 else "b"
                yield Found(
                    (item.id,),
                    f"Water enters side {side} of {item.id} at its outlet, so both waters run the same way.",
                    case=solution.case,
                )
                break


@rule(
    "approach-too-near",
    "Exchanger asked for more than its hot side gives",
    Severity.CONSIDER,
    "Within about {3 K|5 °F} of the hot inlet an exchanger grows without end.",
    "effectiveness of exchangers",
    "Ask for less, or send hotter water.",
    origin="hx-approach",
)
def approach_too_near(study: Study) -> Iterator[Found]:
    """Exchangers and coils whose cold side is asked for nearly the set point of the hot side's source."""
    for item in study.items(Trait.EXCHANGES_HEAT, Trait.HAS_COIL):
        for hot, cold in _sides(study, item):
            sets = [one.si.get("set_temperature") for one in study.items_in(hot, Trait.MAKES_HEAT)]
            known = [float(one) for one in sets if one is not None]
            asked = _asked(study, cold, item)
            if not known or len(known) < len(sets) or not asked:
                continue
            most, (wanted, by) = max(known), max(asked)
            if wanted > most - APPROACH_K and not study.items_in(cold, Trait.MAKES_HEAT):
                yield Found(
                    (item.id, by),
                    f"{by} asks {study.warm(wanted)} of water that {item.id} heats from {study.warm(most)}.",
                    (Figure("approach_k", most - wanted, -1),),
                )


def _sides(study: Study, item: Item) -> Iterator[tuple[frozenset[PortRef], frozenset[PortRef]]]:
    for wall in study.graph.walls:
        if wall.key == item.id:
            one, other = (study.bodies[study.body_at[place]] for place in (wall.one, wall.other))
            if one != other:
                yield one, other
                yield other, one


def _asked(study: Study, body: frozenset[PortRef], item: Item) -> list[tuple[float, str]]:
    """Temperatures that stats over stores, and mixing valves, ask of a body."""
    own = [tank.id for tank in study.items_in(body, Trait.STORES_HEAT)]
    found = [(held, stat.id) for stat, tank, held in tank_stats(study) if tank.id in own]
    if item.has(Trait.HAS_COIL):
        return [(held, name) for held, name in found if _senses(study, name, item.id)]
    valves = study.items_in(body, Trait.TEMPERS)
    return found + [
        (float(one.si["set_temperature"]), one.id) for one in valves if one.si.get("set_temperature")
    ]


def _senses(study: Study, stat: str, item: str) -> bool:
    senses = study.plant.items[stat].si.get("senses")
    return senses is not None and str(senses[0]) == item


@rule(
    "one-side-still",
    "Exchanger with one side still",
    Severity.MEND,
    "No heat passes while one of its waters stands.",
    "heat balance",
    "Run the circulators of both sides on the same call.",
    origin="hx-pump-both",
    solved=True,
)
def one_side_still(study: Study) -> Iterator[Found]:
    """Exchangers with flow on one side that somebody called, and none on the other."""
    for solution, _ in study.each():
        for key, hx in solution.of(ExchangerFigures).items():
            flows = {"a": abs(hx.a_flow_m3_s), "b": abs(hx.b_flow_m3_s)}
            still = [side for side, flow in flows.items() if flow <= NO_FLOW]
            moving = [side for side, flow in flows.items() if flow > NO_FLOW]
            if len(still) != 1 or _no_draw(study, solution, key, still[0]):
                continue
            if _called(study, solution, key, moving[0]):
                yield Found(
                    (key,),
                    f"Side {moving[0]} of {key} has {study.flow(flows[moving[0]])}, side {still[0]} stands.",
                    case=solution.case,
                )


def _no_draw(study: Study, solution: Solution, key: str, side: str) -> bool:
    """Whether a side stands because no tap is open: water of a main, with no circulator to move it."""
    body = study.body_of(key, f"{side}_in")
    moved = study.pipe_at(key, f"{side}_in")
    driven = moved is not None and moved.id in study.driven
    drawn = any(solution.flow(one.id) > NO_FLOW for one in study.items_in(body, Trait.DRAWS_WATER))
    return bool(study.items_in(body, Trait.BRINGS_WATER)) and not drawn and not driven


def _called(study: Study, solution: Solution, key: str, side: str) -> bool:
    """Whether a circulator or valve on the run of a side is what lets its water move."""
    pipe = study.pipe_at(key, f"{side}_in")
    run = None if pipe is None else study.runs.of.get(pipe.id)
    items = [] if run is None else study.runs.items(run)
    return any(
        (one.has(Trait.DRIVES) and solution.running(one.id))
        or (one.has(Trait.OPENS_BY_SIGNAL) and runs(one.si, solution.signals))
        for one in items
    )
