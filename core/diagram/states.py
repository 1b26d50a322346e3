"""What a symbol shows by its fill, and what board and paper need of a solution. No strings, no painting."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from enum import Enum
from typing import TYPE_CHECKING, Any, Protocol

from core.vocabulary import Trait

if TYPE_CHECKING:
    from core.figures import Figures, PipeFigures, Role
    from core.plant.model import Item, Pipe, Plant

STILL = 1e-8  # below this a pipe stands still [m3/s]


class NoteLike(Protocol):
    @property
    def at(self) -> str: ...
    @property
    def text(self) -> str: ...


class SolvedCase(Protocol):
    """What drawing a plant wants of a solved case (core.solve.Solution has it)."""

    @property
    def case(self) -> str: ...
    @property
    def signals(self) -> Mapping[str, bool]: ...
    @property
    def pipes(self) -> Mapping[str, PipeFigures]: ...
    @property
    def items(self) -> Mapping[str, Figures]: ...
    def at(self, key: str, role: type[Role]) -> Role | None: ...
    def mark(self, key: str, figure: str) -> str: ...
    def running(self, key: str) -> bool: ...
    @property
    def notes(self) -> Sequence[NoteLike]: ...


class State(Enum):
    """Fill of the parts of a symbol that show its state."""

    PLAIN = "plain"  # as drawn
    RUNS = "runs"  # filled
    RESTS = "rests"  # hollow
    OPEN = "open"  # hollow
    SHUT = "shut"  # filled

    @property
    def filled(self) -> bool:
        return self in (State.RUNS, State.SHUT)


def state_of(item: Item, solution: SolvedCase | None) -> State:
    """Circulators filled when they run, valves when they are shut; unsolved, as the file says."""
    if item.has(Trait.DRIVES):
        if solution is None:
            return State.RESTS
        return State.RUNS if solution.running(item.id) else State.RESTS
    if item.has(Trait.OPENS_BY_SIGNAL):
        if solution is None:
            return State.OPEN
        wanted = calls(item.si.get("run_when", True), solution.signals)
        powered = calls(item.si.get("powered_by", True), solution.signals)
        return State.OPEN if wanted and powered else State.SHUT
    if item.has(Trait.SPACER):
        return State.SHUT if item.si.get("blind") else State.OPEN
    if item.has(Trait.HAND_VALVE, Trait.FILLS):
        return State.SHUT if item.si.get("open") is False else State.OPEN
    if item.has(Trait.BALANCES):
        return State.SHUT if item.si.get("setting") == 0 else State.OPEN
    return State.PLAIN


def calls(expression: Any, signals: Mapping[str, bool]) -> bool:
    """Whether a `run_when` expression holds under these signals; nothing said means yes."""
    if expression is None:
        return True
    if isinstance(expression, bool):
        return expression
    if isinstance(expression, str):
        return bool(signals.get(expression, False))
    if "not" in expression:
        return not calls(expression["not"], signals)
    if "any" in expression:
        return any(calls(part, signals) for part in expression["any"])
    return all(calls(part, signals) for part in expression.get("all", ()))


def flow(solution: SolvedCase | None, pipe: str) -> float | None:
    """Solved flow of a pipe, None where there is none [m3/s]."""
    figures = solution.pipes.get(pipe) if solution is not None else None
    return None if figures is None else figures.flow_m3_s


def still(solution: SolvedCase | None, pipe: str) -> bool:
    """Whether the solution says that this pipe's water stands."""
    value = flow(solution, pipe)
    return value is not None and abs(value) < STILL


def dead_end(plant: Plant, pipe: Pipe) -> bool:
    """Whether a pipe is the branch to an instrument, a relief, a vessel or a cap."""
    ends = [plant.items[end.item] for end in (pipe.start, pipe.end) if end.item in plant.items]
    return any(item.has(Trait.ENDS_RUN) for item in ends)


def weight(value: float | None) -> float:
    """Line weight of a pipe by its flow [m3/s], in board units."""
    if value is None:
        return 1.4
    litres = abs(value) * 1000
    if litres < STILL * 1000:
        return 1.0
    return 1.4 if litres < 0.06 else 2.0 if litres < 0.25 else 2.8 if litres < 0.5 else 4.0


def note_numbers(notes: Sequence[NoteLike]) -> dict[str, str]:
    """One number for each place that has notes, in their order: the same on board, list and paper."""
    places = dict.fromkeys(note.at for note in notes)
    return {name: str(number) for number, name in enumerate(places, start=1)}
