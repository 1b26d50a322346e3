"""Pairs of tees that part two driven circuits: what one joins the other by a short common pipe."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from core.plant.model import Item, PortRef
from core.vocabulary import Trait
from core.water.numbers import grouped
from core.water.runs import Run, Runs

NOT_COMMON = (
    Trait.DRIVES,
    Trait.MAKES_HEAT,
    Trait.GIVES_HEAT,
    Trait.EXCHANGES_HEAT,
    Trait.WATER_STANDS,
    Trait.OPENS_BY_PRESSURE,
    Trait.OPENS_BY_SIGNAL,
    Trait.BALANCES,
    Trait.MIXES,
    Trait.DRAWS_WATER,
    Trait.BRINGS_WATER,
    Trait.USES_WATER,
    Trait.PARTS_BODIES,
)


@dataclass(frozen=True, eq=False)
class TeePair:
    """Two tees, the run between them that two circuits share, and the runs of each circuit.

    Attributes
    ----------
    common : Run
        Between the two tees
    primary, secondary : frozenset of Run
        Runs of the circuit with the source (or what stands for it), and of the other
    """

    common: Run
    primary: frozenset[Run]
    secondary: frozenset[Run]

    @property
    def tees(self) -> tuple[str, str]:
        """Ids of the two joints."""
        return self.common.start.item, self.common.end.item

    def at(self, joint: str, circuit: frozenset[Run]) -> Run | None:
        """The run of a circuit that ends at one of the tees."""
        return next((run for run in circuit if joint in (run.start.item, run.end.item)), None)


def tee_pairs(runs: Runs) -> tuple[TeePair, ...]:
    """Every pair of tees whose common run, taken away, leaves two circuits that both have circulators.

    The two circuits then meet at these tees alone: the tees part them as a separator would.
    """
    return tuple(_pairs(runs))


def _pairs(runs: Runs) -> Iterator[TeePair]:
    heads = {run: runs.items(run) for run in runs.all}
    if sum(_has(found, Trait.DRIVES) for found in heads.values()) < 2:
        return
    for common in runs.all:
        if common.start == common.end or _has(heads[common], *NOT_COMMON):
            continue
        if not all(_is_tee(runs, end) for end in (common.start, common.end)):
            continue
        parts = _parted(runs, common)
        if len(parts) != 2:
            continue
        if not all(any(_has(heads[run], Trait.DRIVES) for run in part) for part in parts):
            continue
        one, other = sorted(parts, key=lambda part: -_source_rank(part, heads))
        yield TeePair(common, one, other)


def _is_tee(runs: Runs, place: PortRef) -> bool:
    item = runs.graph.plant.items.get(place.item)
    return item is not None and item.has(Trait.JOINS) and len(runs.at[place]) == 3


def _has(items: list[Item], *traits: Trait) -> bool:
    return any(item.has(*traits) for item in items)


def _source_rank(part: frozenset[Run], heads: dict[Run, list[Item]]) -> int:
    """The circuit with a source is the primary; else that behind an exchanger or with a separator."""
    found = [item for run in part for item in heads[run]]
    vessels = any(place.port in ("upper", "lower") for run in part for place in (run.start, run.end))
    if _has(found, Trait.MAKES_HEAT):
        return 3
    return 2 if vessels else int(_has(found, Trait.EXCHANGES_HEAT))


def _parted(runs: Runs, common: Run) -> list[frozenset[Run]]:
    """Groups of runs that touch both tees and hang together without them."""
    tees = {common.start, common.end}
    joined = [
        (here[0], one) for place, here in runs.ending_at.items() if place not in tees for one in here[1:]
    ]
    group = grouped(runs.all, joined)
    found: dict[Run, set[Run]] = {}
    for tee in tees:
        for run in runs.ending_at[tee]:
            if run != common:
                found.setdefault(group[run], set())
    for run in runs.all:
        if group[run] in found and run != common:
            found[group[run]].add(run)
    return [
        frozenset(part)
        for part in found.values()
        if tees <= {place for run in part for place in (run.start, run.end)}
    ]
