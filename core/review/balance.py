"""Rules of balance: zones, sources and tanks side by side that share unlike."""

from __future__ import annotations

from collections.abc import Iterator

from core.figures import EmitterFigures, SourceFigures
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.side_by_side import Branch, flow_of, groups, headers, resistance, reverse_return
from core.review.study import Study
from core.solve.solution import Solution
from core.vocabulary import Trait
from core.water.no_flow import NO_FLOW
from core.water.runs import Run

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
UNLIKE = 1.5  # ratio of resistances, or of loops
SERVED = 1.25  # ratio of flow to need within which unlike branches are what is wanted
LENGTH = 0.3  # [m]
UNEVEN = 1.03  # ratio of flows of like sources


def _worst(study: Study, solution: Solution, group: list[Branch]) -> Iterator[tuple[Branch, float, str]]:
    """Branches without a balance valve that let much more through than another, by ratio and its name."""
    known = {one: r for one in group if (r := resistance(study, solution, one)) is not None}
    if len(known) < 2:
        return
    most = max(known, key=lambda one: known[one])
    for one, r in known.items():
        if known[most] > UNLIKE * r and not one.has(study, Trait.BALANCES) and _robs(solution, one, known):
            yield one, known[most] / r, most.item.id


def _robs(solution: Solution, branch: Branch, others: dict[Branch, float]) -> bool:
    """Whether a branch gets more for its need than others do; so too where no need is known."""
    shares = {}
    for one in others:
        emitter = solution.at(one.item.id, EmitterFigures)
        if emitter is None or emitter.wanted_w <= 0.0:
            return True
        shares[one] = flow_of(solution, one) / emitter.wanted_w
    return shares[branch] > SERVED * min(shares.values())


@rule(
    "zones-not-balanced",
    "Zones side by side that nothing balances",
    Severity.CONSIDER,
    "The short loop takes the water of the long one.",
    PRACTICE,
    "Put a balance valve into the short loop, or make the loops alike.",
    origin="zone-balance",
    insert="balance valve",
    solved=True,
)
def zones_not_balanced(study: Study) -> Iterator[Found]:
    """Branches without a balance valve of much less resistance than one beside them."""
    for group in groups(study, Trait.GIVES_HEAT):
        for solution, _ in study.each():
            if reverse_return(study, solution, group):
                continue
            for branch, ratio, other in _worst(study, solution, group):
                yield Found(
                    (branch.item.id,),
                    f"{branch.item.id} resists {ratio:.1f} times less than {other}, and no balance valve "
                    "lies in its branch.",
                    (Figure("ratio", ratio),),
                    solution.case,
                )
    for item in study.items(Trait.LOOPED):
        loops = [float(length) for _, length in item.si.get("loops") or ()]
        if len(loops) > 1 and max(loops) > UNLIKE * min(loops) > 0.0:
            yield Found(
                (item.id,),
                f"Loops of {item.id} are {study.length(min(loops))} to {study.length(max(loops))} long.",
                (Figure("ratio", max(loops) / min(loops)),),
            )


@rule(
    "reverse-return-does-not-balance",
    "Reverse return over unlike branches",
    Severity.CONSIDER,
    "Reverse return makes the headers alike for all; it does not balance branches that are unlike "
    "themselves.",
    "published trade articles on reverse return",
    "Put balance valves into the branches.",
    origin="reverse-return-false",
    solved=True,
)
def reverse_return_false(study: Study) -> Iterator[Found]:
    """Groups in reverse return with unlike branches and a branch without a balance valve."""
    for group in groups(study, Trait.GIVES_HEAT):
        for solution, _ in study.each():
            if not reverse_return(study, solution, group):
                continue
            for branch, ratio, other in _worst(study, solution, group):
                others = tuple(one.item.id for one in group if one is not branch)
                yield Found(
                    (branch.item.id, *others),
                    f"{branch.item.id} resists {ratio:.1f} times less than {other} on a header in reverse "
                    "return.",
                    (Figure("ratio", ratio),),
                    solution.case,
                )


@rule(
    "sources-share-unevenly",
    "Sources side by side that share unevenly",
    Severity.CONSIDER,
    "On a direct return the nearer source takes more water, and the farther falls short of its output.",
    "published trade articles on reverse return",
    "Pipe them in reverse return, or put a balance valve on each.",
    origin="parallel-sources",
    solved=True,
)
def sources_share_unevenly(study: Study) -> Iterator[Found]:
    """Sources between two headers, without circulator or balance valve, of unlike flow for their capacity."""
    for group in groups(study, Trait.MAKES_HEAT):
        free = [one for one in group if not one.has(study, Trait.BALANCES)]
        for solution, _ in study.each():
            flows = {one: flow_of(solution, one) / (one.item.si.get("capacity") or 1.0) for one in group}
            running = [one for one in group if flows[one] > NO_FLOW / 1e6]
            if len(running) < 2 or not free or reverse_return(study, solution, group):
                continue
            most, least = max(running, key=flows.__getitem__), min(running, key=flows.__getitem__)
            ratio = flows[most] / flows[least]
            if ratio > UNEVEN:
                names = [most.item.id, *(one.item.id for one in group if one is not most)]
                yield Found(
                    tuple(names),
                    f"{most.item.id} gets {study.flow(flow_of(solution, most))} and {least.item.id} "
                    f"{study.flow(flow_of(solution, least))}, for the same output.",
                    (Figure("ratio", ratio),),
                    solution.case,
                )


@rule(
    "idle-source-lets-water-by",
    "Idle source that water passes",
    Severity.CONSIDER,
    "Return water goes by through the cold source, dilutes the supply and loses heat up its flue.",
    PRACTICE,
    "Give each source a check valve, a zone valve, or a circulator with a check valve of its own.",
    origin="source-off-flow",
    solved=True,
)
def idle_source_lets_water_by(study: Study) -> Iterator[Found]:
    """Sources that rest in a case while water passes them and another source beside them heats."""
    beside = {
        one.item.id: [other.item.id for other in group if other is not one]
        for group in groups(study, Trait.MAKES_HEAT)
        for one in group
    }
    beside |= _with_circulators(study)
    for solution, _ in study.each():
        for key, source in solution.of(SourceFigures).items():
            at_work = [name for name in beside.get(key, ()) if solution.duty(name) > 0.0]
            if at_work and source.duty_w <= 0.0 and abs(source.flow_m3_s) > 1e3 * NO_FLOW:
                yield Found(
                    (key,),
                    f"{key} rests while {study.flow(abs(source.flow_m3_s))} pass it and "
                    f"{' and '.join(at_work)} heats.",
                    (Figure("flow_m3_s", abs(source.flow_m3_s)),),
                    solution.case,
                )


def _with_circulators(study: Study) -> dict[str, list[str]]:
    """Sources whose own circulators lie side by side."""
    own = {
        item.id: [one.id for one in study.on_run(item) if one.has(Trait.DRIVES)]
        for item in study.items(Trait.MAKES_HEAT)
    }
    return {
        key: others
        for key, pumps in own.items()
        if (
            others := [
                name
                for name, theirs in own.items()
                if name != key
                and any(study.pushes.get(q, {}).get(p, 0.0) < 0.0 for q in theirs for p in pumps)
            ]
        )
    }


@rule(
    "tanks-share-unevenly",
    "Tanks side by side on unlike piping",
    Severity.CONSIDER,
    "The nearer tank is drawn empty first, while the other stands.",
    "published trade articles on reverse return",
    "Pipe them in reverse return, with like lengths, or in series.",
    origin="tank-series-parallel",
)
def tanks_share_unevenly(study: Study) -> Iterator[Found]:
    """Tanks that join the same two headers by pipes of unlike length."""
    header = headers(study)
    tanks: dict[frozenset[object], list[tuple[str, float]]] = {}
    for item in study.items(Trait.TANK):
        runs = [
            run for place in study.graph.places_of[item.id] for run in study.runs.ending_at.get(place, ())
        ]
        own = [
            run for run in dict.fromkeys(runs) if not item.has(Trait.HAS_COIL) or not _is_coil(run, item.id)
        ]
        far = {run: run.end if run.start.item == item.id else run.start for run in own}
        ends = frozenset(header.get(place, place) for place in far.values())
        length = sum(study.plant.pipes[key].si.length for run in own for key in run.pipes)
        if len(ends) > 1:
            tanks.setdefault(ends, []).append((item.id, length))
    for group in tanks.values():
        (near, short), (far_one, long) = (
            min(group, key=lambda one: one[1]),
            max(group, key=lambda one: one[1]),
        )
        if len(group) > 1 and long - short > LENGTH + 0.25 * short:
            yield Found(
                (near, *(name for name, _ in group if name != near)),
                f"{near} has {study.length(short)} of pipe to the headers it shares with {far_one}, "
                f"{far_one} "
                f"{study.length(long)}.",
                (Figure("longer_m", long - short),),
            )


def _is_coil(run: Run, tank: str) -> bool:
    return any(way.key == tank and way.part == "coil" for way in run.ways)
