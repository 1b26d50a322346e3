"""Energy of each case over its hours in a year: heat of sources, fuel, electricity; each with its working.

Each case counts as lasting all its hours. Where a stat holds a room or a store, the circuits that serve it
give their heat for its duty share of them, and what its call runs runs as long.

* Each case lasts all its `hours_per_year`. Stats of rooms and stores that come and go are taken as
  independent; those over flowing water cycle together, as the solver takes them.
* Over time a store that a stat holds takes up what it loses to the room round it, and no more.
* A heater is electric when `watts` times efficiency covers 98 % of its capacity and no `fuel_input` is
  typed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Any

from core.calls.heat_balance import HeatBalance, heat_balance
from core.calls.power import electric_power
from core.controls.expressions import share as share_of
from core.figures import RoomFigures, StatFigures, TankFigures, TwoEndsFigures
from core.plant.as_set import plant_for
from core.plant.heating import heats_by_electricity
from core.plant.model import Case, Item, Plant
from core.solve import Solution, Solver
from core.thermal.heat import ZERO
from core.vocabulary import Trait, signal_names
from core.working import Working, derived, given, typed

HOUR = 3600.0  # [s]
INDEPENDENT = "stats taken as calling independently of one another, those over flowing water together"


@dataclass(frozen=True)
class CaseEnergy:
    """Energy of one case over its hours, [J]; None where a figure is missing.

    Attributes
    ----------
    case : str
    hours : float
    heat, fuel, electricity : dict
        Workings by id of the source or the electric item
    taken : dict
        Where the heat goes: circuits, stores, drawn, pipes by id, [J]
    """

    case: str
    hours: float
    heat: Mapping[str, Working]
    fuel: Mapping[str, Working | None]
    electricity: Mapping[str, Working | None]
    taken: Mapping[str, Mapping[str, float]]

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "case": self.case,
            "hours": self.hours,
            "heat_j": {k: w.value for k, w in self.heat.items()},
            "fuel_j": {k: w and w.value for k, w in self.fuel.items()},
            "electricity_j": {k: w and w.value for k, w in self.electricity.items()},
            "taken_j": {name: dict(part) for name, part in self.taken.items()},
        }


@dataclass(frozen=True)
class Energy:
    """Energy of a year: of each case that has hours, and their sums by id, [J].

    Attributes
    ----------
    cases : tuple of CaseEnergy
    heat, fuel, electricity : dict
        Sums over the cases, each a working
    hours : float
        Hours the cases cover together
    missing : tuple of str
        What is not known, and where it would be typed
    """

    cases: tuple[CaseEnergy, ...]
    heat: Mapping[str, Working]
    fuel: Mapping[str, Working]
    electricity: Mapping[str, Working]
    hours: float
    missing: tuple[str, ...] = field(default=())

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json, each sum with its working."""
        return {
            "hours": self.hours,
            "cases": [case.as_data() for case in self.cases],
            "year": {
                name: {key: {"value_j": w.value, "working": w.as_data()} for key, w in sums.items()}
                for name, sums in (
                    ("heat", self.heat),
                    ("fuel", self.fuel),
                    ("electricity", self.electricity),
                )
            },
            "missing": list(self.missing),
        }


def yearly_energy(
    plant: Plant,
    solutions: Mapping[str, Solution] | None = None,
    keep_on: Callable[[], bool] | None = None,
) -> Energy:
    """Energy of the plant's cases that say how many hours of a year they last.

    Parameters
    ----------
    plant : Plant
    solutions : dict or None
        Cases already solved, by name; the others are solved here
    keep_on : callable or None
        Asked during the solving; where it says False this raises core.solve.Dropped
    """
    known = dict(solutions or {})
    solver: Solver | None = None
    found = []
    for case in plant.solve_cases:
        if case.hours_per_year is None:
            continue
        if case.name not in known:
            solver = solver or Solver(plant)
            known[case.name] = solver.solve(case, keep_on)
        found.append(case_energy(plant, case, known[case.name]))
    missing = [
        f"hours_per_year of case {case.name}" for case in plant.solve_cases if case.hours_per_year is None
    ]
    missing += _missing(plant, found)
    return Energy(
        tuple(found),
        _sums(plant, "E", "heat of {}", ((c.case, c.heat) for c in found)),
        _sums(plant, "E_fuel", "fuel of {}", ((c.case, c.fuel) for c in found)),
        _sums(plant, "E_el", "electricity of {}", ((c.case, c.electricity) for c in found)),
        sum(c.hours for c in found),
        tuple(missing),
    )


def case_energy(plant: Plant, case: Case, solution: Solution) -> CaseEnergy:
    """Energy of one solved case over its hours.

    Parameters
    ----------
    plant : Plant
    case : Case
        With `hours_per_year`; without, its hours count as 0
    solution : Solution
    """
    plant = plant_for(plant, case)
    hours = float(case.hours_per_year or 0.0)
    n = typed(
        "n", f"hours a year of {case.name}", hours, "", f"cases.{case.name}.hours_per_year", f"{hours:g}"
    )
    book = heat_balance(plant, solution)
    shares = StatShares.of(plant, solution)
    circuits = {key: circuit_share(plant, key, solution) for key in book.circuits}
    stores = {key: store_mean(plant, key, heat, solution) for key, heat in book.stores.items()}
    idle = sum((1.0 - circuits[key]) * heat for key, heat in book.circuits.items())
    idle += sum(heat - stores[key] for key, heat in book.stores.items())
    part = _part_of_heat(book, idle)
    heat = {key: _heat(key, watts, n, part) for key, watts in book.sources.items()}
    items = {k: i for k, i in plant.items.items() if i.stage != "to_remove"}
    fuel = {
        key: fuel_of(items[key], w)
        for key, w in heat.items()
        if items[key].has(Trait.FIRED) and not heats_by_electricity(items[key])
    }
    electricity: dict[str, Working | None] = {}
    for key, item in items.items():
        if item.has(Trait.DRIVES, Trait.LIFTS_HEAT) and key in solution.items:
            electricity[key] = _electricity(item, solution, n, shares, part)
        elif heats_by_electricity(item) and key in heat:
            electricity[key] = electric_heat_of(item, heat[key])
        elif item.si.get("element") and key in heat:
            electricity[key] = replace(heat[key], words=f"electricity of the element of {key}")
    seconds = hours * HOUR
    taken = {
        "circuits": {k: w * circuits[k] * seconds for k, w in book.circuits.items()},
        "stores": {k: w * seconds for k, w in stores.items()},
        "drawn": {k: w * seconds for k, w in book.drawn.items()},
        "pipes": {k: w * seconds for k, w in book.pipes.items()},
    }
    return CaseEnergy(case.name, hours, heat, fuel, electricity, taken)


# ---- duty shares -------------------------------------------------------------------------------


@dataclass(frozen=True)
class StatShares:
    """Share of the time each stat that comes and goes is on, 0..1.

    Attributes
    ----------
    apart : dict
        Of those that hold a room or a store: independent of one another
    together : dict
        Of those over flowing water, which cycle together
    """

    apart: Mapping[str, float] = field(default_factory=dict)
    together: Mapping[str, float] = field(default_factory=dict)

    @classmethod
    def of(cls, plant: Plant, solution: Solution) -> StatShares:
        """As the solver found them, where it says so."""
        apart: dict[str, float] = {}
        together: dict[str, float] = {}
        for key, item in plant.items.items():
            senses = item.si.get("senses") if item.has(Trait.STAT) and item.stage != "to_remove" else None
            if not senses or not solution.signals.get(key):
                continue
            place = plant.items.get(str(senses[0]))
            if place is not None and place.has(Trait.ROOM):
                felt: RoomFigures | StatFigures | None = solution.at(place.id, RoomFigures)
            else:
                felt = solution.at(key, StatFigures)
            if felt is not None and felt.duty_share is not None and felt.duty_share < 1.0:
                holds_heat = place is not None and place.has(Trait.ROOM, Trait.STORES_HEAT)
                (apart if holds_heat else together)[key] = felt.duty_share
        return cls(apart, together)


def store_mean(plant: Plant, store: str, heat: float, solution: Solution) -> float:
    """Heat a tank or buffer takes up over time, [W]: where a stat holds it what it loses, else `heat`."""
    tank = solution.at(store, TankFigures)
    held = tank or solution.at(store, TwoEndsFigures)
    if held is None or held.duty_share is None or held.duty_share >= 1.0:
        return heat
    ua = float(plant.items[store].si.get("ua_loss") or 0.0)
    return 0.0 if tank is None else ua * (tank.temperature_c + ZERO - plant.site_si.indoor)


def circuit_share(plant: Plant, circuit: str, solution: Solution) -> float:
    """Share of the time a circuit gives its heat: the duty share of the room it serves, else 1."""
    room = solution.at(str(plant.items[circuit].si.get("serves") or ""), RoomFigures)
    return 1.0 if room is None else min(1.0, room.duty_share)


def time_share(expression: Any, on: Mapping[str, bool], shares: StatShares) -> float:
    """Share of the time an expression of signals holds.

    Parameters
    ----------
    expression
        As of run_when
    on : dict
        State of every signal
    shares : StatShares
        Of signals that come and go

    Examples
    --------
    >>> both = {"A": True, "B": True}
    >>> round(time_share({"any": ["A", "B"]}, both, StatShares({"A": 0.5, "B": 0.4})), 3)
    0.7
    >>> time_share({"any": ["A", "B"]}, both, StatShares(together={"A": 0.5, "B": 0.4}))
    0.5
    """
    apart = shares.apart
    names = [name for name in dict.fromkeys(signal_names(expression)) if name in apart]
    total = 0.0
    for states in product((True, False), repeat=len(names)):
        chance = 1.0
        for name, state in zip(names, states, strict=True):
            chance *= apart[name] if state else 1.0 - apart[name]
        if chance:
            now = {**on, **dict(zip(names, states, strict=True))}
            total += chance * share_of(expression, now, shares.together)
    return total


# ---- workings ----------------------------------------------------------------------------------


def _part_of_heat(book: HeatBalance, idle: float) -> Working | None:
    """Share of the sources' heat that is left once satisfied rooms take none; None where all is."""
    if idle <= 1e-9 * max(book.given, 1.0) or book.given <= 0.0:
        return None
    whole = given("Q_on", "heat of the sources while all calls last", book.given, "power", "solved")
    rest = given("Q_off", "heat that circuits of satisfied rooms do not take", idle, "power", "solved")
    return derived("r", "share of that heat over time", "", "1 - Q_off / Q_on", whole, rest)


def _heat(key: str, watts: float, n: Working, part: Working | None) -> Working:
    words = f"heat of {key} in its hours"
    q = given("Q", f"heat of {key}", watts, "power", "solved")
    if part is None:
        return derived("E", words, "energy", "Q * n * 3600", q, n)
    return derived("E", words, "energy", "Q * n * 3600 * r", q, n, part)


def fuel_of(item: Item, heat: Working) -> Working | None:
    """Heat in the fuel for heat to the water [J]: by efficiency, else by rated figures; else None."""
    words = f"heat in the fuel of {item.id}"
    if item.si.get("efficiency"):
        return derived("F", words, "energy", "E / η", heat, _prop(item, "efficiency", "η", "efficiency", ""))
    if item.si.get("fuel_input") and item.si.get("capacity"):
        fire = _prop(item, "fuel_input", "F_full", "fuel at full fire", "power")
        full = _prop(item, "capacity", "Q_full", "heat at full fire", "power")
        how = "as efficient at part fire as at full fire"
        return derived("F", words, "energy", "E * F_full / Q_full", heat, fire, full, how=how)
    return None


def electric_heat_of(item: Item, heat: Working) -> Working:
    """Electricity of a heater that makes all its heat of it."""
    words = f"electricity of {item.id} in its hours"
    if not item.si.get("efficiency"):
        return replace(heat, words=words)
    return derived("E_el", words, "energy", "E / η", heat, _prop(item, "efficiency", "η", "efficiency", ""))


def _prop(item: Item, name: str, symbol: str, words: str, dimension: str) -> Working:
    path = f"items.{item.id}.props.{name}"
    return typed(
        symbol, f"{words} of {item.id}", float(item.si[name]), dimension, path, str(item.props.get(name))
    )


def _electricity(
    item: Item, solution: Solution, n: Working, shares: StatShares, part: Working | None
) -> Working | None:
    """Power times hours times the share of them it runs."""
    power = electric_power(item, solution.items[item.id])
    if power is None:
        return None
    words = f"electricity of {item.id} in its hours"
    factor = part
    if not item.has(Trait.LIFTS_HEAT):
        ways = (item.si.get(name) for name in ("run_when", "powered_by"))
        share = min(time_share(way, solution.signals, shares) for way in ways)
        runs = given("φ", "share of the hours it runs", share, "", "solved", INDEPENDENT)
        factor = runs if share < 1.0 and power.value else None
    if factor is None:
        return derived("E", words, "energy", "P * n * 3600", power, n)
    return derived("E", words, "energy", f"P * n * 3600 * {factor.symbol}", power, n, factor)


def _sums(
    plant: Plant, symbol: str, words: str, found: Iterable[tuple[str, Mapping[str, Working | None]]]
) -> dict[str, Working]:
    """Sums over the cases by id; an id whose figure is missing in any case has none."""
    parts: dict[str, list[Working | None]] = {}
    for case, by_id in found:
        for key, working in by_id.items():
            named = working and replace(working, words=f"{working.words} ({case})")
            parts.setdefault(key, []).append(named)
    out = {}
    for key in plant.items:
        known = [w for w in parts.get(key, ()) if w is not None]
        if known and len(known) == len(parts[key]):
            inputs = tuple(replace(w, symbol=f"E_{k}") for k, w in enumerate(known, 1))
            formula = " + ".join(w.symbol for w in inputs)
            out[key] = derived(symbol, f"{words.format(key)} in a year", "energy", formula, *inputs)
    return out


def _missing(plant: Plant, found: Sequence[CaseEnergy]) -> list[str]:
    lacking = []
    for key in plant.items:
        if any(key in c.fuel and c.fuel[key] is None and float(c.heat[key].value) > 0.0 for c in found):
            lacking.append(f"efficiency of {key}: its fuel is not known")
        if any(key in c.electricity and c.electricity[key] is None for c in found):
            lacking.append(f"watts of {key}: its electricity is not known")
    return lacking
