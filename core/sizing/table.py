"""Answers of sizing as sentences and tables of words, for the command line, panels and papers alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import NamedTuple

from core import units
from core.sizing.result import Option, Sized
from core.working import Display, Working

ZERO = 273.15  # [K]
TITLES = {
    "design_flow": "design flow",
    "tube": "tube",
    "circulator": "circulator",
    "suction": "suction pressure",
    "balance": "balance valve",
    "recirculation": "hot water return",
    "potable_branch": "potable demand",
    "potable_pressure": "pressure at the outlet",
}
# Ending of a figure's key: its dimension. The longest that fits counts.
_DIMENSIONS = {
    "_m3_s": "flow",
    "_m_s": "velocity",
    "_m3": "volume",
    "_pa": "pressure",
    "_m": "head",
    "_w": "power",
    "_k": "temperature_difference",
    "_c": "temperature",
    "_w_k": "heat_per_kelvin",
    "_w_m2": "flux",
    "_w_m": "",
    "_j": "energy",
    "_s": "time",
    "_kg_s": "",
    "_m2": "area",
    "_pa_m": "",
    "_ft_100ft": "",
    "_kwh": "",
}
_LENGTHS = ("bore_m", "length_m", "outside_m", "spacing_m")
_PLAIN = {"_pa_m": "Pa/m", "_ft_100ft": "ft/100 ft", "_w_m": "W/m", "_kwh": "kWh"}
_BY_THE_HOUR = {"us": ("lb/h", 3600.0 / 0.45359237), "si": ("kg/h", 3600.0)}  # mass flow, from kg/s


@dataclass(frozen=True)
class Group:
    """Answers that say the same of several items or pipes, with the ids in the order of the file."""

    ids: tuple[str, ...]
    first: Sized

    @property
    def sentence(self) -> str:
        """The answer, all ids named."""
        if len(self.ids) == 1:
            return self.first.words
        return ", ".join(self.ids) + self.first.words.removeprefix(self.first.at)


def title(what: str) -> str:
    """What is sized, in words."""
    return TITLES.get(what, what.replace("_", " "))


def grouped(answers: Iterable[Sized]) -> Iterator[Group]:
    """Answers together where the sentences differ by the id alone, or pipes that run alike."""
    found: dict[tuple[object, ...], list[Sized]] = {}
    for sized in answers:
        alike: tuple[object, ...] = (sized.words.replace(sized.at, "·"),)
        if sized.what == "tube" and sized.options:
            alike = tuple((o.name, round(o.figures["velocity_m_s"], 1), o.serves) for o in sized.options)
            alike += ("Drawn" in sized.words,)
        found.setdefault((sized.what, sized.chosen, *alike), []).append(sized)
    for same in found.values():
        yield Group(tuple(sized.at for sized in same), same[0])


def told_once(working: Working, told: set[tuple[str, object]] | None = None) -> Working:
    """The same tree with every branch that came before cut to its value and "as above"."""
    told = set() if told is None else told
    key = (working.words, working.value)
    if not working.inputs:
        return working
    if key in told:
        return replace(
            working,
            formula="",
            inputs=(),
            how="as above",
            source="",
            holds="",
            within=None,
            origin="computed",
        )
    told.add(key)
    return replace(working, inputs=tuple(told_once(part, told) for part in working.inputs))


def rows(sized: Sized, display: Display) -> list[tuple[str, ...]]:
    """Options as a table of texts: heading, then one row an option; empty without options.

    The chosen option is marked by an arrow, options that do not serve by a dash.
    """
    if not sized.options:
        return []
    keys = list(dict.fromkeys(key for option in sized.options for key in option.figures))
    keys = [key for key in keys if not (display == "si" and key == "loss_ft_100ft")]
    keys = [key for key in keys if not (display == "us" and key == "loss_pa_m")]
    head = ("", "option", *(_heading(key, display) for key in keys), "verdict")
    return [head, *(_row(option, keys, display, option.name == sized.chosen) for option in sized.options)]


class Mark(NamedTuple):
    """An option on a bar: its figure as a share of its own limit, and whether it is the one proposed."""

    name: str
    share: float
    chosen: bool


class Bar(NamedTuple):
    """One limit: what it limits, the figure of the proposed and its limit in words, and the neighbours."""

    title: str
    words: str
    marks: tuple[Mark, ...]


def bars(sized: Sized, display: Display) -> tuple[str, tuple[Bar, ...]]:
    """Why a size, in one line, and a bar for each limit with the proposed and its neighbours on it.

    Empty where nothing is proposed, or where its figures have no limits.
    """
    place = next((k for k, option in enumerate(sized.options) if option.name == sized.chosen), None)
    if place is None or not sized.options[place].limits:
        return "", ()
    chosen = sized.options[place]
    near = sized.options[max(0, place - 1) : place + 2]
    other = "loss_ft_100ft" if display == "si" else "loss_pa_m"
    found = []
    for key, limit in chosen.limits.items():
        if key == other or limit <= 0.0:
            continue
        at_most = Option("", {key: limit})
        words = f"{_shown(chosen, key, display)} of {_shown(at_most, key, display)}"
        unit = _PLAIN.get(_ending(key), "")
        marks = tuple(
            Mark(o.name, o.figures[key] / o.limits[key], o is chosen) for o in near if o.limits.get(key)
        )
        title = key.removesuffix(_ending(key)).replace("_", " ")
        found.append(Bar(title, f"{words} {unit}".strip(), marks))
    keeps = "keeps its limits" if chosen.serves else "keeps not every limit"
    return f"{chosen.name} {keeps}.", tuple(found)


def _row(option: Option, keys: list[str], display: Display, chosen: bool) -> tuple[str, ...]:
    mark = "→" if chosen else "" if option.serves else "–"
    return (mark, option.name, *(_shown(option, key, display) for key in keys), option.verdict)


def _ending(key: str) -> str:
    return max((end for end in _DIMENSIONS if key.endswith(end)), key=len, default="")


def _heading(key: str, display: Display) -> str:
    end = _ending(key)
    words = key.removesuffix(end).replace("_", " ")
    if end == "_kg_s":
        return f"{words} {_BY_THE_HOUR[display][0]}"
    return f"{words} {_PLAIN[end]}" if end in _PLAIN else words


def _shown(option: Option, key: str, display: Display) -> str:
    value = option.figures.get(key)
    if value is None:
        return ""
    end = _ending(key)
    if end == "_kg_s":
        value *= _BY_THE_HOUR[display][1]
    dimension = "length" if key in _LENGTHS else _DIMENSIONS.get(end, "")
    if not dimension:
        return f"{value:.3g}" if abs(value) < 1000.0 else f"{value:,.0f}"
    if key == "power_w":
        return f"{value:,.0f} W"
    small = dimension == "pressure" or (dimension == "volume" and abs(value) < 0.004)
    digits = 2 if small and abs(value) < 20e3 else None
    if dimension == "length" and display == "us":
        return f"{units.to_unit(value, 'in'):.3f} in"
    if dimension == "length":
        return f"{1000.0 * value:.1f} mm"
    return units.show(value + (ZERO if dimension == "temperature" else 0.0), dimension, display, digits)
