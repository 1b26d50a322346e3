"""How a circuit, tap, pipe, source or stat fares in a solved case: the figure judged, and what is wanted.

In this order: too little heat, too much, water over a firm limit of velocity, a source that runs too briefly,
a stat that its own water makes switch within one round. The first that is found is the answer.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from core.controls.signals import Signals
from core.controls.stats import out_of_reach, stats_of
from core.controls.wiring import Wiring
from core.figures import EmitterFigures, OutletFigures, RoomFigures, SourceFigures, StatFigures
from core.media.fluids import fluid_of
from core.plant.as_set import plant_for
from core.plant.model import Case, Plant
from core.questions.counterfactual import joined_sources
from core.questions.heat_way import before_of
from core.questions.intake import NO_FLOW, ZERO
from core.questions.shortness import shares_short
from core.questions.stops import stream_of
from core.simulation.runs import limits_of
from core.sizing.bodies import body_at
from core.sizing.context import Context
from core.sizing.families.buffer import RUN_TIME, band_of, held_in
from core.sizing.families.limits import firm_limit
from core.solve import Solution
from core.vocabulary import Trait
from core.water.ways import water_graph

ENOUGH = 0.99  # share of what is needed that counts as reached
TOO_WARM = 1.0  # [K] over its set temperature from which on a tap counts as too warm
TOO_MUCH = 1.2  # times what is needed, of a circuit whose room is not solved
DEFAULT_MIX = 313.7  # [K] of a fixture without a set temperature (common practice, no source)
OVER = 1.01  # times its limit from which on water counts as too fast
BEYOND = 0.05  # [K] by which water must change more than a differential
HEAT, WARM, SPEED, RUN, SWING = "delivered_w", "temperature_c", "velocity_m_s", "run_s", "beyond_k"
UNITS = {HEAT: "W", WARM: "degC", SPEED: "m/s", RUN: "s", SWING: "K"}
HEATS = (HEAT, WARM)


class Judged(NamedTuple):
    """The figure that is judged in one solved case: its key, value, what is wanted, and 1 where more of it is
    wanted, -1 where less is, 0 where it is well; `miss` is by which share it is off, `where` the pipe, source
    or stat that it is of."""

    what: str
    value: float
    wanted: float
    sign: float
    miss: float
    where: str = ""

    @property
    def unit(self) -> str:
        """Unit of the figure."""
        return UNITS[self.what]

    @property
    def weight(self) -> tuple[int, float]:
        """How much it asks for a cure: too little heat before too much, that before speed and starts."""
        grave = 0 if self.sign == 0.0 else 3 if self.what in HEATS and self.sign > 0.0 else 1
        return grave + (self.what in HEATS and self.sign < 0.0), self.miss


def can_cure(plant: Plant, at: str) -> bool:
    """Whether an id is one that cures can be sought for: a circuit or tap; a pipe, whose water may be too
    fast; a source or stat, which may start too often."""
    item = plant.items.get(at)
    if item is None:
        return at in plant.pipes and plant.pipes[at].stage != "to_remove"
    return item.stays and item.has(Trait.GIVES_HEAT, Trait.DRAWS_WATER, Trait.MAKES_HEAT, Trait.STAT)


def judge(plant: Plant, solution: Solution, case: Case, at: str, what: str = "") -> Judged | None:
    """How somebody fares in a solved case; None where it has no part in it.

    Parameters
    ----------
    plant, solution, case
    at : str
    what : str
        Only this figure, whether it is well or not; "" for the first that is not
    """
    seen = plant_for(plant, case)
    first: Judged | None = None
    for look, tells in LOOKS.items():
        found = look(seen, solution, case, at) if what in ("", *tells) else None
        if found is not None and (what == found.what or (not what and found.sign != 0.0)):
            return found
        first = first or found
    return None if what else first


# heat ------------------------------------------------------------------------------------------------------


def _heat(plant: Plant, solution: Solution, case: Case, at: str) -> Judged | None:
    figures = solution.items.get(at)
    if isinstance(figures, OutletFigures) and figures.flow_m3_s > NO_FLOW:
        set_at = plant.items[at].si.get("set_temperature")
        wanted = float(DEFAULT_MIX if set_at is None else set_at) - ZERO
        miss = wanted - figures.temperature_c
        sign = 1.0 if miss > (1.0 - ENOUGH) * wanted else -1.0 if miss < -TOO_WARM else 0.0
        return Judged(WARM, figures.temperature_c, wanted, sign, abs(miss))
    if isinstance(figures, EmitterFigures):
        if abs(figures.flow_m3_s) <= NO_FLOW and at not in shares_short(plant, case, solution):
            return None
        short = figures.short_w > (1.0 - ENOUGH) * figures.wanted_w
        over = not short and _overheats(plant, solution, figures, at)
        sign = 1.0 if short else -1.0 if over else 0.0
        miss = abs(figures.wanted_w - figures.delivered_w) / max(figures.wanted_w, 1.0)
        return Judged(HEAT, figures.delivered_w, figures.wanted_w, sign, miss)
    return None


def _overheats(plant: Plant, solution: Solution, figures: EmitterFigures, at: str) -> bool:
    """Whether it makes its room too warm, or gives much more than is needed where no room is solved."""
    item = plant.items[at]
    room = solution.at(str(item.si.get("serves") or ""), RoomFigures)
    if room is not None:
        return room.temperature_c > room.wanted_c + TOO_WARM
    return bool(item.si.get("load")) and figures.delivered_w > TOO_MUCH * figures.wanted_w > 0.0


# velocity --------------------------------------------------------------------------------------------------


def pipes_over(plant: Plant, solution: Solution, at: str) -> list[tuple[str, float, float]]:
    """Pipes of somebody's own way round (of a tap, of the way to it) whose water is held to a firm limit of
    velocity: velocity and limit, [m/s], the one furthest over first."""
    found = []
    for key in _own_pipes(plant, solution, at):
        pipe, figures = plant.pipes[key], solution.pipes.get(key)
        if figures is None or pipe.joined or abs(figures.flow_m3_s) <= NO_FLOW:
            continue
        material = str((pipe.tube or {}).get("material", ""))
        use = "potable" if plant.systems[pipe.system].use == "potable" else "closed"
        limit = firm_limit(material, use, figures.warmest_c + ZERO, pipe.si.bore)
        if limit is not None:
            found.append((key, abs(figures.velocity_m_s), limit.value))
    return sorted(found, key=lambda one: -one[1] / one[2])


def _own_pipes(plant: Plant, solution: Solution, at: str) -> Iterator[str]:
    if at in plant.pipes:
        yield at
    elif plant.items[at].has(Trait.GIVES_HEAT, Trait.DRAWS_WATER):
        stream = stream_of(water_graph(plant), solution)
        near = dict.fromkeys([*stream.circuit(at), *before_of(plant, stream, at)])
        yield from (key for key in near if key in plant.pipes)


def _fast(plant: Plant, solution: Solution, case: Case, at: str) -> Judged | None:
    pipes = pipes_over(plant, solution, at)
    if not pipes:
        return None
    key, speed, limit = pipes[0]
    return Judged(
        SPEED, speed, limit, -1.0 if speed > OVER * limit else 0.0, max(0.0, speed / limit - 1.0), key
    )


# starts ----------------------------------------------------------------------------------------------------


def shortest_wanted(plant: Plant) -> float:
    """How long a source shall run at a time, [s]: by the limits of the plant's runs, else ten minutes.

    Of `starts_per_hour` n the shortest run is that of half load, where a source starts most and runs half of
    each cycle: 1800 s / n.
    """
    limits = [limits_of(run.get("limits", {})) for run in plant.runs]
    found = [one["shortest_run"] for one in limits if one.get("shortest_run")]
    found += [1800.0 / one["starts_per_hour"] for one in limits if one.get("starts_per_hour")]
    return max(found, default=RUN_TIME)


def least_output(plant: Plant, key: str) -> float | None:
    """Least output of a source, [W]; of a heat pump the least in its table; None where nothing tells."""
    si = plant.items[key].si
    if si.get("table"):
        return min(float(row[2]) for row in si["table"])
    return None if si.get("min_output") is None else float(si["min_output"])


def _group(plant: Plant, at: str) -> list[str]:
    """Sources whose starts concern somebody: those that heat it; of a stat those that it runs."""
    if at in plant.pipes:
        return []
    if plant.items[at].has(Trait.STAT):
        reached = Wiring(plant, Signals(plant)).reached(at)
        return [key for key in reached if plant.items[key].has(Trait.MAKES_HEAT)]
    return list(joined_sources(plant, water_graph(plant), at))


class Stored(NamedTuple):
    """What keeps a source running: it, the seconds a cubic metre of water gives it, the water held [m^3], and
    what says the band in which the water may swing (an id, or "" for the usual one)."""

    source: str
    per_volume: float
    held: float
    band_at: str


def stored(plant: Plant, solution: Solution, case: Case, at: str) -> Stored | None:
    """What keeps the source of least output running whose starts concern somebody; None where none is known.

    t / V = ρ c ΔT / (P - Q), infinite where the least output P is no more than the heat Q asked. Source: as
    in sizing a buffer (`core.sizing.families.buffer`).
    """
    group = [key for key in _group(plant, at) if _gives(solution, key) > 0.0]
    leasts = {key: least for key in group if (least := least_output(plant, key))}
    first = min(leasts, key=lambda key: leasts[key], default="")
    context = Context(plant, {})
    body = body_at(context, first) if first else None
    if body is None or body.potable or case.lasts is not None:
        return None
    over = leasts[first] - sum(_gives(solution, key) for key in group)
    held = held_in(context, body)
    stores = [key for key in body.items if plant.items[key].has(Trait.BUFFER)]
    band = band_of(context, group, stores[0] if stores else first)
    fluid, warm = fluid_of(plant.systems[body.system].si.fluid), plant.items[first].si.get("set_temperature")
    t = float(warm or 323.15)
    heat = float(fluid.density(t)) * float(fluid.heat_capacity(t)) * float(band.value)
    per_volume = heat / over if over > 1e-6 * leasts[first] else math.inf
    return Stored(first, per_volume, 0.0 if held is None else float(held.value), _id_of(band.path))


def _id_of(path: str) -> str:
    parts = path.split(".props.")
    return parts[0].removeprefix("items.") if len(parts) == 2 else ""


def _short_runs(plant: Plant, solution: Solution, case: Case, at: str) -> Judged | None:
    """How long the least output of what runs takes to warm the water that is held through its band."""
    found, wanted = stored(plant, solution, case, at), shortest_wanted(plant)
    if found is None:
        return None
    run = wanted if math.isinf(found.per_volume) else found.per_volume * found.held
    well = run >= ENOUGH * wanted
    return Judged(RUN, run, wanted, 0.0 if well else 1.0, max(0.0, 1.0 - run / wanted), found.source)


def _gives(solution: Solution, key: str) -> float:
    figures = solution.at(key, SourceFigures)
    return figures.duty_w if figures is not None and figures.running else 0.0


def _switches(plant: Plant, solution: Solution, case: Case, at: str) -> Judged | None:
    """Of the stats over flowing water that run what heats it, the one whose water changes most beyond its
    differential round a circuit it is on, [K]."""
    group = {key for key in _group(plant, at) if _gives(solution, key) > 0.0}
    if not group:
        return None
    wiring = Wiring(plant, Signals(plant))
    worst: Judged | None = None
    for key, stat in stats_of(plant).items():
        place = plant.items.get(stat.place[0])
        if (place is not None and place.has(Trait.ROOM, Trait.WATER_STANDS)) or stat.rising:
            continue
        if not (solution.signals.get(key) and group & set(wiring.reached(key))):
            continue
        if (at != key and plant.items[at].has(Trait.STAT)) or out_of_reach(plant, stat):
            continue
        figures = solution.at(key, StatFigures)
        share = figures.duty_share if figures is not None and figures.duty_share else 1.0
        beyond = _drop_round(plant, solution, stat.place[0]) / share - stat.differential
        found = Judged(SWING, max(0.0, beyond), 0.0, -1.0 if beyond > BEYOND else 0.0, max(0.0, beyond), key)
        worst = found if worst is None or found.miss > worst.miss else worst
    return worst


def _drop_round(plant: Plant, solution: Solution, place: str) -> float:
    """Greatest difference round a circuit that a place is on, [K]."""
    stream = stream_of(water_graph(plant), solution)
    found = [0.0]
    for pump in plant.with_trait(Trait.DRIVES):
        circuit = stream.circuit(pump.id) if solution.running(pump.id) else []
        if place in circuit:
            ends = [solution.pipes[key] for key in circuit if key in solution.pipes]
            values = [t for one in ends for t in (one.temperature_in_c, one.temperature_out_c)]
            found.append(max(values) - min(values))
    return max(found)


LOOKS = {_heat: HEATS, _fast: (SPEED,), _short_runs: (RUN,), _switches: (SWING,)}
