"""What can lie on a sheet, in mm: texts, rules, symbols, a piece of the diagram. Painted elsewhere."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from app.pens import text_width
from core.diagram.axes import Plot
from core.diagram.geometry import Box
from core.diagram.plans import Tile
from core.diagram.states import State

ASCENT, DESCENT = 0.78, 0.22
ELLIPSIS = "…"
FIGURE = re.compile(r"[(\[~+−-]*\d[\d.,/½¼¾-]*")
UNITS = frozenset(
    {
        *(
            "gpm",
            "L/s",
            "L/min",
            "L/h",
            "m³/h",
            "psi",
            "kPa",
            "Pa",
            "bar",
            "ft",
            "in",
            "m",
            "mm",
            "ft²",
            "m²",
        ),
        *(
            "gal",
            "L",
            "m³",
            "°F",
            "°C",
            "K",
            "kBtu/h",
            "Btu/h",
            "kW",
            "W",
            "kWh",
            "therm",
            "ft/s",
            "m/s",
            "%",
        ),
        *("A", "V", "min", "h", "s", "Btu/h/°F", "W/K", "Btu/h/ft²", "W/m²", "Btu/h/ft/°F", "W/m/K", "lb/h"),
        *("kg/h", "kg/m³", "mPa·s"),
    }
)


@dataclass(frozen=True)
class Text:
    """One line of text; x is its left end, y its baseline, size that of the font [mm]."""

    text: str
    x: float
    y: float
    size: float = 2.5
    bold: bool = False
    soft: bool = False
    link: str = ""  # anchor that a click leads to
    anchor: str = ""
    level: int = 0  # of a bookmark; 0 for none

    @property
    def box(self) -> Box:
        wide = text_width(self.text, self.size, self.bold)
        return Box(self.x, self.y - ASCENT * self.size, self.x + wide, self.y + DESCENT * self.size)

    def moved(self, dx: float, dy: float) -> Text:
        return replace(self, x=self.x + dx, y=self.y + dy)


@dataclass(frozen=True)
class Rule:
    """A straight line of a pen width [mm]; `dash` in mm."""

    x0: float
    y0: float
    x1: float
    y1: float
    width: float = 0.18
    dash: tuple[float, ...] = ()

    def moved(self, dx: float, dy: float) -> Rule:
        return replace(self, x0=self.x0 + dx, y0=self.y0 + dy, x1=self.x1 + dx, y1=self.y1 + dy)


@dataclass(frozen=True)
class Sign:
    """A kind's symbol fitted into a box."""

    kind: str
    area: Box
    state: State = State.OPEN
    electric: bool = False

    @property
    def box(self) -> Box:
        return self.area

    def moved(self, dx: float, dy: float) -> Sign:
        return replace(self, area=self.area.moved(dx, dy))


@dataclass(frozen=True)
class Graph:
    """A plot laid out in units of its own, `scale` mm each, from the upper left corner of `area`."""

    plot: Plot
    area: Box
    scale: float

    @property
    def box(self) -> Box:
        return self.area

    def moved(self, dx: float, dy: float) -> Graph:
        return replace(self, area=self.area.moved(dx, dy))


Mark = Text | Rule | Sign | Graph


@dataclass
class Page:
    """One sheet."""

    marks: list[Mark] = field(default_factory=list)
    tile: Tile | None = None

    def add(self, marks: Iterable[Mark], dx: float = 0.0, dy: float = 0.0) -> None:
        self.marks += [mark.moved(dx, dy) for mark in marks]


def clipped(text: str, wide: float, size: float, bold: bool = False) -> str:
    """The text, cut short with an ellipsis where it is wider than `wide` [mm]."""
    if text_width(text, size, bold) <= wide:
        return text
    low, high = 0, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if text_width(text[:middle].rstrip() + ELLIPSIS, size, bold) <= wide:
            low = middle
        else:
            high = middle - 1
    return text[:low].rstrip() + ELLIPSIS


def unbroken(text: str) -> list[str]:
    """The words of a text, a figure together with its unit."""
    out: list[str] = []
    for word in text.split():
        if out and FIGURE.fullmatch(out[-1]) and word.rstrip(".,;:)") in UNITS:
            out[-1] += f" {word}"
        else:
            out.append(word)
    return out


def wrapped(text: str, wide: float, size: float, most: int = 99, bold: bool = False) -> list[str]:
    """The text in at most so many lines no wider than `wide` [mm]; the rest is cut with an ellipsis."""
    words = unbroken(text)
    whole = " ".join(words)
    if words and most > 0 and text_width(whole, size, bold) <= wide:
        return [whole]
    lines: list[str] = []
    while words and len(lines) < most:
        line = words.pop(0)
        if text_width(line, size, bold) > wide:
            line, rest = _broken(line, wide, size, bold)
            words.insert(0, rest)
        else:
            while words and text_width(f"{line} {words[0]}", size, bold) <= wide:
                line = f"{line} {words.pop(0)}"
        lines.append(line)
    if words:
        lines[-1] = clipped(" ".join([lines[-1], *words]), wide, size, bold)
    return lines


def _broken(word: str, wide: float, size: float, bold: bool) -> tuple[str, str]:
    """A word too wide for a line, in two."""
    if " " in word:  # a figure and its unit
        first, _, rest = word.partition(" ")
        if text_width(first, size, bold) <= wide:
            return first, rest
    count = max(1, len(word) - 1)
    while count > 1 and text_width(word[:count], size, bold) > wide:
        count -= 1
    return word[:count], word[count:]
