"""Property values as the file holds them, to text one can edit in a field, and back.

No Qt; core checks.

One entry a line, cells of a row apart by commas, names before a colon; signals read as `AQ-1 or (TH-2 and not
SW-1)`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any

from core.controls.words import Part, of_ticks, said, ticked
from core.errors import Refusal
from core.forms.guess_text import SIGN, guess_or, guess_shown
from core.media.tubes import spoken
from core.units import DIMENSIONS, expectation, parse_number, words
from core.vocabulary import Property, spellings

UNKNOWN = "unknown"
LONG_TYPES = frozenset({"points", "table", "rated", "heights", "loops", "places", "surfaces"})
"""Types whose text takes several lines."""
_QUANTITIES: dict[str, tuple[str, ...]] = {
    "quantity": (),
    "lift": ("head", "pressure"),
    "target": ("temperature_difference", "head", "pressure"),
}
"""Types of one quantity, and the dimensions it may be of where the property itself names none."""


_WITH_UNITS = (*_QUANTITIES, "flag_or_quantity", "points", "table", "rated", "heights", "loops", "surfaces")


def to_text(prop: Property, raw: Any) -> str:
    """What the field shows, with units as a person reads them; empty for an absent value."""
    if guess := guess_shown(raw):
        return guess
    text = _text(prop, raw)
    return spellings.readable(text) if prop.type in _WITH_UNITS else text


def _text(prop: Property, raw: Any) -> str:
    if raw is None:
        return ""
    if isinstance(raw, bool):
        if prop.type == "signals":
            return "always" if raw else "never"
        return "yes" if raw else "no"
    if isinstance(raw, str):
        return raw
    if isinstance(raw, (int, float)):
        return f"{raw:g}" if isinstance(raw, float) and float(f"{raw:g}") == raw else str(raw)
    if prop.type == "signals":
        return said(raw)
    if isinstance(raw, Mapping):
        return _map_text(prop, raw)
    return _list_text(prop, raw)


def from_text(prop: Property, text: str, parts: Mapping[str, str] = MappingProxyType({})) -> Any:
    """The raw value for the plant; None where the field was emptied. `parts` are words for names inside it.

    Raises `Refusal` where no value can be read.
    """
    text = text.strip()
    if not text:
        return None
    if text == UNKNOWN:
        return UNKNOWN
    if text.startswith(SIGN) and prop.type in ("number", *_QUANTITIES):
        return guess_or(text, lambda plain: from_text(prop, plain))
    kind = prop.type
    if kind in ("number", "integer"):
        return _number(text, whole=kind == "integer")
    if kind in ("boolean", "flag_or_quantity"):
        answers = {"yes": True, "no": False, "true": True, "false": False}
        if text in answers:
            return answers[text]
        if kind == "boolean":
            raise Refusal("", f'"{text}"', "yes or no")
        return spellings.quantity(text, prop.dimension)
    if kind == "signals":
        return _Signals(text).read()
    if kind == "number_list":
        cells = [_number(cell) for cell in _cells(text.replace("\n", ","))]
        return cells[0] if len(cells) == 1 else cells
    if kind == "items":
        names = _cells(text.replace("\n", ","))
        return names[0] if len(names) == 1 else names
    if kind == "place":
        return text.split()
    if kind == "days":
        return [day[:3].lower() for day in _cells(text.replace("\n", ","))]
    if kind == "intervals":
        return [
            [part.strip() for part in re.split(r"\s*(?:-|–|to)\s*", one)]
            for one in _cells(text.replace("\n", ","))
        ]
    if kind == "places":
        return [line.split() for line in _lines(text)]
    if kind in ("points", "table"):
        return [_row(prop, line, number) for number, line in enumerate(_lines(text), start=1)]
    if kind == "loops":
        return [_loop(line) for line in _lines(text)]
    if kind in _QUANTITIES:
        return spellings.quantity(text, *(_QUANTITIES[kind] or (prop.dimension,)))
    if kind == "surfaces":
        return [_surface(name, value) for name, value in _pairs(text)]
    if kind in ("rated", "heights"):
        known = {word.casefold(): part for part, word in parts.items()}
        pairs = [(known.get(name.casefold(), name), value) for name, value in _pairs(text)]
        return {name: _bare(prop, name, value) for name, value in pairs}
    if kind == "tube":
        return tube_from_text(text)
    return text


def tube_text(raw: Mapping[str, Any]) -> str:
    """`3/4 in Type L copper`, or `bore 20 mm, roughness 0.01 mm`."""
    if "material" in raw:
        return spoken(raw["material"], str(raw.get("size", "")))
    return ", ".join(f"{name} {value}" for name, value in raw.items())


def tube_from_text(text: str) -> dict[str, Any]:
    """Raises `Refusal` where the wall is not said."""
    first, _, rest = text.partition(" ")
    if first in ("bore", "roughness", "outside"):
        parts = (cell.partition(" ") for cell in _cells(text))
        return {name: spellings.quantity(value.strip(), "length") for name, _, value in parts}
    return spellings.tube(text) or {"material": first, "size": rest.strip()}


def pairs_text(raw: Mapping[str, Any]) -> str:
    """`name: value` lines."""
    return "\n".join(f"{name}: {value}" for name, value in raw.items())


def pairs_from_text(text: str) -> dict[str, str]:
    """Lines such as "A: 1" as names and what stands behind the colon."""
    return dict(_pairs(text))


def _map_text(prop: Property, raw: Mapping[str, Any]) -> str:
    if prop.type == "tube":
        return tube_text(raw)
    return pairs_text(raw)


def _list_text(prop: Property, raw: Sequence[Any]) -> str:
    if prop.type in ("points", "table"):
        return "\n".join(", ".join(str(cell) for cell in row) for row in raw)
    if prop.type == "loops":
        return "\n".join(f"{e[0]} x {e[1]}" if isinstance(e, (list, tuple)) else str(e) for e in raw)
    if prop.type == "surfaces":
        return "\n".join(_surface_text(one) for one in raw)
    if prop.type == "places":
        return "\n".join(" ".join(str(part) for part in place) for place in raw)
    if prop.type == "place":
        return " ".join(str(part) for part in raw)
    if prop.type == "intervals":
        return ", ".join(" to ".join(one) for one in raw)
    return ", ".join(str(cell) for cell in raw)


def ticks_of(text: str) -> tuple[str, tuple[Part, ...]] | None:
    """Signals as ticks; None where the text says more than ticks can, or cannot be read."""
    try:
        return ticked(_Signals(text).read()) if text.strip() else ticked(None)
    except Refusal:
        return None


def text_of_ticks(word: str, parts: tuple[Part, ...]) -> str:
    """Ticks as the field's text; nothing ticked leaves it empty."""
    value = of_ticks(word, parts)
    return "" if value is None else said(value)


def names_of(text: str) -> tuple[str, tuple[Part, ...]]:
    """A list of names as ticks."""
    return "any", tuple((name, False) for name in _cells(text))


def text_of_names(_word: str, parts: tuple[Part, ...]) -> str:
    """Ticks as a list of names."""
    return ", ".join(name for name, _ in parts)


class _Signals:
    """Reads `A or (B and not C)`; `any: A, B` and `all: A, B` too."""

    def __init__(self, text: str) -> None:
        lead = re.match(r"(any|all)\s*:", text)
        if lead:
            word = " or " if lead[1] == "any" else " and "
            text = word.join(cell for cell in re.split(r"[,\s]+", text[lead.end() :].strip()) if cell)
        self.text = text
        self.tokens = re.findall(r"[()]|[^\s(),]+", text)
        self.depth = 0

    def read(self) -> Any:
        value = self._joined()
        if self.tokens:
            self._refuse()
        return value

    def _joined(self) -> Any:
        parts, word = [self._single()], ""
        while self.tokens and self.tokens[0] in ("or", "and"):
            if word and self.tokens[0] != word:
                raise Refusal(
                    "", f'"{self.text}"', "parentheses where or and and meet", "Such as A or (B and C)."
                )
            word = self.tokens.pop(0)
            parts.append(self._single())
        if len(parts) == 1:
            return parts[0]
        return {"any" if word == "or" else "all": parts}

    def _single(self) -> Any:
        if not self.tokens or self.depth > 20:
            self._refuse()
        token = self.tokens.pop(0)
        if token == "not":
            return {"not": self._single()}
        if token == "(":
            self.depth += 1
            value = self._joined()
            self.depth -= 1
            if not self.tokens or self.tokens.pop(0) != ")":
                self._refuse()
            return value
        if token in (")", "or", "and"):
            self._refuse()
        return {"always": True, "never": False}.get(token, token)

    def _refuse(self) -> None:
        raise Refusal("", f'"{self.text}"', "signal names joined by or, and, not", "Such as AQ-1 or TH-2.")


def _number(text: str, whole: bool = False) -> float | int:
    if share := re.fullmatch(r"(.*?)\s*(?:%|percent|pct)", text):
        return parse_number(share[1]) / 100
    value = parse_number(text)
    if float(value).is_integer() and (whole or re.fullmatch(r"[+-]?\d+", text)):
        return int(value)
    return value


def _cells(text: str) -> list[str]:
    return [cell.strip() for cell in text.split(",") if cell.strip()]


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]


def _pairs(text: str) -> list[tuple[str, str]]:
    out: list[tuple[str, str]] = []
    for line in _lines(text):
        name, colon, value = line.partition(":")
        if not colon:
            raise Refusal("", f'"{line}"', "a name, a colon and a value", "Such as hot: 4 ft.")
        if any(name.strip() == other for other, _ in out):
            raise Refusal("", f'"{name.strip()}" twice', "each name once")
        out.append((name.strip(), value.strip()))
    return out


def _row(prop: Property, line: str, number: int) -> list[Any]:
    if len(_cells(line)) != len(prop.columns):
        wanted = " and ".join(words(dimension) for dimension in prop.columns)
        example = ", ".join(expectation(dimension).split('"')[1] for dimension in prop.columns)
        raise Refusal(
            "", f'line {number}: "{line}"', f"{wanted}, separated by a comma", f"Such as {example}."
        )
    cells = spellings.by_column(_cells(line), prop.columns)
    dimensions = [*prop.columns, *([""] * len(cells))]
    return [
        _number(cell) if dimension == "number" else cell
        for cell, dimension in zip(cells, dimensions, strict=False)
    ]


def _bare(prop: Property, name: str, value: str) -> Any:
    if prop.fields.get(name) == "number":
        return _number(value)
    return spellings.quantity(value, *spellings.of(prop.fields.get(name, prop.dimension)))


def _surface_text(raw: Mapping[str, Any]) -> str:
    """`wall: 140 ft2, 0.06 Btu/h/ft2/degF`, and `, beyond 60 degF` where its other side is not outdoors."""
    cells = [str(raw.get("area", "")), str(raw.get("u", raw.get("r", "")))]
    cells += [f"beyond {raw['beyond']}"] if "beyond" in raw else []
    return f"{raw.get('name', '')}: {', '.join(cells)}"


def _surface(name: str, text: str) -> dict[str, Any]:
    cells = _cells(text)
    expected = "area, u or r, and where it is not outdoors: beyond and a temperature"
    if not 2 <= len(cells) <= 3 or (len(cells) == 3 and not cells[2].startswith("beyond ")):
        raise Refusal("", f'"{name}: {text}"', expected, "Such as wall: 140 ft2, 0.06 Btu/h/ft2/degF.")
    area = spellings.quantity(cells[0], "area")
    passed = spellings.quantity(cells[1], "transmittance", "resistance")
    key = "r" if any(passed.endswith(unit) for unit in DIMENSIONS["resistance"]) else "u"
    surface: dict[str, Any] = {"name": name, "area": area, key: passed}
    if len(cells) == 3:
        surface["beyond"] = spellings.quantity(cells[2].removeprefix("beyond ").strip(), "temperature")
    return surface


def _loop(line: str) -> Any:
    counted = re.fullmatch(r"(\d+)\s*[x×]\s*(.+)", line)
    if counted:
        return [int(counted[1]), spellings.quantity(counted[2], "length")]
    return spellings.quantity(line, "length")
