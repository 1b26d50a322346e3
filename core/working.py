"""How a number came about: formula, the numbers put in, source, range; down to what the user typed.

One mechanism for every sized, judged or solved number. A working is a tree: each number put into a formula is
itself a working. Screen, paper and JSON read the same tree; here is no knowledge of plants.
"""

from __future__ import annotations

import ast
import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from core import units

Display = Literal["us", "si"]
Origin = Literal["typed", "default", "table", "solved", "computed", "practice", "memory"]

SMALL_LENGTH = 0.3  # [m] below it a length is shown in inches or millimetres
_NAME = re.compile(r"[^\W\d]\w*")
_FUNCTIONS: Mapping[str, Callable[..., float]] = {
    "exp": math.exp,
    "ln": math.log,
    "log10": math.log10,
    "sqrt": math.sqrt,
    "min": min,
    "max": max,
    "abs": abs,
}
_SI_UNITS = {
    "flow": "m3_s",
    "volume": "m3",
    "length": "m",
    "area": "m2",
    "pressure": "pa",
    "head": "m",
    "power": "w",
    "heat_per_kelvin": "w_k",
    "flux": "w_m2",
    "conductivity": "w_m_k",
    "temperature": "k",
    "temperature_difference": "k",
    "velocity": "m_s",
    "time": "s",
    "density": "kg_m3",
    "viscosity": "pa_s",
    "heat_capacity": "j_kg_k",
    "rotation": "rad_s",
    "current": "a",
    "voltage": "v",
    "energy": "j",
    "transmittance": "w_m2_k",
    "resistance": "m2_k_w",
    "degree_days": "k_s",
    "snowfall": "m_s",
}


@dataclass(frozen=True)
class Working:
    """One number and where it comes from.

    Attributes
    ----------
    symbol : str
        Letter in formulas, a plain name such as `Q`, `ΔT`, `ρ`, `T_in`
    words : str
        What it is, e.g. "design flow of FC-1"
    value : float, str or bool
        In base SI
    dimension : str
        Dimension known to `core.units`; empty for a pure number
    formula : str
        Right-hand side in the symbols of `inputs`, with + - * / ^ and exp ln log10 sqrt min max abs; empty
        where the number is put in from outside or found by iteration (then `how` says so)
    inputs : tuple of Working
        What the formula (or the search) was given
    how : str
        In words what a formula cannot say: a search, a table looked up, a choice
    source : str
        Published source, or 'common practice, no source', or 'from memory'
    holds : str
        Range of validity, in words
    within : bool or None
        Whether the numbers put in lie within it; None where it has no limit
    origin : str
        Where a number without formula comes from
    path : str
        For what was typed: items.ID.props.NAME, pipes.ID.NAME, site.NAME, cases.NAME.…
    typed : str
        As the user wrote it
    """

    symbol: str
    words: str
    value: float | str | bool
    dimension: str = ""
    formula: str = ""
    inputs: tuple[Working, ...] = ()
    how: str = ""
    source: str = ""
    holds: str = ""
    within: bool | None = None
    origin: Origin = "computed"
    path: str = ""
    typed: str = ""
    extra: Mapping[str, Any] = field(default_factory=dict)

    def leaves(self) -> Iterator[Working]:
        """The numbers at the ends of the tree, left to right, each once a place."""
        if not self.inputs:
            yield self
        for part in self.inputs:
            yield from part.leaves()

    def walk(self, depth: int = 0) -> Iterator[tuple[int, Working]]:
        """The tree, each number before those it was made from, with its depth."""
        yield depth, self
        for part in self.inputs:
            yield from part.walk(depth + 1)

    def shown(self, display: Display) -> str:
        """The value with its unit, for screen and paper."""
        return show_value(self.value, self.dimension, display)

    def put_in(self, display: Display) -> str:
        """The formula with the values in place of the symbols; empty without a formula."""
        values = {part.symbol: part.shown(display) for part in self.inputs}
        text = typeset(self.formula)

        def put(match: re.Match[str]) -> str:
            value = values.get(match.group(), match.group())
            return f"({value})" if " " in value and text[match.end() :].lstrip().startswith("^") else value

        return _NAME.sub(put, text)

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json: SI, the unit beside each value."""
        data: dict[str, Any] = {
            "symbol": self.symbol,
            "words": self.words,
            "value": self.value,
            "unit": _SI_UNITS.get(self.dimension, "") if self.dimension else "",
            "origin": self.origin,
        }
        for name in ("formula", "how", "source", "holds", "path", "typed"):
            if text := getattr(self, name):
                data[name] = text
        if self.within is not None:
            data["within"] = self.within
        if self.inputs:
            data["inputs"] = [part.as_data() for part in self.inputs]
        return data


def typed(
    symbol: str, words: str, value: float | str | bool, dimension: str, path: str, text: str
) -> Working:
    """A number the user typed, at its place in the plant file."""
    return Working(symbol, words, value, dimension, origin="typed", path=path, typed=text)


def derived(symbol: str, words: str, dimension: str, formula: str, *inputs: Working, **about: Any) -> Working:
    """A number by its formula, whose value is what the formula gives from the inputs.

    Parameters
    ----------
    symbol, words, dimension, formula : str
        As of `Working`
    inputs : Working
        One for each symbol of the formula
    about
        how, source, holds, within, extra

    Raises
    ------
    ValueError
        Where the formula uses a name it was not given
    ArithmeticError
        Where these inputs have no result

    Examples
    --------
    >>> derived("A", "area", "area", "a * b", given("a", "side", 2.0), given("b", "side", 3.0)).value
    6.0
    """
    draft = Working(symbol, words, 0.0, dimension, formula, inputs, **about)
    value = evaluate(draft)
    assert value is not None
    return replace(draft, value=value)


def given(
    symbol: str,
    words: str,
    value: float | str | bool,
    dimension: str = "",
    origin: Origin = "default",
    source: str = "",
) -> Working:
    """A number that comes from a default, a table, the solver, or practice."""
    return Working(symbol, words, value, dimension, origin=origin, source=source)


def show_value(value: float | str | bool, dimension: str, display: Display) -> str:
    """A value in the units shown; a pure number to four figures."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str):
        return value
    if dimension:
        return _quantity(value, dimension, display)
    return f"{value:,.0f}" if abs(value) >= 10_000 else f"{value:.4g}"


def _quantity(value: float, dimension: str, display: Display) -> str:
    """With digits enough that a small number, or two near ones put into one formula, can be told apart."""
    if dimension == "length" and 0.0 < abs(value) < SMALL_LENGTH:
        unit = "mm" if display == "si" else "in"
        return f"{units.to_unit(value, unit):.4g} {units.sign_of(unit)}"
    if dimension == "density":
        return units.show(value, dimension, display, 2)
    number = abs(units.to_unit(value, units.unit_for(dimension, display)))
    if dimension.startswith("temperature") or not 0.0 < number < 1.0:
        return units.show(value, dimension, display)
    return units.show(value, dimension, display, min(9, 2 - math.floor(math.log10(number))))


def typeset(formula: str) -> str:
    """A formula for screen and paper: · for *, − for a minus."""
    return formula.replace(" * ", " · ").replace(" - ", " − ")


def lines(working: Working, display: Display, depth: int = 0) -> Iterator[tuple[int, str]]:
    """The tree as indented lines: what it is, formula, values put in, result, source."""
    head = f"{working.words}: {working.symbol} = {working.shown(display)}"
    if working.origin == "typed" and working.typed:
        head += f" (typed {working.typed})"
    elif working.origin in ("default", "practice", "memory", "table"):
        words = {"practice": "common practice, no source", "memory": "from memory"}
        head += f" ({words.get(working.origin, working.origin)})"
    yield depth, head
    if working.formula:
        yield depth + 1, f"{working.symbol} = {typeset(working.formula)}"
        yield depth + 1, f"{' ' * len(working.symbol)} = {working.put_in(display)}"
    for text in (working.how, working.holds and f"holds for {working.holds}", working.source):
        if text:
            yield depth + 1, text
    if working.within is False:
        yield depth + 1, "outside that range: the figure is continued, not proven"
    for part in working.inputs:
        yield from lines(part, display, depth + 1)


def evaluate(working: Working) -> float | None:
    """The formula recomputed from its inputs, in SI; None without a formula. For checks of what is shown.

    Raises
    ------
    ValueError
        Where the formula uses a name it was not given
    """
    if not working.formula:
        return None
    table: dict[str, Any] = {"π": math.pi, **{part.symbol: part.value for part in working.inputs}}

    def value(node: ast.expr) -> float:
        match node:
            case ast.Constant(value=int() | float() as number):
                return float(number)
            case ast.Name(id=name):
                if name not in table:
                    raise ValueError(f"{working.symbol} = {working.formula}: {name} is not given")
                return float(table[name])
            case ast.UnaryOp(op=ast.USub(), operand=operand):
                return -value(operand)
            case ast.BinOp(left=left, op=op, right=right):
                a, b = value(left), value(right)
                match op:
                    case ast.Add():
                        return a + b
                    case ast.Sub():
                        return a - b
                    case ast.Mult():
                        return a * b
                    case ast.Div():
                        return a / b
                    case ast.Pow():
                        return float(a**b)
            case ast.Call(func=ast.Name(id=name), args=args) if name in _FUNCTIONS:
                return float(_FUNCTIONS[name](*(value(a) for a in args)))
        raise ValueError(f"{working.symbol} = {working.formula}: not a formula")

    text = working.formula.replace("^", "**").replace("·", "*").replace("−", "-").replace("×", "*")
    return value(ast.parse(text, mode="eval").body)
