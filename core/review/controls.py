"""Rules of the controls: what nobody runs, what runs nothing, stats that feel nothing, calls for two."""

from __future__ import annotations

from collections.abc import Iterator

from core.controls.expressions import runs
from core.plant.model import Case, Item
from core.review.finding import Found, Rule, Severity, registrar
from core.review.heated import has_element
from core.review.study import Study
from core.vocabulary import Trait

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"


@rule(
    "never-runs",
    "What nobody runs",
    Severity.MEND,
    "No combination of calls turns it on: its circuit stands.",
    PRACTICE,
    "Name the call that turns it on, or take the condition away.",
)
def never_runs(study: Study) -> Iterator[Found]:
    """Circulators, valves and sources whose run_when is false, or that no state of the signals lets run."""
    never = study.wiring.never()
    for item in study.items(Trait.DRIVES, Trait.MAKES_HEAT, Trait.OPENS_BY_SIGNAL):
        if item.si.get("run_when") is False or item.si.get("powered_by") is False:
            yield Found((item.id,), f"{item.id} is set never to run.")
        elif item.id in never:
            yield Found((item.id,), f"No state of the signals that {item.id} names lets it run.")


@rule(
    "call-runs-nothing",
    "Call that runs nothing",
    Severity.MEND,
    "Somebody will wait for heat that nothing was told to give.",
    PRACTICE,
    "Name it where a circulator, valve or source says when it runs, or take it away.",
)
def call_runs_nothing(study: Study) -> Iterator[Found]:
    """Signals that no equipment follows."""
    for key, item in study.signals.items.items():
        if not study.wiring.reached(key) and not _holds_element(study, item):
            does = "feeds" if item.has(Trait.FEEDS_POWER) else "runs"
            calls = item.si.get("call") or (item.has(Trait.STAT) and item.si.get("call") is None)
            yield Found(
                (key,), f"{key} {does} nothing.", severity=Severity.MEND if calls else Severity.CONSIDER
            )


def _holds_element(study: Study, stat: Item) -> bool:
    """Whether it feels a tank with an element, which no run_when tells of: it is the element's own stat."""
    sensed = study.plant.items.get(str((stat.si.get("senses") or [""])[0]))
    return sensed is not None and sensed.has(Trait.TANK) and has_element(sensed)


@rule(
    "call-waits-for-another",
    "Call that another must help",
    Severity.CONSIDER,
    "Alone it opens or runs something, but no water moves until another room or tank calls too.",
    PRACTICE,
    "Let this call run the circulator as well.",
)
def call_waits_for_another(study: Study) -> Iterator[Found]:
    """Stats whose call alone, with every switch and outlet on, runs no circulator for what it opens."""
    stats = {k: one for k, one in study.signals.items.items() if one.has(Trait.STAT)}
    calls = {k: one for k, one in stats.items() if k not in study.limits and one.si.get("makes_on") != "rise"}
    hand = {k: True for k in study.signals.items if k not in stats or k in study.limits}
    for key in calls:
        reached = [study.plant.items[name] for name in study.wiring.reached(key)]
        alone = study.signals.states(Case("", signals=hand), {key: True}).on
        without = study.signals.states(Case("", signals=hand), {}).on
        if not reached or not alone.get(key):
            continue
        turned = [one for one in reached if runs(one.si, alone) and not runs(one.si, without)]
        valves = [one for one in turned if one.has(Trait.OPENS_BY_SIGNAL)]
        moved = _moved(study, valves, alone)
        served = [one for one in valves if one.id not in moved]
        resting = [one for one in reached if one.has(Trait.DRIVES)]
        if served:
            yield Found(
                (key, *(one.id for one in served)),
                f"{key} alone opens {' and '.join(one.id for one in served)}, but no circulator runs on that "
                "way until another calls.",
            )
        elif not turned and not any(one.has(Trait.FEEDS_POWER) for one in reached) and resting:
            names = " and ".join(one.id for one in resting)
            if not any(runs(one.si, without) for one in reached):
                yield Found((key, *(one.id for one in resting)), f"{key} alone does not run {names}.")


def _moved(study: Study, valves: list[Item], on: dict[str, bool]) -> set[str]:
    """Valves through which a circulator that runs drives water; so too where a main does."""
    found = {one.id for one in valves if one.id not in study.driven}
    for body in dict.fromkeys(study.body_of(one) for one in valves if one.id not in found):
        gates = study.items_in(body, Trait.DRIVES, Trait.OPENS_BY_SIGNAL)
        shut = {one.id for one in gates if not runs(one.si, on)}
        pumps = [one for one in gates if one.has(Trait.DRIVES) and one.id not in shut]
        ahead = study.arrows.from_((study.graph.ways_of[one.id][0].end for one in pumps), {*shut, ""})
        found |= {place.item for place in ahead}
    return found


@rule(
    "room-without-stat",
    "Room heated only when another calls",
    Severity.CONSIDER,
    "It has no stat, and follows the need of another room: too warm or too cold by itself.",
    PRACTICE,
    "Give it a stat and a valve, or see that the other room's need is like its own.",
)
def room_without_stat(study: Study) -> Iterator[Found]:
    """Rooms that emitters serve and no stat feels, where stats feel others."""
    sensed = {str(one.si["senses"][0]) for one in study.items(Trait.STAT) if one.si.get("senses")}
    rooms = study.items(Trait.ROOM)
    if not any(one.id in sensed for one in rooms):
        return
    for room in rooms:
        serving = [one.id for one in study.items(Trait.GIVES_HEAT) if one.si.get("serves") == room.id]
        if serving and room.id not in sensed:
            yield Found(
                (room.id, *serving), f"{room.id} has no stat: {' and '.join(serving)} heats when others call."
            )


@rule(
    "stat-feels-nothing",
    "Stat that feels nothing",
    Severity.MEND,
    "Without a place and a set point it never calls.",
    PRACTICE,
    "Type what it senses and its set point.",
)
def stat_feels_nothing(study: Study) -> Iterator[Found]:
    """Stats with no place or set point that some case leaves to themselves, or over a place without water."""
    cases = study.plant.solve_cases
    for stat in study.items(Trait.STAT):
        senses = stat.si.get("senses")
        free = any(stat.id not in case.signals for case in cases)
        lacks = [
            words
            for words, value in (("place", senses), ("set point", stat.si.get("set_temperature")))
            if not value
        ]
        if lacks and free:
            yield Found((stat.id,), f"{stat.id} has no {' and no '.join(lacks)}.")
        elif senses and _gone(study, str(senses[0])):
            yield Found((stat.id,), f"{stat.id} feels {senses[0]}, where there is neither water nor a room.")


def _gone(study: Study, name: str) -> bool:
    item, pipe = study.plant.items.get(name), study.plant.pipes.get(name)
    if item is not None:
        return not item.stays or not (item.ports or item.has(Trait.ROOM))
    return pipe is None or pipe.stage == "to_remove"
