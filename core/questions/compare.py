"""Two plants, or two moments of one, side by side: what was changed, and what that changed in behaviour.

Order, places on the board, and another spelling of an equal quantity are no change. Figures that differ by
less than a thousandth, or by less than the solver's own error, are no effect.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Any, NamedTuple

from core.calls.power import electric_power
from core.figures import Figures
from core.plant.as_set import plant_for
from core.plant.model import Case, Item, Pipe, Plant
from core.questions.resting import Marks
from core.questions.trials import KeepOn, OnProgress
from core.solve import Solution, Solver
from core.vocabulary.guesses import plain_data

LEAST = 1e-3  # share of a figure below which a difference is left out
CLOSE = 1e-9  # share within which two quantities are one, spelled otherwise
UNITS = (
    ("_m3_s", "m3/s", 1e-8),
    ("_m_s", "m/s", 1e-6),
    ("_pa", "Pa", 10.0),
    ("_c", "degC", 1e-3),
    ("_w", "W", 1.0),
    ("_m", "m", 1e-4),
)
"""Endings of a figure's key, its unit, and the difference that is the solver's own error."""
ITEM_FIELDS = ("kind", "label", "note", "stage")
PIPE_FIELDS = ("system", "joined", "label", "note", "stage")
PIPE_VALUES = ("tube", "length", "fittings", "k", "straight", "insulation", "around")
OF_PIPE = {"tube": ("bore", "roughness", "outside"), "fittings": ("k_total",), "k": ("k_total",)}
_PIPE = "pipe"
RECORDS = ("title", "units", "curves", "profiles", "runs", "sheet")


class Changed(NamedTuple):
    """One difference between two plants; `property` None where the whole was added or removed."""

    at: str
    property: str | None
    before: Any
    after: Any

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "at": self.at,
            "property": self.property,
            "before": plain_data(self.before),
            "after": plain_data(self.after),
        }


class Effect(NamedTuple):
    """One figure that differs in a case that both plants have; `marks` are ~ where one rests on a guess."""

    case: str
    at: str
    what: str
    before: float | bool | None
    after: float | bool | None
    unit: str
    marks: tuple[str, str] = ("", "")

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {key: value for key, value in self._asdict().items() if key != "marks"}


class Comparison(NamedTuple):
    """What was changed, its effects, and cases that only one of the plants has or that are not solved."""

    changed: tuple[Changed, ...]
    effects: tuple[Effect, ...]
    unmatched: tuple[str, ...]
    unsolved: tuple[str, ...]


def compare(
    before: Plant,
    after: Plant,
    keep_on: KeepOn | None = None,
    on_progress: OnProgress | None = None,
    case: str = "",
) -> Comparison:
    """Both plants side by side; their cases are paired by name, or only one `case` of both is.

    Raises
    ------
    core.solve.Dropped
        Where `keep_on` says False
    """
    changed = tuple(changes_between(before, after))
    first, second = ({c.name: c for c in plant.solve_cases} for plant in (before, after))
    both = [name for name in first if name in second and case in ("", name)]
    solvers, marks = (Solver(before), Solver(after)), (Marks(before, keep_on), Marks(after, keep_on))
    effects: list[Effect] = []
    unsolved: list[str] = []
    for number, name in enumerate(both, 1):
        found = [
            solver.solve(cases[name], keep_on) for solver, cases in zip(solvers, (first, second), strict=True)
        ]
        if not all(one.converged for one in found):
            unsolved.append(name)
        differ = _effects((before, after), (first[name], second[name]), (found[0], found[1]))
        effects += (one._replace(marks=_marks(marks, one)) for one in differ)
        if on_progress is not None:
            on_progress(number, len(both))
    unmatched = tuple(sorted(first.keys() ^ second.keys()))
    return Comparison(changed, tuple(effects), unmatched, tuple(unsolved))


def _marks(marks: tuple[Marks, Marks], one: Effect) -> tuple[str, str]:
    return marks[0].at(one.case, one.at, what=one.what), marks[1].at(one.case, one.at, what=one.what)


# what was changed ------------------------------------------------------------------------------------------


def changes_between(before: Plant, after: Plant) -> Iterator[Changed]:
    """Every difference of what two plants are, not of how they are drawn or written."""
    for key in RECORDS:
        if not _same(getattr(before, key), getattr(after, key)):
            yield Changed("", key, getattr(before, key), getattr(after, key))
    site = before.site_si, after.site_si
    for key in sorted({*before.site, *after.site}):
        if not _same(getattr(site[0], key, None), getattr(site[1], key, None)):
            yield Changed("site", key, before.site.get(key), after.site.get(key))
    yield from _parts("systems.", before.systems, after.systems, ("use", "fluid", "fill_pressure"))
    for name, item in before.items.items():
        if name not in after.items:
            yield Changed(name, None, item.kind, None)
        else:
            yield from _item(item, after.items[name])
    yield from (Changed(n, None, None, i.kind) for n, i in after.items.items() if n not in before.items)
    for name, pipe in before.pipes.items():
        if name not in after.pipes:
            yield Changed(name, None, _PIPE, None)
        else:
            yield from _pipe(pipe, after.pipes[name])
    yield from (Changed(n, None, None, _PIPE) for n in after.pipes if n not in before.pipes)
    first, second = ({c.name: c for c in plant.cases} for plant in (before, after))
    yield from _parts("cases.", first, second, _case_fields())


def _case_fields() -> tuple[str, ...]:
    return tuple(f.name for f in fields(Case) if f.name != "name")


def _parts(
    where: str, before: Mapping[str, Any], after: Mapping[str, Any], names: Sequence[str]
) -> Iterator[Changed]:
    for key, one in before.items():
        other = after.get(key)
        if other is None:
            yield Changed(where + key, None, key, None)
            continue
        si = one.si, other.si
        for name in names:
            raw = getattr(one, name), getattr(other, name)
            values = [getattr(s, name, r) for s, r in zip(si, raw, strict=True)]
            if raw[0] != raw[1] and not _same(*values):
                yield Changed(where + key, name, *raw)
    yield from (Changed(where + key, None, None, key) for key in after if key not in before)


def _item(one: Item, other: Item) -> Iterator[Changed]:
    for name in ITEM_FIELDS:
        if getattr(one, name) != getattr(other, name):
            yield Changed(one.id, name, getattr(one, name), getattr(other, name))
    for name in dict.fromkeys((*one.props, *other.props)):
        raw = one.props.get(name), other.props.get(name)
        if raw[0] != raw[1] and not (_same(one.si.get(name), other.si.get(name)) and _as_sure(*raw)):
            yield Changed(one.id, name, *raw)


def _pipe(one: Pipe, other: Pipe) -> Iterator[Changed]:
    if (one.start, one.end) != (other.start, other.end):
        for name, ends in (("from", (one.start, other.start)), ("to", (one.end, other.end))):
            if ends[0] != ends[1]:
                yield Changed(one.id, name, list(ends[0]), list(ends[1]))
    for name in PIPE_FIELDS:
        if getattr(one, name) != getattr(other, name):
            yield Changed(one.id, name, getattr(one, name), getattr(other, name))
    for name in PIPE_VALUES:
        raw = getattr(one, name), getattr(other, name)
        keys = OF_PIPE.get(name, (name,))
        same = name != "fittings" and all(_same(getattr(one.si, k), getattr(other.si, k)) for k in keys)
        if raw[0] != raw[1] and not (same and _as_sure(*raw)):
            yield Changed(one.id, name, *raw)


def _as_sure(one: Any, other: Any) -> bool:
    """Whether both are guesses, or neither."""
    return isinstance(plain_data(one), Mapping) == isinstance(plain_data(other), Mapping)


def _same(one: Any, other: Any) -> bool:
    """Whether two values in SI are equal, numbers within arithmetic."""
    if isinstance(one, bool) or isinstance(other, bool):
        return bool(one == other)
    if isinstance(one, (int, float)) and isinstance(other, (int, float)):
        return abs(one - other) <= CLOSE * max(abs(one), abs(other))
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(_same(one[key], other[key]) for key in one)
    if isinstance(one, (list, tuple)) and isinstance(other, (list, tuple)):
        return len(one) == len(other) and all(_same(a, b) for a, b in zip(one, other, strict=True))
    if is_dataclass(one) and type(one) is type(other):
        return all(_same(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    return bool(one == other)


# what it changed -------------------------------------------------------------------------------------------


def _effects(
    plants: tuple[Plant, Plant], cases: tuple[Case, Case], found: tuple[Solution, Solution]
) -> Iterator[Effect]:
    name = cases[0].name
    if found[0].converged != found[1].converged:
        yield Effect(name, "", "converged", found[0].converged, found[1].converged, "")
    for part in ("items", "pipes"):
        before, after = (getattr(solution, part) for solution in found)
        for key, one in before.items():
            if key in after:
                yield from _figures(name, key, one, after[key])
    seen = [plant_for(plant, case) for plant, case in zip(plants, cases, strict=True)]
    for key in found[0].items:
        if key in found[1].items:
            watts = [_watts(p, s, key) for p, s in zip(seen, found, strict=True)]
            if None not in watts and _differ("_w", *watts):
                yield Effect(name, key, "power_w", watts[0], watts[1], "W")


def _watts(plant: Plant, solution: Solution, key: str) -> float | None:
    found = electric_power(plant.items[key], solution.items[key])
    return None if found is None or isinstance(found.value, str) else float(found.value)


def _figures(case: str, key: str, one: Figures, other: Figures) -> Iterator[Effect]:
    before, after = one.as_data(), other.as_data()
    for what in dict.fromkeys((*before, *after)):
        pair = before.get(what), after.get(what)
        if isinstance(pair[0], bool) or isinstance(pair[1], bool) or None in pair:
            if pair[0] != pair[1]:
                yield Effect(case, key, what, *pair, "")
        elif _differ(what, *pair):
            yield Effect(case, key, what, *pair, unit_of(what))


def unit_of(what: str) -> str:
    """Unit of a figure by its key; "" of a share or number.

    Examples
    --------
    >>> unit_of("flow_m3_s"), unit_of("temperature_in_c"), unit_of("speed")
    ('m3/s', 'degC', '')
    """
    return next((unit for ending, unit, _ in UNITS if what.endswith(ending)), "")


def _differ(what: str, one: Any, other: Any) -> bool:
    error = next((least for ending, _, least in UNITS if what.endswith(ending)), 1e-5)
    apart = abs(float(one) - float(other))
    return apart > error and apart > LEAST * max(abs(float(one)), abs(float(other)))
