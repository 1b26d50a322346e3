"""Rules of close tees and separators: tees too far apart or stirred, parted twice, flows that dilute."""

from __future__ import annotations

from collections.abc import Iterator

from core.figures import EmitterFigures, TwoEndsFigures
from core.plant.model import Item, PortRef
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.straight import straight_length
from core.review.study import Study
from core.vocabulary import Trait
from core.water.close_tees import TeePair
from core.water.no_flow import NO_FLOW
from core.water.stream import Stream

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
APART, BEFORE, AFTER = 4.0, 8.0, 4.0  # diameters
LENIENT = 1.05  # a tape measure's share
SHORT = 0.01  # share of what is wanted
DILUTED = 1.0  # [K]


@rule(
    "tees-too-far-apart",
    "Close tees too far apart",
    Severity.MEND,
    "What the common pipe between the tees loses drives water through the other circuit. They stay apart "
    "only "
    "with next to no loss between them.",
    "published trade texts; their spacing differs (6 in, 4 to 7 diameters); 4 diameters: common practice",
    "Set the tees within 4 diameters, with nothing between them.",
    origin="tees-too-far",
)
def tees_too_far_apart(study: Study) -> Iterator[Found]:
    """Common pipes of tee pairs that are long, or have something in them."""
    for pair in study.tee_pairs:
        items = study.runs.items(pair.common)
        between = [one for one in items if one.id not in pair.tees and not one.has(Trait.JOINS)]
        pipes = [study.plant.pipes[key] for key in pair.common.pipes]
        length, bore = sum(one.si.length for one in pipes), min(one.si.bore for one in pipes)
        wide = max(bore, *(one.si.outside for one in pipes))
        tees = f"{pair.tees[0]} and {pair.tees[1]}"
        if between:
            names = " and ".join(one.id for one in between)
            yield Found(
                (between[0].id, *pair.common.pipes, *pair.tees), f"{names} lies between the tees {tees}."
            )
        elif bore > 0.0 and length > APART * wide * LENIENT:
            guess = any(one.id in study.guessed for one in pipes)
            yield Found(
                (pipes[0].id, *pair.tees),
                f"The tees {tees} stand {study.length(length)} apart, {length / bore:.0f} diameters.",
                (Figure("diameters", length / bore),),
                severity=Severity.CONSIDER if guess else None,
                guess=guess,
            )


@rule(
    "tees-in-stirred-water",
    "Close tees without straight pipe",
    Severity.CONSIDER,
    "Stirred water makes the parting of the circuits poor: 8 diameters straight before the tees and 4 after.",
    PRACTICE,
    "Give the tees straight pipe.",
    origin="tees-straight",
    solved=True,
)
def tees_in_stirred_water(study: Study) -> Iterator[Found]:
    """Primary pipes at tee pairs with too little straight length."""
    for pair in study.tee_pairs:
        first = _first(study, pair)
        for tee in pair.tees:
            run = pair.at(tee, pair.primary)
            if run is None or not run.pipes:
                continue
            pipe = study.plant.pipes[run.pipes[0] if run.start.item == tee else run.pipes[-1]]
            need = BEFORE if tee == first else AFTER
            length, guess = straight_length(study, pipe)
            if pipe.si.bore <= 0.0 or (length >= need * pipe.si.bore and not guess):
                continue
            diameters = length / pipe.si.bore
            side = "before" if tee == first else "after"
            words = "are straight is not known" if guess else f"lie {side} {tee}"
            yield Found(
                (pipe.id, tee),
                f"{study.length(length)}, {diameters:.0f} diameters, {words}; {need:.0f} straight {side} the "
                "tees are wanted."
                if not guess
                else f"How much of {pipe.id} is straight {side} {tee} is not known; {need:.0f} diameters are "
                "wanted.",
                (Figure("straight_diameters", diameters, -1),) if not guess else (),
                guess=guess,
            )


def _first(study: Study, pair: TeePair) -> str:
    """The tee that the water of the primary comes to first; the one at the start where nothing is solved."""
    pipe = pair.common.pipes[0]
    for solution in study.solutions:
        flow = solution.flow(pipe) * pair.common.sign(pipe)
        if abs(flow) > NO_FLOW:
            return pair.tees[0] if flow > 0.0 else pair.tees[1]
    return pair.tees[0]


@rule(
    "parted-twice",
    "Close tees behind a separator",
    Severity.CONSIDER,
    "The separator parts the flows already. A second parting needs a pump more, and mixing valves there can "
    "draw their own return.",
    "published trade article on faults seen",
    "Join the circuit to the headers of the separator.",
    origin="sep-double",
)
def parted_twice(study: Study) -> Iterator[Found]:
    """Tee pairs on the distribution side of a separator."""
    for pair in study.tee_pairs:
        ends = {place.item for run in pair.primary for place in (run.start, run.end)}
        for item in study.items(Trait.PARTS_FLOWS):
            if item.id in ends and _on_distribution(study, pair, item):
                yield Found(
                    (pair.tees[0], pair.tees[1], *pair.common.pipes, item.id),
                    f"The tees {pair.tees[0]} and {pair.tees[1]} part flows that {item.id} parts already.",
                )
                break


def _on_distribution(study: Study, pair: TeePair, vessel: Item) -> bool:
    """Whether the tees lie on the side of a vessel away from its source."""
    starts = [PortRef(vessel.id, "b_out"), PortRef(vessel.id, "b_in")]
    reached = study.reach_around(starts, {vessel.id})
    return any(PortRef(tee, "at") in reached for tee in pair.tees)


@rule(
    "separator-dilutes",
    "Separator dilutes what the loads need",
    Severity.CONSIDER,
    "Where more water goes round on the side of the loads than on that of the source, return water mixes "
    "into "
    "the supply and cools it.",
    "published separator equations",
    "Move more water on the source's side, or less on the other.",
    origin="sep-flow-order",
    solved=True,
)
def separator_dilutes(study: Study) -> Iterator[Found]:
    """Separators with cross flow toward the supply in a case in which something behind them is short."""
    for solution, stream in study.each():
        for key, ends in solution.of(TwoEndsFigures).items():
            back = -ends.cross_flow_m3_s
            hot = study.port_c(solution, key, "a_in")
            if back <= NO_FLOW or hot is None or hot - ends.upper_temperature_c < DILUTED:
                continue
            short = _short_behind(study, solution.of(EmitterFigures), stream, key)
            if short:
                yield Found(
                    (key, *short),
                    f"{study.flow(back)} of return water mix into the supply in {key}: "
                    f"{study.celsius(hot)} become {study.celsius(ends.upper_temperature_c)}, and "
                    f"{', '.join(short)} {'is' if len(short) == 1 else 'are'} short of heat.",
                    (Figure("cross_m3_s", back),),
                    solution.case,
                )


def _short_behind(
    study: Study, emitters: dict[str, EmitterFigures], stream: Stream, vessel: str
) -> list[str]:
    fed = {place.item for place in stream.downstream(PortRef(vessel, "b_out"))}
    return [key for key, one in emitters.items() if key in fed and one.short_w > SHORT * one.wanted_w]


@rule(
    "later-load-too-cold",
    "Load in series finds too little warmth",
    Severity.CONSIDER,
    "Each load on a loop cools the water for the next.",
    PRACTICE,
    "Let it draw before the others, raise the flow of the loop, or feed it from a header.",
    origin="series-loads-temp",
    solved=True,
)
def later_load_too_cold(study: Study) -> Iterator[Found]:
    """Emitters that are short while their water came through another load since it left its source."""
    for solution, stream in study.each():
        emitters = solution.of(EmitterFigures)
        for key, one in emitters.items():
            if one.short_w <= SHORT * one.wanted_w or one.flow_m3_s <= NO_FLOW:
                continue
            before = [name for name in _before(study, stream, key) if name in emitters]
            inlet = study.port_c(solution, key, "in")
            if before and inlet is not None:
                yield Found(
                    (key, *before),
                    f"{key} gets water at {study.celsius(inlet)} that {' and '.join(before)} cooled "
                    "first: it "
                    f"gives {study.heat(one.delivered_w)} of {study.heat(one.wanted_w)}.",
                    (Figure("short_w", one.short_w),),
                    solution.case,
                )


def _before(study: Study, stream: Stream, key: str) -> list[str]:
    """What water passes between its source, mixing valve or vessel and an item."""
    ends = (Trait.MAKES_HEAT, Trait.MIXES, Trait.WATER_STANDS, Trait.EXCHANGES_HEAT)
    items = study.plant.items
    places = stream.upstream_until(
        PortRef(key, "in"), lambda one: items[one].has(*ends) if one in items else False
    )
    return [name for name in dict.fromkeys(one.item for one in places) if name != key and name in items]
