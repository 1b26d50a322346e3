"""A part of a plant taken out as a plant of its own, and such a part put into another with fresh tags.

What the part says of things it does not hold goes along apart, so that it stands again where they are.

* What is put in keeps its tag where that is free, else takes the next number. A reference to a thing
  outside stands again where the plant has that tag and kind.
* A copy draws, stands and is in each case of the same name as its original. On an empty board the cases
  come along; a kept assembly holds none. Its systems become the plant's of the same use.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from core.errors import Refusal
from core.plant import references
from core.plant.changes import AddItem, AddPipe, Change, ReplaceItem, SetPlant, apply
from core.plant.edits import PIPE, Draft, Point, fresh_id
from core.plant.model import Case, Item, Pipe, Plant, PortRef
from core.vocabulary import JOINT, KINDS, is_name

Where = Callable[[PortRef], Point]
"""Place of a port on the board."""


@dataclass(frozen=True)
class Excerpt:
    """A plant that holds but a part of another.

    `outside` are the properties of its items as they were where they name what is not in it, and `kinds`
    says what those things were.
    """

    plant: Plant
    outside: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    kinds: Mapping[str, str] = field(default_factory=dict)

    @property
    def middle(self) -> Point:
        """The middle of what it holds, on the grid of ten units."""
        places = [item.at for item in self.plant.items.values()]
        places += [(float(text["at"][0]), float(text["at"][1])) for text in self.plant.texts]
        if not places:
            return 0.0, 0.0
        xs, ys = zip(*places, strict=True)
        return round((min(xs) + max(xs)) / 20) * 10.0, round((min(ys) + max(ys)) / 20) * 10.0


def excerpt(
    plant: Plant, ids: Collection[str], where: Where, texts: Collection[int] = (), title: str = ""
) -> Excerpt:
    """The items, pipes and texts that are named, and the pipes between those items.

    A named pipe that leads on to something else ends at an open joint, which lies `where` its port was.
    """
    items = {name: item for name, item in plant.items.items() if name in ids}
    pipes: dict[str, Pipe] = {}
    for name, pipe in plant.pipes.items():
        inside = pipe.start.item in items and pipe.end.item in items
        if name in ids or inside:
            pipes[name] = pipe
    ends: dict[PortRef, PortRef] = {}
    for pipe in pipes.values():
        for ref in (pipe.start, pipe.end):
            if ref.item not in items and ref not in ends:
                dot = fresh_id(plant, KINDS[JOINT].prefix, (end.item for end in ends.values()))
                ends[ref] = PortRef(dot, "at")
    for ref, end in ends.items():
        items[end.item] = Item(end.item, JOINT, where(ref))
    pipes = {
        name: replace(pipe, start=ends.get(pipe.start, pipe.start), end=ends.get(pipe.end, pipe.end))
        for name, pipe in pipes.items()
    }
    kept = tuple(text for number, text in enumerate(plant.texts) if number in texts)
    return _closed(plant, items, pipes, kept, title)


def _closed(
    plant: Plant,
    items: Mapping[str, Item],
    pipes: Mapping[str, Pipe],
    texts: tuple[Mapping[str, Any], ...],
    title: str,
) -> Excerpt:
    """The part as a plant that names nothing outside; what it named goes beside it."""
    inside = items.keys() | pipes.keys()
    outside: dict[str, dict[str, Any]] = {}
    named: set[str] = set()

    def naming(name: str) -> str | None:
        if name not in inside:
            named.add(name)
            return None
        return name

    closed: dict[str, Item] = {}
    for name, item in items.items():
        props = references.renamed_props(item, naming)
        changed = {key: raw for key, raw in item.props.items() if props.get(key) != raw}
        if changed:
            outside[name] = changed
        closed[name] = replace(item, props=props)
    used = {pipe.system for pipe in pipes.values()}
    part = Plant(
        title=title,
        units=plant.units,
        site=plant.site,
        systems={name: system for name, system in plant.systems.items() if name in used},
        items=closed,
        pipes=dict(pipes),
        cases=tuple(
            references.renamed_case(case, lambda n: n if n in inside else None) for case in plant.cases
        ),
        texts=tuple(references.renamed_text(text, naming) for text in texts),
    )
    return Excerpt(part, outside, {name: plant.items[name].kind for name in named if name in plant.items})


@dataclass(frozen=True)
class Pasted:
    """Changes that put an excerpt into a plant, the tags it has there, and what it had to forget."""

    changes: list[Change]
    names: Mapping[str, str]
    forgotten: tuple[str, ...] = ()


def paste(
    plant: Plant,
    part: Excerpt,
    by: Point = (0.0, 0.0),
    systems: Mapping[str, str] | None = None,
    refer: bool = True,
) -> Pasted:
    """Put an excerpt into a plant, moved by so much, each thing with its own tag or a fresh one.

    What refers to things inside follows their tags. What refers to things outside is kept where the plant
    has a thing of that tag and kind, else it is forgotten. A system of the same name is taken for the same
    unless `systems` names another; one that the plant lacks comes along. In each case of the same name a copy
    draws, stands and is as its original. Without `refer` what lies outside is left unsaid: for what is only
    shown.
    """
    names = _fresh_names(plant, part.plant)
    said = systems or {}
    draft = Draft(plant)
    missing = {
        name: system
        for name, system in part.plant.systems.items()
        if name not in plant.systems and name not in said
    }
    if missing:
        draft.do(SetPlant({"systems": {**plant.systems, **missing}}))
    for item in part.plant.items.values():
        props = references.renamed_props(item, names.__getitem__)
        draft.do(AddItem(replace(item, id=names[item.id], at=_moved(item.at, by), props=props)))
    for pipe in part.plant.pipes.values():
        start, end = (PortRef(names[ref.item], ref.port) for ref in (pipe.start, pipe.end))
        via = tuple(_moved(point, by) for point in pipe.via)
        system = said.get(pipe.system, pipe.system)
        draft.do(AddPipe(replace(pipe, id=names[pipe.id], start=start, end=end, via=via, system=system)))
    if part.plant.texts:
        texts = [_moved_text(references.renamed_text(text, names.get), by) for text in part.plant.texts]
        draft.do(SetPlant({"texts": (*draft.plant.texts, *texts)}))
    forgotten = [*_refer_outside(draft, part, names), *_take_cases(draft, part.plant, names)] if refer else []
    return Pasted(draft.changes, names, tuple(forgotten))


def _take_cases(draft: Draft, part: Plant, names: Mapping[str, str]) -> list[str]:
    """What the part's cases say of its things into the plant's cases of the same name; the rest in words.

    Where nothing was drawn yet the cases come along whole.
    """
    if not draft.plant.cases and draft.plant.items.keys() <= set(names.values()):
        cases_along = tuple(references.renamed_case(case, names.get) for case in part.cases)
        draft.do(*([SetPlant({"cases": cases_along})] if cases_along else []))
        return []
    said = {case.name: references.renamed_case(case, names.get) for case in part.cases}
    said = {name: case for name, case in said.items() if case.signals or case.draws or case.tanks}
    cases: list[Case] = []
    for case in draft.plant.cases:
        own = said.pop(case.name, None)
        if own is not None:
            case = replace(
                case,
                signals={**case.signals, **own.signals},
                draws={**case.draws, **own.draws},
                tanks={**case.tanks, **own.tanks},
            )
        cases.append(case)
    if tuple(cases) != draft.plant.cases:
        draft.do(SetPlant({"cases": tuple(cases)}))
    return [f"Draws and states of {', '.join(said)} stay behind: no such case here"] if said else []


def systems_alike(plant: Plant, part: Plant, dear: Collection[str] = ()) -> dict[str, str]:
    """For each system of a part the plant's system of the same use, one of the `dear` ones first.

    For assemblies, whose water is whatever runs where they are put.
    """
    out: dict[str, str] = {}
    for name, system in part.systems.items():
        fitting = [other for other, its in plant.systems.items() if its.use == system.use]
        chosen = [other for other in fitting if other in dear] or [
            other for other in fitting if other == name
        ]
        if chosen or fitting:
            out[name] = (chosen or fitting)[0]
    return out


def _refer_outside(draft: Draft, part: Excerpt, names: Mapping[str, str]) -> list[str]:
    """Set again what named things outside, as far as they are there; says what was forgotten."""
    from core.plant import validity  # loads the rules of all kinds

    forgotten: list[str] = []
    for name, props in part.outside.items():
        lost: set[str] = set()

        def naming(other: str, lost: set[str] = lost) -> str | None:
            if other in names:
                return names[other]
            plant = draft.plant
            known = other in plant.items or other in plant.pipes
            kind = plant.items[other].kind if other in plant.items else ""
            if known and kind == part.kinds.get(other, ""):
                return other
            lost.add(other)
            return None

        item = draft.plant.items[names[name]]
        whole = replace(item, props={**props})
        fresh = replace(item, props={**item.props, **references.renamed_props(whole, naming)})
        change = ReplaceItem(fresh)
        try:
            validity.require(apply(draft.plant, [change]), valid=draft.plant)
        except Refusal:
            lost.add("what it named outside")
        else:
            draft.do(change)
        if lost:
            forgotten.append(f"{names[name]} forgot {', '.join(sorted(lost))}")
    return forgotten


def _fresh_names(plant: Plant, part: Plant) -> dict[str, str]:
    """Old tag to new: the old one where it is free, else the next free one with its letters."""
    names: dict[str, str] = {}
    taken: set[str] = {*plant.items, *plant.pipes}
    for name, prefix in (
        *((item.id, KINDS[item.kind].prefix) for item in part.items.values()),
        *((pipe, PIPE) for pipe in part.pipes),
    ):
        fresh = name
        if name in taken:
            stem = re.sub(r"-\d+$", "", name)
            fresh = _next(taken, stem or prefix)
            if not is_name(fresh):
                fresh = _next(taken, prefix)
        taken.add(fresh)
        names[name] = fresh
    return names


def _next(taken: Collection[str], stem: str) -> str:
    number = 1
    while f"{stem}-{number}" in taken:
        number += 1
    return f"{stem}-{number}"


def _moved(place: tuple[float, float], by: Point) -> Point:
    return place[0] + by[0], place[1] + by[1]


def _moved_text(text: Mapping[str, Any], by: Point) -> Mapping[str, Any]:
    out = {**text, "at": list(_moved((text["at"][0], text["at"][1]), by))}
    lead = out.get("lead_to")
    if lead is not None and not isinstance(lead, str):
        out["lead_to"] = list(_moved((lead[0], lead[1]), by))
    return out
