"""Candidates that are put into a line: second circulators, check valves, limiters."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import partial
from typing import Any

from core import units
from core.cures.candidate import Candidate, Surroundings, cut_open
from core.cures.settings import POWER
from core.figures import EmitterFigures, PumpFigures
from core.plant import edits
from core.plant.changes import Change
from core.plant.model import Pipe, Plant, PortRef
from core.questions.intake import NO_FLOW, intake
from core.sizing.second_circulator.available import Pump
from core.sizing.second_circulator.edit import put_in
from core.sizing.second_circulator.fit import best_spot, cuts
from core.sizing.second_circulator.places import Place, Spot
from core.sizing.second_circulator.study import Bench
from core.vocabulary import CHECK_VALVE, Trait

LIMITER = "balance_valve"
MADE_OF = ("cv", "k", "size", "opens_at")


def inline(near: Surroundings, bench: Bench) -> Iterator[Candidate]:
    """Every piece that could be put into a line of the circuit, or of those beside it."""
    if near.sign > 0.0:
        yield from _second_circulators(near, bench)
        yield from _checks(near)
    yield from limiters(near)


def _second_circulators(near: Surroundings, bench: Bench) -> Iterator[Candidate]:
    for place in bench.places(near.at):
        pump = bench.same(place)
        if bench.blocked(place) or pump.curve is None:
            continue
        spot, fit = best_spot(bench.context, place, pump)
        change = "second_in_parallel" if place.how == "parallel" else "second_in_series"
        where = {"series": "in series with", "parallel": "in parallel to", "branch": "in"}[place.how]
        room = {"yes": "it fits", "no": "it does not fit", "unknown": "whether it fits is not known"}[
            fit.fits
        ]
        if fit.fits == "no":
            continue
        text = f"a second circulator ({pump.name}) {where} {place.at}; {room}"
        make = partial(_put_circulator, place, spot, pump)
        yield Candidate(change, place.at, text, make, cuts(near.plant, place, spot), POWER)


def _put_circulator(place: Place, spot: Spot | None, pump: Pump, plant: Plant) -> list[Change]:
    return put_in(plant, place, spot, pump).changes


def _checks(near: Surroundings) -> Iterator[Candidate]:
    """A check valve behind every circulator that is off and lets water pass."""
    plant = near.plant
    for key, figures in near.solution.of(PumpFigures).items():
        if figures.running or abs(figures.flow_m3_s) <= NO_FLOW or key not in near.joined:
            continue
        pipes = plant.pipes_at.get(PortRef(key, "out"), ())
        if len(pipes) == 1:
            text = f"a check valve behind {key}, which is off and lets water pass"
            make = partial(_put_check, key)
            yield Candidate("check_valve", key, text, make, cut_open(plant, pipes))


def _put_check(pump: str, plant: Plant) -> list[Change]:
    ref = PortRef(pump, "out")
    pipe = plant.pipes[plant.pipes_at[ref][0]]
    return _put(plant, CHECK_VALVE, pipe, pipe.start == ref, _like_others(plant, pipe.system))


def _like_others(plant: Plant, system: str) -> dict[str, Any]:
    """Made like a check valve of the same system; without any, it loses nothing."""
    for item in plant.with_trait(Trait.CHECKS):
        if any(item.id in (p.start.item, p.end.item) and p.system == system for p in plant.pipes.values()):
            return {key: item.props[key] for key in MADE_OF if key in item.props}
    return {}


def _put(plant: Plant, kind: str, pipe: Pipe, forward: bool, props: Mapping[str, Any]) -> list[Change]:
    """An item in the middle of a pipe, its first port towards where water comes from."""
    draft = edits.Draft(plant)
    ends = [plant.items[ref.item].at for ref in (pipe.start, pipe.end)]
    at = (0.5 * (ends[0][0] + ends[1][0]), 0.5 * (ends[0][1] + ends[1][1]))
    heights = [float(plant.items[ref.item].si.get("height") or 0.0) for ref in (pipe.start, pipe.end)]
    mean = sum(heights) / 2.0
    more = {"height": f"{mean:.4g} m"} if abs(mean) > 1e-6 else {}
    draft.do(*edits.insert_in_line(plant, kind, pipe.id, at, 0.5, props={**props, **more}))
    if not forward:
        name = next(key for key in draft.plant.items if key not in plant.items)
        draft.do(*edits.turn_round(draft.plant, name))
    return draft.changes


def limiters(near: Surroundings) -> Iterator[Candidate]:
    """A limiter before every other circuit that has no balance valve of its own, or, where it gets too
    much, before itself."""
    plant = near.plant
    for key, figures in near.solution.of(EmitterFigures).items():
        other = key != near.at
        if other != (near.sign > 0.0) or key not in near.joined or abs(figures.flow_m3_s) <= NO_FLOW:
            continue
        place = intake(plant, near.solution, key)
        if place is None or plant.pipes[place.pipe].joined or _has_own(near, key):
            continue
        for share in near.less:
            unit = "L/s" if plant.units == "si" else "gpm"
            typed = f"{units.to_unit(abs(figures.flow_m3_s) * share, unit):.4g} {unit}"
            text = f"a limiter of {typed} before {key}"
            make = partial(_put_limiter, place.pipe, place.port, typed)
            yield Candidate("limiter", key, text, make, cut_open(plant, [place.pipe]), step=-share)


def _has_own(near: Surroundings, key: str) -> bool:
    way = set(near.stream.circuit(key))
    if key != near.at:
        way -= set(near.way)
    flow = abs(near.solution.flow(key))
    return any(
        item.has(Trait.BALANCES) and abs(abs(near.solution.flow(item.id)) - flow) <= 0.02 * flow
        for item in near.plant.items.values()
        if item.id in way
    )


def _put_limiter(pipe: str, port: PortRef, typed: str, plant: Plant) -> list[Change]:
    found = plant.pipes[pipe]
    return _put(plant, LIMITER, found, found.end == port, {"set_flow": typed})
