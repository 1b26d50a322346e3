"""Every size drawn against the one proposed, and what taking it does to the plant, found by solving again.

Pipes and items that are drawn alike, judged alike and offered the same are one row. A row's own consequence
is that of the case that decided its size; the joint one of several rows is that of every case.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

from core.calls.power import electric_power
from core.errors import value_text
from core.figures import PumpFigures, RoomFigures
from core.plant import edits
from core.plant.as_set import plant_for
from core.plant.changes import Change, apply, fitted
from core.plant.model import Case, Plant
from core.questions.intake import got, takers
from core.questions.shortness import shares_short, taps_colder
from core.questions.trials import KeepOn
from core.sizing import table
from core.sizing.result import Option, Sized
from core.sizing.second_circulator.found import flow_at
from core.solve import Solution, Solver
from core.vocabulary import KINDS
from core.vocabulary.readers import to_si
from core.working import Display

Standing = Literal["over", "lacks", "open", "differs", "roomy", "fits"]
ORDER: tuple[Standing, ...] = ("over", "open", "differs", "lacks", "roomy", "fits")
NEEDS: frozenset[Standing] = frozenset(("over", "open", "differs", "lacks"))
"""Standings that need a change, or an input."""
HARM = 0.01  # share of its need by which a circuit or tap may not become shorter
MOST_NAMED = 6  # ids that a row names
Props = Mapping[str, Any]
CostOf = Callable[[Plant], float | None]
"""Money for what a changed plant takes beyond what the plant is built from; None where that is not known."""


@dataclass(frozen=True)
class Row:
    """One row: what is drawn, what is proposed, and the neighbours of that.

    Attributes
    ----------
    ids : tuple of str
        Items or pipes that are drawn and judged alike
    standing : str
        "over" a limit, "open" (nothing chosen yet), "differs" from the one proposed, "lacks" an input,
        "roomy" (it serves, and a lesser one would too) or "fits"
    proposed, lesser, greater : Option or None
        What would be taken; the options before and after it
    """

    ids: tuple[str, ...]
    standing: Standing
    verdict: str
    drawn: str
    sized: Sized
    proposed: Option | None = None
    lesser: Option | None = None
    greater: Option | None = None

    @property
    def key(self) -> tuple[str, str]:
        """What tells it from other rows."""
        return self.ids[0], self.sized.what

    @property
    def needs_change(self) -> bool:
        return self.standing in NEEDS

    @property
    def named(self) -> str:
        """Its ids, the first few of them."""
        more = len(self.ids) - MOST_NAMED
        return ", ".join(self.ids[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")

    def options(self) -> Iterator[Option]:
        """What can be taken: the proposed first, then its neighbours."""
        yield from (o for o in (self.proposed, self.lesser, self.greater) if o is not None)


class Pair(NamedTuple):
    """A figure before and after, SI."""

    before: float
    after: float


class Consequence(NamedTuple):
    """What a change does in one case: flow [m^3/s] at the place, heat that is got [W], the room that changes
    most [degC], electric power of circulators [W] (None where it is not known), who becomes shorter, and the
    money that it takes (None without prices)."""

    case: str
    solved: bool
    flow: Pair | None
    heat: Pair
    room: str
    temperature: Pair | None
    watts: Pair | None
    harmed: tuple[str, ...]
    cost: float | None = None


# rows ------------------------------------------------------------------------------------------------------


def table_of(plant: Plant, answers: Iterable[Sized]) -> list[Row]:
    """Rows of everything that has a size: what is over a limit first, then what needs a change."""
    found: dict[tuple[object, ...], list[Sized]] = {}
    for sized in answers:
        if sized.fails or sized.missing or any(option.props for option in sized.options):
            found.setdefault(_alike(plant, sized), []).append(sized)
    rows = [_row(plant, same) for same in found.values()]
    return sorted(rows, key=lambda row: ORDER.index(row.standing))


def _alike(plant: Plant, sized: Sized) -> tuple[object, ...]:
    """What rows share: tubes in which water runs alike differ by what they hold, which judges nothing."""
    velocities = all("velocity_m_s" in option.figures for option in sized.options)
    options = tuple(
        (o.name, o.serves, round(o.figures["velocity_m_s"], 1))
        if velocities
        else (o.name, o.serves, o.verdict, *(f"{v:.3g}" for v in o.figures.values()))
        for o in sized.options
    )
    said = sized.words.replace(sized.at, "") if sized.fails and not sized.options else ""
    lacking = tuple(words.replace(sized.at, "") for words in sized.missing)
    return sized.what, sized.chosen, sized.fails, sized.case, _drawn(plant, sized), options, said, lacking


def _row(plant: Plant, same: Sequence[Sized]) -> Row:
    sized = same[0]
    ids = tuple(one.at for one in same)
    drawn = _drawn(plant, sized)
    present = next((o for o in sized.options if _is_drawn(plant, sized.at, o)), None)
    place = next((k for k, o in enumerate(sized.options) if o.name == sized.chosen), None)
    proposed = sized.options[place] if place is not None else None
    standing = _standing(sized, present, proposed, drawn)
    verdict = _verdict(sized, present, proposed, standing)
    if place is None or proposed is None or proposed.props is None:
        return Row(ids, standing, verdict, drawn, sized)
    lesser = next((o for o in reversed(sized.options[:place]) if o.props is not None), None)
    greater = next((o for o in sized.options[place + 1 :] if o.props is not None), None)
    return Row(ids, standing, verdict, drawn, sized, proposed, lesser, greater)


def _standing(sized: Sized, present: Option | None, proposed: Option | None, drawn: str) -> Standing:
    if sized.fails or (present is not None and not present.serves and proposed is not None):
        return "over"
    if sized.missing:
        return "lacks"
    if proposed is None or (present is not None and present.name == proposed.name):
        return "fits"
    if not drawn:
        return "open"
    return "differs" if present is None else "roomy"


def _verdict(sized: Sized, present: Option | None, proposed: Option | None, standing: Standing) -> str:
    if standing == "over":
        said = present.verdict if present is not None and present.verdict else "over its limit"
        return said if said.startswith("over") else f"not enough: {said}"
    if standing == "lacks":
        return f"lacks an input: {' '.join(sized.missing)}"
    if standing == "open":
        return "not chosen yet"
    if standing == "differs":
        return "differs from what is proposed"
    if standing == "roomy" and proposed is not None:
        return f"serves; {proposed.name} is proposed"
    return "as proposed" if proposed is not None else "serves; nothing else is proposed"


def _raw(plant: Plant, name: str) -> Props:
    if name in plant.items:
        return plant.items[name].props
    pipe = plant.pipes[name]
    return {} if pipe.tube is None else {"tube": pipe.tube}


def _drawn(plant: Plant, sized: Sized) -> str:
    """What is drawn, in the words of the file; empty where nothing is typed."""
    raw = _raw(plant, sized.at)
    present = next((o for o in sized.options if _is_drawn(plant, sized.at, o)), None)
    keys = next((tuple(o.props) for o in sized.options if o.props), ())
    typed = {key: raw[key] for key in keys if raw.get(key) is not None}
    if present is not None and (typed or present.props is None):
        return present.name
    return ", ".join(_typed(key, value) for key, value in typed.items() if key != "invented")


def _typed(key: str, value: Any) -> str:
    if isinstance(value, Mapping):
        return " ".join(value_text(one).strip('"') for one in reversed(list(value.values())))
    if isinstance(value, (list, tuple)):
        return f"a {key.replace('_', ' ')} of its own"
    return f"{key.replace('_', ' ')} {value_text(value)}".replace('"', "")


def _is_drawn(plant: Plant, name: str, option: Option) -> bool:
    """Whether an option says what is typed already; one that sets nothing is the one drawn if it says so."""
    if not option.props:
        return option.name == "as drawn" or option.name.startswith("as drawn")
    raw = _raw(plant, name)
    return all(_same(plant, name, key, raw.get(key), value) for key, value in option.props.items())


def _same(plant: Plant, name: str, key: str, one: Any, other: Any) -> bool:
    if one == other:
        return True
    if one is None or other is None:
        return one in (None, False) and other in (None, False)
    if name in plant.pipes:
        return isinstance(one, Mapping) and all(one.get(k) == v for k, v in other.items())
    prop = KINDS[plant.items[name].kind].properties[key]
    first, second = (to_si(prop, raw, key) for raw in (one, other))
    if isinstance(first, float) and isinstance(second, float):
        return abs(first - second) <= 1e-6 * max(abs(first), abs(second))
    return bool(first == second)


# what taking does ------------------------------------------------------------------------------------------


def changes_of(plant: Plant, picked: Iterable[tuple[Row, Option]]) -> list[Change]:
    """Changes that take an option in each of some rows, one after the other.

    Raises
    ------
    Refusal
        Where an item would contradict itself
    """
    changes: list[Change] = []
    now = plant
    for row, option in picked:
        for name in row.ids:
            props = dict(option.props or {})
            is_pipe = name in now.pipes
            more = edits.set_pipe(now, name, **props) if is_pipe else edits.set_props(now, name, props)
            changes += more
            now = apply(now, more)
    return changes


class Joint(NamedTuple):
    """What several options do together: in every case, the plant with them, its solved cases, and the money
    that they take (None without prices)."""

    consequences: tuple[Consequence, ...]
    plant: Plant
    changes: tuple[Change, ...]
    solutions: Mapping[str, Solution]
    cost: float | None = None


class Weighing:
    """One plant whose sizes are tried: answers are kept for whoever asks the same again.

    Parameters
    ----------
    plant : Plant
    solutions : Mapping
        Its cases as solved, by name; the others are solved when needed
    cost : callable, optional
        What a changed plant costs beyond this one, where there is a price list
    """

    def __init__(self, plant: Plant, solutions: Mapping[str, Solution], cost: CostOf | None = None) -> None:
        self.plant = plant
        self.cost = cost
        self._solutions = dict(solutions)
        self._known: dict[object, Consequence] = {}

    def known(self, row: Row, option: Option) -> Consequence | None:
        """What was found of an option already."""
        return self._known.get((row.key, option.name))

    def alone(self, row: Row, option: Option, keep_on: KeepOn | None = None) -> Consequence:
        """What taking one option does, in the case that decided the size.

        Raises
        ------
        core.solve.Dropped
            Where `keep_on` says False
        Refusal
            Where the plant would not be valid
        """
        key = row.key, option.name
        if key not in self._known:
            after = fitted(self.plant, changes_of(self.plant, [(row, option)]))
            case = self._deciding(row, keep_on)
            found = self._consequence(after, case, row.ids[0], Solver(after).solve(case, keep_on))
            self._known[key] = found._replace(cost=self._cost(after))
        return self._known[key]

    def joint(self, picked: Sequence[tuple[Row, Option]], keep_on: KeepOn | None = None) -> Joint:
        """What taking several does together, in every case; raises as `alone`."""
        changes = changes_of(self.plant, picked)
        after = fitted(self.plant, changes)
        solver = Solver(after)
        for case in self.plant.solve_cases:
            self._before(case, keep_on)
        solved = {case.name: solver.solve(case, keep_on) for case in self.plant.solve_cases}
        told = (self._consequence(after, case, "", solved[case.name]) for case in self.plant.solve_cases)
        return Joint(tuple(told), after, tuple(changes), solved, self._cost(after))

    def _cost(self, after: Plant) -> float | None:
        return None if self.cost is None else self.cost(after)

    def _before(self, case: Case, keep_on: KeepOn | None) -> Solution:
        if case.name not in self._solutions:
            self._solutions[case.name] = Solver(self.plant).solve(case, keep_on)
        return self._solutions[case.name]

    def _deciding(self, row: Row, keep_on: KeepOn | None) -> Case:
        """The case that decided, else that in which most flows at the place."""
        cases = self.plant.solve_cases
        solved = {case.name: self._before(case, keep_on) for case in cases}
        named = next((case for case in cases if case.name == row.sized.case), None)
        return named or max(cases, key=lambda case: flow_at(self.plant, solved[case.name], row.ids[0]) or 0.0)

    def _consequence(self, after: Plant, case: Case, at: str, other: Solution) -> Consequence:
        one = self._solutions[case.name]
        plants = plant_for(self.plant, case), plant_for(after, case)
        both = one, other
        flows = [flow_at(plant, found, at) if at else None for plant, found in zip(plants, both, strict=True)]
        heats = [sum(got(p, f, who).heat for who in takers(p)) for p, f in zip(plants, both, strict=True)]
        watts = [_watts(p, f) for p, f in zip(plants, both, strict=True)]
        room, warmth = _room(one, other)
        before, now = (shares_short(p, case, f) for p, f in zip((self.plant, after), both, strict=True))
        harmed = [who for who, share in now.items() if share > before.get(who, 0.0) + HARM]
        harmed += [who for who, share in taps_colder(self.plant, one, other).items() if share > HARM]
        return Consequence(
            case.name, other.converged, _pair(flows), Pair(heats[0], heats[1]), room, warmth, _pair(watts),
            tuple(harmed),
        )  # fmt: skip


def _pair(found: Sequence[float | None]) -> Pair | None:
    one, other = found
    return None if one is None or other is None else Pair(one, other)


def _watts(plant: Plant, solution: Solution) -> float | None:
    """Electric power of the circulators that run, [W]; None where that of one of them is not known."""
    total = 0.0
    for name, figures in solution.of(PumpFigures).items():
        found = electric_power(plant.items[name], figures) if figures.running else None
        if figures.running and (found is None or isinstance(found.value, str)):
            return None
        total += float(found.value) if found is not None else 0.0
    return total


def _room(one: Solution, other: Solution) -> tuple[str, Pair | None]:
    """The room whose temperature changes most, and that, [degC]."""
    rooms = {
        name: Pair(found.temperature_c, now.temperature_c)
        for name, found in one.of(RoomFigures).items()
        if (now := other.at(name, RoomFigures)) is not None
    }
    if not rooms:
        return "", None
    most = max(rooms, key=lambda name: abs(rooms[name].after - rooms[name].before))
    return most, rooms[most]


# words -----------------------------------------------------------------------------------------------------


def named(row: Row, option: Option) -> str:
    """What is taken, in words: `L-1, L-2 tube: 1 in Type L copper`."""
    return f"{row.named} {table.title(row.sized.what)}: {option.name}"


def figures(found: Consequence, display: Display) -> tuple[str, str, str, str]:
    """Flow, heat, room and watts before and after, each empty where there is none."""
    rooms = found.temperature
    degrees = None if rooms is None else Pair(rooms.before + table.ZERO, rooms.after + table.ZERO)
    room = _shown(degrees, "temperature", display)
    return (
        _shown(found.flow, "flow", display),
        _shown(found.heat, "power", display),
        f"{found.room} {room}" if room else "",
        "not known" if found.watts is None else _watts_shown(found.watts),
    )


def _watts_shown(pair: Pair) -> str:
    one, other = (f"{watts:.0f}" for watts in pair)
    return f"{one} W" if one == other else f"{one} → {other} W"


def _shown(pair: Pair | None, dimension: str, display: Display) -> str:
    from core import units

    if pair is None:
        return ""
    one, other = (units.show(value, dimension, display) for value in pair)
    if one == other:
        return one
    (first, unit), (_, after) = (text.rsplit(" ", 1) for text in (one, other))
    return f"{first if unit == after else one} → {other}"


def money(cost: float | None) -> str:
    """A cost as a table shows it, a saving with its sign.

    Examples
    --------
    >>> money(1234.5), money(-20.0), money(None)
    ('1,234.50', '-20.00', 'not known')
    """
    return "not known" if cost is None else f"{cost:,.2f}"


def sentence(found: Consequence, display: Display) -> str:
    """A consequence as one line, its case first."""
    flow, heat, room, watts = figures(found, display)
    told = [f"flow {flow}" if flow else "", f"heat {heat}", f"room {room}" if room else ""]
    told.append(f"circulators {watts}")
    if found.harmed:
        told.append(f"less for {', '.join(found.harmed)}")
    if not found.solved:
        told.append("not solved")
    return f"{found.case}: {', '.join(one for one in told if one)}"
