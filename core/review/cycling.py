"""Rules of starts and calls: short cycles, aquastats that their own water defeats, priority without end."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from core.controls.stats import out_of_reach, stats_of
from core.figures import StatFigures
from core.plant.model import Item
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.sources import tank_stats
from core.review.study import Study
from core.solve.solution import Solution
from core.vocabulary import Trait, signal_names
from core.water.stream import Stream
from core.working import given

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
FREEZES_K = 273.15
RESTS_W = 1.0


@rule(
    "source-cycles-short",
    "Source that starts too often",
    Severity.CONSIDER,
    "It gives more than the smallest call takes, and too little water stores the rest: many starts an hour "
    "wear it out.",
    "buffer balance of published trade pages; ten minutes of running",
    "Put in a buffer, or let more zones call together.",
    origin="buffer-short-cycle",
    solved=True,
)
def source_cycles_short(study: Study) -> Iterator[Found]:
    """Bodies whose stores hold less than keeps the least source running ten minutes in the smallest case."""
    from core.sizing.bodies import body_at
    from core.sizing.families.buffer import RUN_TIME, SOURCE, band_of, buffer_volume, held_in

    context = study.sizing
    for group in _source_groups(study):
        asked = _smallest(study, group)
        body = body_at(context, group[0].id)
        fluid = study.fluid(group[0])
        if asked is None or body is None or fluid is None:
            continue
        solution, load, least = asked
        held = held_in(context, body)
        stores = study.items_in(study.body_of(group[0]), Trait.WATER_STANDS)
        at = next((one for one in stores if one.has(Trait.BUFFER)), group[0])
        band = band_of(context, [one.id for one in group], at.id)
        warm = float(group[0].si.get("set_temperature") or 323.15)
        needed = buffer_volume(
            given("t_r", "time it shall run", RUN_TIME, "time", "practice", SOURCE),
            given("P_l", "least output", least, "power", "typed"),
            given("Q", "heat asked", load, "power", "solved"),
            given("ρ", "density", fluid.density(warm), "density", "table"),
            given("c", "heat capacity", fluid.heat_capacity(warm), "heat_capacity", "table"),
            band,
        )
        have = 0.0 if held is None else float(held.value)
        if have < float(needed.value):
            yield Found(
                (at.id, *(one.id for one in group if one is not at)),
                f"{solution.case} takes {study.heat(load)} of the {study.heat(least)} below which "
                f"{group[0].id} cannot go; {study.volume(float(needed.value))} would keep it running ten "
                f"minutes, {study.volume(have)} are held.",
                (Figure("lacks_m3", float(needed.value) - have),),
                solution.case,
                guess=any(one.has(Trait.LIFTS_HEAT) for one in group),
            )


def _source_groups(study: Study) -> Iterator[list[Item]]:
    for body in study.bodies:
        group = [one for one in study.items_in(body, Trait.MAKES_HEAT) if _least(one) is not None]
        if group and not study.is_potable(body):
            yield group


def _least(source: Item) -> float | None:
    """Least output of a source, [W]; of a heat pump the least in its table: nothing tells of less."""
    table = source.si.get("table")
    if table:
        return min(float(row[2]) for row in table)
    return float(source.si["min_output"] or 0.0) if "min_output" in source.si else None


def _smallest(study: Study, group: Sequence[Item]) -> tuple[Solution, float, float] | None:
    """The case that leaves most of the least output over: its heat, and least output of what runs in it."""
    found = []
    for solution in study.solutions:
        duty = sum(solution.duty(one.id) for one in group)
        running = [one for one in group if solution.duty(one.id) > 0.0]
        least = min((_least(one) or 0.0 for one in running), default=0.0)
        if duty > RESTS_W and least > duty:
            found.append((least - duty, solution, duty, least))
    worst = max(found, key=lambda one: one[0], default=None)
    return None if worst is None else worst[1:]


@rule(
    "differential-defeated",
    "Aquastat that its own circuit defeats",
    Severity.CONSIDER,
    "As soon as the source stops, return water comes round to the sensor and starts it again: it switches "
    "within one round of the loop.",
    "derived from the transit of one loop",
    "Widen its differential beyond the circuit's difference, or let it sense a tank.",
    origin="aquastat-vs-dt",
    solved=True,
)
def differential_defeated(study: Study) -> Iterator[Found]:
    """Aquastats over flowing water whose differential is smaller than what their circuit's water changes."""
    stats = stats_of(study.plant)
    for solution, stream in study.each():
        for stat in study.items(Trait.STAT):
            senses = stat.si.get("senses")
            at = str(senses[0]) if senses else ""
            place = study.plant.items.get(at)
            if not at or (place is not None and place.has(Trait.ROOM, Trait.WATER_STANDS)):
                continue
            if not _runs_a_source(study, stat) or not solution.signals.get(stat.id):
                continue
            if (feels := stats.get(stat.id)) is not None and out_of_reach(study.plant, feels):
                continue
            drop, pump = _drop_round(study, solution, stream, at)
            figures = solution.at(stat.id, StatFigures)
            share = figures.duty_share if figures is not None and figures.duty_share else 1.0
            width = float(stat.si.get("differential") or 0.0)
            if width < drop / share - 0.05:
                yield Found(
                    (stat.id, pump),
                    f"{stat.id} switches within {study.span(width)}, but its water changes by "
                    f"{study.span(drop / share)} round {pump}.",
                    (Figure("beyond_k", drop / share - width),),
                    solution.case,
                )


def _runs_a_source(study: Study, stat: Item) -> bool:
    return any(study.plant.items[key].has(Trait.MAKES_HEAT) for key in study.wiring.reached(stat.id))


def _drop_round(study: Study, solution: Solution, stream: Stream, at: str) -> tuple[float, str]:
    """Greatest difference round a circuit that a place is on, [K], and its circulator."""
    found = [(0.0, "")]
    item = study.plant.items.get(at)
    near = study.pipes_of(at) if item is not None and item.has(Trait.JOINS) else []
    for pump in study.items(Trait.DRIVES):
        circuit = stream.circuit(pump.id) if solution.running(pump.id) else []
        if not {at, *(pipe.id for pipe in near)}.isdisjoint(circuit):
            ends = [solution.pipes[key] for key in circuit if key in solution.pipes]
            values = [t for one in ends for t in (one.temperature_in_c, one.temperature_out_c)]
            found.append((max(values) - min(values), pump.id))
    return max(found)


@rule(
    "priority-without-end",
    "Hot water priority without a limit",
    Severity.CONSIDER,
    "A stuck call, or a tank that never gets warm, leaves the heating off for good: rooms freeze.",
    PRACTICE,
    "Limit the priority in time, or let a frost stat override it.",
    origin="dhw-priority-limit",
)
def priority_without_end(study: Study) -> Iterator[Found]:
    """Tank stats that hold heating off with no limit, where it freezes outdoors."""
    if study.plant.site_si.outdoor_design >= FREEZES_K:
        return
    for stat, _tank, _ in tank_stats(study):
        if stat.si.get("priority_limit"):
            continue
        held = [one for one in _held_off(study, stat) if _heats_rooms(study, one)]
        if held:
            names = " and ".join(one.id for one in held)
            yield Found(
                (stat.id, *(one.id for one in held)),
                f"While {stat.id} calls, {names} {'rests' if len(held) == 1 else 'rest'}, however long that "
                "takes.",
            )


def _held_off(study: Study, stat: Item) -> list[Item]:
    """Circulators and valves that do not run because a stat calls."""
    named = stat.si.get("priority") or ()
    found = []
    for item in study.items(Trait.DRIVES, Trait.OPENS_BY_SIGNAL):
        said = item.si.get("run_when")
        if stat.id in _negated(said) or not set(signal_names(said)).isdisjoint(named):
            found.append(item)
    return found


def _negated(said: object, under: bool = False) -> set[str]:
    """Names that stand under an odd number of nots."""
    if isinstance(said, str):
        return {said} if under else set()
    if isinstance(said, dict):
        return set().union(*(_negated(part, under != (word == "not")) for word, part in said.items()))
    if isinstance(said, list | tuple):
        return set().union(*(_negated(part, under) for part in said))
    return set()


def _heats_rooms(study: Study, item: Item) -> bool:
    return bool(study.items_in(study.body_of(item), Trait.HEATS_ROOM, Trait.MELTS_SNOW))
