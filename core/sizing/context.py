"""What every family of sizing reads: the plant, its solved cases, and leaves of workings with their place.

Nothing is sized here. Cases are solved when first asked for; what one family found, another reads from here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import wraps
from typing import TYPE_CHECKING, Concatenate, NamedTuple, ParamSpec, TypeVar, cast

from core import units
from core.derivation.leaves import dimension_of, fluid_property, in_si, outdoor_of
from core.errors import WetsideError
from core.media.fluids import Fluid, fluid_of
from core.media.tubes import tube_of
from core.plant.model import Case, Plant, PortRef
from core.sizing.result import Sized
from core.solve import Solution, Solver
from core.thermal.room_loss import site_leaf
from core.working import Display, Working, show_value, typed

if TYPE_CHECKING:
    from core.media.tubes import Tube

ZERO = 273.15  # [K]
G = 9.80665  # [m/s^2]
T = TypeVar("T")
P = ParamSpec("P")


class MissingInput(WetsideError):
    """What keeps one item or pipe from being sized, each as a full sentence with the place in it."""

    def __init__(self, *sentences: str) -> None:
        super().__init__("; ".join(sentences))
        self.sentences = sentences


def memo(make: Callable[Concatenate[Context, P], T]) -> Callable[Concatenate[Context, P], T]:
    """Keep with each context what a function finds of it, by its further arguments: what one family found,
    another reads."""

    @wraps(make)
    def known(context: Context, /, *args: P.args, **kwargs: P.kwargs) -> T:
        found = context.known.setdefault(make, {})
        key = (*args, *sorted(kwargs.items()))
        if key not in found:
            found[key] = make(context, *args, **kwargs)
        return cast(T, found[key])

    return known


class Worst(NamedTuple):
    """The case that asks most of something, and the figure in it."""

    case: str
    value: float


class Context:
    """One plant with its solved cases.

    Parameters
    ----------
    plant : Plant
    solutions : Mapping or None
        Cases already solved, by name; the others are solved when first asked for
    keep_on : callable or None
        Asked before each case and within it; False ends the run with `core.solve.Dropped`
    ids : iterable of str or None
        Items and pipes asked for; the others are not sized
    """

    def __init__(
        self,
        plant: Plant,
        solutions: Mapping[str, Solution] | None = None,
        keep_on: Callable[[], bool] | None = None,
        ids: Iterable[str] | None = None,
    ) -> None:
        self.plant = plant
        self.ids = None if ids is None else frozenset(ids)
        self.keep_on = keep_on
        self.display: Display = "si" if plant.units == "si" else "us"
        self._solved: dict[str, Solution] = dict(solutions or {})
        self._solver: Solver | None = None
        self.trials: dict[tuple[str, str], Solution] = {}  # by case and what was tried (`core.sizing.trial`)
        self.known: dict[Callable[..., object], dict[tuple[object, ...], object]] = {}  # see `memo`

    # Solved cases ------------------------------------------------------------------------------------------

    @property
    def cases(self) -> tuple[Case, ...]:
        """The plant's cases in its order; "design" where it has none."""
        return self.plant.solve_cases

    def case(self, name: str) -> Case:
        """The case of that name."""
        return next(case for case in self.cases if case.name == name)

    def solution(self, name: str) -> Solution:
        """The solved case of that name."""
        if name not in self._solved:
            self._solved[name] = self.solve(self.case(name))
        return self._solved[name]

    def solve(self, case: Case) -> Solution:
        """Any case of this plant solved, also one that is not in the file."""
        if self._solver is None:
            self._solver = Solver(self.plant)
        return self._solver.solve(case, self.keep_on)

    @property
    def solutions(self) -> dict[str, Solution]:
        """Every case solved, by name."""
        return {case.name: self.solution(case.name) for case in self.cases}

    def converged(self) -> Iterator[tuple[Case, Solution]]:
        """The cases that converged, with their solutions."""
        for case in self.cases:
            solution = self.solution(case.name)
            if solution.converged:
                yield case, solution

    def worst(self, name: str, key: str, least: bool = False) -> Worst | None:
        """The case with the greatest size of a figure (with `least`, the lowest value); None without any.

        Parameters
        ----------
        name : str
            Id of an item or pipe
        key : str
            Key of the solver's figures, e.g. flow_m3_s
        """
        found = [
            Worst(case.name, float(value))
            for case, solution in self.converged()
            if (value := solution.value(name, key)) is not None
        ]
        if not found:
            return None
        return min(found, key=lambda w: w.value) if least else max(found, key=lambda w: abs(w.value))

    # Leaves of workings ------------------------------------------------------------------------------------

    def prop(self, symbol: str, words: str, item: str, name: str) -> Working | None:
        """A property of an item as a leaf: typed, or the default of its kind; None where it has neither.

        Only plain quantities, numbers, words and flags; lists have no single value.
        """
        found = self.plant.items[item]
        value = found.si.get(name)
        if value is None or not isinstance(value, (float, int, str, bool)):
            return None
        dimension = found.kind_info.properties[name].dimension or ""
        if name in found.props:
            text = found.props[name]
            shown = (
                text if isinstance(text, str) else f"{text:g}" if not isinstance(text, bool) else str(text)
            )
            path = f"items.{item}.props.{name}"
            return Working(symbol, words, value, dimension, origin="typed", path=path, typed=shown)
        source = f"default of {found.kind}.{name}"
        return Working(symbol, words, value, dimension, source=source, origin="default")

    def wanted(self, symbol: str, words: str, item: str, name: str, why: str) -> Working:
        """A property that is needed; `MissingInput` names it where it is absent."""
        found = self.prop(symbol, words, item, name)
        if found is None or found.value == "unknown":
            state = "is not given" if found is None else "is unknown"
            raise MissingInput(f"{item}: props.{name} {state}, so {why}")
        return found

    def pipe_length(self, pipe: str, symbol: str = "L") -> Working:
        """Developed length of a pipe as typed."""
        found = self.plant.pipes[pipe]
        path = f"pipes.{pipe}.length"
        return typed(symbol, f"length of {pipe}", found.si.length, "length", path, found.length or "")

    def site(self, symbol: str, words: str, name: str) -> Working:
        """A value of the site: typed, or the program's default."""
        return site_leaf(self.plant, symbol, words, name)

    def outdoor(self, case: str, symbol: str = "T_out") -> Working:
        """Outdoor temperature of a case, else that of the site."""
        return outdoor_of(self.plant, self.case(case), symbol)

    def hours(self, case: str, symbol: str = "t") -> Working | None:
        """Hours a year of a case, [s]; None where none are given."""
        found = self.case(case).hours_per_year
        if found is None:
            return None
        path, words = f"cases.{case}.hours_per_year", f"hours a year of {case}"
        return typed(symbol, words, found * 3600.0, "time", path, f"{found:g}")

    def solved(self, symbol: str, words: str, name: str, key: str, case: str) -> Working:
        """A solved figure as a leaf, in SI (temperatures in kelvin)."""
        value = self.solution(case).value(name, key)
        plain = isinstance(value, (bool, str))
        return Working(
            symbol,
            f"{words} in {case}",
            in_si(key, value),
            "" if plain else dimension_of(key),
            how=f"solved: {name} {key}",
            origin="solved",
        )

    # Fluids and tubes --------------------------------------------------------------------------------------

    def system_at(self, item: str, *ports: str) -> str | None:
        """Name of the system that wets an item (at the first of these ports that is piped)."""
        for port in ports or self.plant.items[item].ports:
            for pipe in self.plant.pipes_at.get(PortRef(item, port), ()):
                return self.plant.pipes[pipe].system
        return None

    def fluid(self, system: str) -> Fluid:
        """Fluid of a system."""
        return fluid_of(self.plant.systems[system].si.fluid)

    def fluid_leaf(self, what: str, system: str, temperature: Working, symbol: str = "") -> Working:
        """A property of a system's fluid at a temperature.

        Parameters
        ----------
        what : str
            density, viscosity or heat_capacity
        """
        return fluid_property(self.fluid(system), what, temperature, self.display, symbol)

    def tube(self, pipe: str) -> Tube | None:
        """Catalogue tube of a pipe; None where its bore is typed or it has none."""
        raw = self.plant.pipes[pipe].tube
        if raw is None or "material" not in raw:
            return None
        return tube_of(str(raw["material"]), str(raw["size"]))

    # Answers ----------------------------------------------------------------------------------------------

    def shown(self, value: float | str, dimension: str) -> str:
        """A value in the plant's own units, as briefly as a sentence wants it."""
        if dimension and not isinstance(value, str):
            return units.show(value, dimension, self.display)
        return show_value(value, dimension, self.display)

    def one_by_one(
        self, names: Iterable[str], what: str, make: Callable[[str], Sized | Iterable[Sized] | None]
    ) -> list[Sized]:
        """Size each that is asked for; one that cannot be sized says why and leaves the others alone."""
        found: list[Sized] = []
        for name in names:
            if self.ids is not None and name not in self.ids:
                continue
            try:
                sized = make(name)
            except MissingInput as lack:
                found.append(unsized(name, what, *lack.sentences))
            except (WetsideError, ArithmeticError, ValueError) as error:
                found.append(unsized(name, what, f"{name}: these values give no answer ({error})"))
            else:
                found += [] if sized is None else [sized] if isinstance(sized, Sized) else sized
        return found


def unsized(at: str, what: str, *missing: str) -> Sized:
    """An answer that cannot be given, with what it lacks."""
    return Sized(
        at, what, f"{at}: not sized. {' '.join(f'{text}.' for text in missing)}", None, missing=missing
    )


def symbol_of(letter: str, name: str) -> str:
    """A symbol that names an item or pipe, e.g. Q_FC_1."""
    return f"{letter}_{re.sub(r'[^0-9A-Za-z]', '_', name)}"
