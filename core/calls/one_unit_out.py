"""What one heater fewer would carry: every case solved again without one unit of a group.

The largest is left out; a case is carried where set temperatures hold and circuits get their heat within
0.5 %. Units stand side by side where their outlets meet and their inlets meet without a way through either.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any

from core.calls.called import Reach
from core.calls.rows import CallRow, call_row
from core.hydraulics.network import Network, build
from core.plant.model import Case, Plant
from core.solve import Solver
from core.vocabulary import Trait
from core.working import Working, derived, given, typed

MISSED = 0.005  # share of the heat below which the loss of a unit is not felt


@dataclass(frozen=True)
class OneOutCase:
    """One case with all units and with one fewer, [W].

    Attributes
    ----------
    case : str
    hours : float or None
    heat, heat_fewer : float
        Heat of all sources
    capacity_fewer : float or None
        Of the units left; None where one states none
    short, short_fewer : float
        What called circuits lack
    carries : bool
        Whether the sources hold their set temperatures and the circuits get their heat as before, within
        half a percent of the heat
    settled : bool
        Whether both solutions came to rest; if not, the case counts as not carried
    """

    case: str
    hours: float | None
    heat: float
    heat_fewer: float
    capacity_fewer: float | None
    short: float
    short_fewer: float
    carries: bool
    settled: bool

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "case": self.case,
            "hours": self.hours,
            "heat_w": self.heat,
            "heat_fewer_w": self.heat_fewer,
            "capacity_fewer_w": self.capacity_fewer,
            "short_w": self.short,
            "short_fewer_w": self.short_fewer,
            "carries": self.carries,
            "settled": self.settled,
        }


@dataclass(frozen=True)
class OneUnitOut:
    """A group of units side by side, and what it would carry without the largest of them.

    Attributes
    ----------
    units : tuple of str
    without : str
        The unit left out
    cases : tuple of OneOutCase
    share : Working or None
        Share of the hours that would be carried; None where no case says how long it lasts
    """

    units: tuple[str, ...]
    without: str
    cases: tuple[OneOutCase, ...]
    share: Working | None

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "units": list(self.units),
            "without": self.without,
            "share": None if self.share is None else self.share.value,
            "working": None if self.share is None else self.share.as_data(),
            "cases": [case.as_data() for case in self.cases],
        }


def groups_of(plant: Plant, net: Network | None = None) -> tuple[tuple[str, ...], ...]:
    """Units that stand side by side: linked ones, and those of one kind that one body and one call share."""
    net = net if net is not None else build(plant)
    found: dict[tuple[str, ...], list[str]] = {}
    branches: dict[str, int] = {}
    for item in plant.items.values():
        if not item.has(Trait.MAKES_HEAT) or item.stage == "to_remove" or item.id not in net.of_item:
            continue
        e = net.of_item[item.id][0]
        branches[item.id] = int(net.branch_of[e.index])
        calls = (repr(item.si.get("run_when")), repr(item.si.get("powered_by")))
        body = str(net.body_of[e.start])
        linked = str(item.si.get("linked") or "")
        found.setdefault(("linked", linked) if linked else (item.kind, body, *calls), []).append(item.id)
    return tuple(
        tuple(units)
        for units in found.values()
        if len(units) > 1 and len({branches[u] for u in units}) == len(units)
    )


def one_unit_out(plant: Plant, keep_on: Callable[[], bool] | None = None) -> tuple[OneUnitOut, ...]:
    """For each group of units, all cases without its largest unit.

    Parameters
    ----------
    plant : Plant
    keep_on : callable or None
        Asked during the solving; where it says False this raises core.solve.Dropped
    """
    groups = groups_of(plant)
    if not groups:
        return ()
    before = dict(_solved(plant, keep_on))
    return tuple(_without(plant, units, before, keep_on) for units in groups)


def _solved(plant: Plant, keep_on: Callable[[], bool] | None) -> Iterator[tuple[str, CallRow]]:
    solver, reach = Solver(plant), None
    for case in plant.solve_cases:
        solution = solver.solve(case, keep_on)
        reach = reach or Reach(plant, solver.net)
        yield case.name, call_row(plant, case, solution, (), reach)


def _without(
    plant: Plant, units: tuple[str, ...], before: dict[str, CallRow], keep_on: Callable[[], bool] | None
) -> OneUnitOut:
    largest = max(units, key=lambda unit: float(plant.items[unit].si.get("capacity") or 0.0))
    left = [unit for unit in units if unit != largest]
    gone = replace(plant.items[largest], stage="to_remove")
    after = dict(_solved(replace(plant, items={**plant.items, largest: gone}), keep_on))
    capacities = [float(plant.items[unit].si.get("capacity") or 0.0) for unit in left]
    capacity = sum(capacities) if all(capacities) else None
    cases = tuple(_compare(case, before[case.name], after[case.name], capacity) for case in plant.solve_cases)
    return OneUnitOut(units, largest, cases, _share(units, cases))


def _compare(case: Case, row: CallRow, fewer: CallRow, capacity: float | None) -> OneOutCase:
    settled = row.solution.converged and fewer.solution.converged
    felt = MISSED * max(row.heat, row.wanted, 1.0)
    lacking = sum(load.short for load in fewer.sources.values()) - sum(
        load.short for load in row.sources.values()
    )
    carries = settled and lacking <= felt and fewer.short - row.short <= felt
    return OneOutCase(
        case.name,
        case.hours_per_year,
        row.heat,
        fewer.heat,
        capacity,
        row.short,
        fewer.short,
        carries,
        settled,
    )


def _share(units: tuple[str, ...], cases: tuple[OneOutCase, ...]) -> Working | None:
    lasting = [case for case in cases if case.hours]
    if not lasting:
        return None
    hours = [
        typed(
            f"n_{k}",
            f"hours a year of {case.case}",
            float(case.hours or 0.0),
            "",
            f"cases.{case.case}.hours_per_year",
            f"{case.hours:g}",
        )
        for k, case in enumerate(lasting, 1)
    ]
    marks = [
        given(f"c_{k}", f"1 where {case.case} is carried, else 0", float(case.carries), "", "solved")
        for k, case in enumerate(lasting, 1)
    ]
    top = " + ".join(f"c_{k} * n_{k}" for k in range(1, len(lasting) + 1))
    bottom = " + ".join(f"n_{k}" for k in range(1, len(lasting) + 1))
    return derived(
        "share",
        f"share of the hours that {len(units) - 1} of {len(units)} units would carry",
        "",
        f"({top}) / ({bottom})",
        *hours,
        *marks,
        how="each case solved without the largest unit; carried where set temperatures hold and circuits get "
        "their heat as before, within 0.5 %",
    )
