"""A loosely typed plant file made strict: the trade's spellings of units and numbers as the file wants them.

Looks only where a quantity or number stands; all else is left for the reader to take or refuse.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, NamedTuple

from core import units
from core.errors import Refusal, value_text
from core.vocabulary import KINDS, UNKNOWN, Property, spellings
from core.vocabulary.document import CASE, FLUID, INSULATION, PIPE, SITE, SYSTEM
from core.vocabulary.values import under

_DIMENSIONS = {"lift": ("head", "pressure"), "target": ("temperature_difference", "head", "pressure")}
_TUBE = {"bore": ("length",), "roughness": ("length",), "outside": ("length",)}
_SURFACE = {
    "area": ("area",),
    "u": ("transmittance",),
    "r": ("resistance",),
    "beyond": ("temperature",),
}


class Respelled(NamedTuple):
    """One value that was spelled anew: its place, as it stood and as it stands."""

    path: str
    before: str
    after: str


def tidied(data: Any) -> tuple[Any, tuple[Respelled, ...]]:
    """JSON data of a plant file with its quantities spelled strictly, and what was spelled anew.

    Raises
    ------
    Refusal
        A number whose comma may group thousands or part decimals, with the question which
    """
    if not isinstance(data, Mapping):
        return data, ()
    tidy = _Tidy("si" if data.get("units") == "si" else "us")
    return tidy.plant(data), tuple(tidy.respelled)


class _Tidy:
    def __init__(self, system: str) -> None:
        self.system = system
        self.respelled: list[Respelled] = []
        self.kinds: dict[str, str] = {}

    # single values -----------------------------------------------------------------------------------------

    def quantity(self, raw: Any, path: str, *dimensions: str) -> Any:
        if isinstance(raw, Mapping) and "guess" in raw:
            within = raw.get("within")
            if isinstance(within, str):
                within = self.quantity(within, f"{path}.within", "temperature_difference")
            guess = self.quantity(raw["guess"], f"{path}.guess", *dimensions)
            return {**raw, "guess": guess, **({"within": within} if "within" in raw else {})}
        if not isinstance(raw, str) or raw == UNKNOWN:
            return raw
        spellings.ask_of_comma(raw, self.system, path)
        fresh = spellings.quantity(raw, *dimensions, system=self.system)
        return self._kept(raw, fresh, path)

    def number(self, raw: Any, path: str) -> Any:
        if not isinstance(raw, str):
            return raw
        spellings.ask_of_comma(raw, self.system, path)
        plain = raw.strip().removesuffix("%").strip()
        if "," in plain:
            plain = spellings.without_commas(plain, self.system) or plain
        try:
            value = units.parse_number(plain)
        except Refusal:
            return raw
        value = value / 100.0 if raw.strip().endswith("%") else value
        fresh = int(value) if float(value).is_integer() else value
        self.respelled.append(Respelled(path, value_text(raw), value_text(fresh)))
        return fresh

    def _kept(self, raw: str, fresh: str, path: str) -> str:
        if fresh != raw:
            self.respelled.append(Respelled(path, value_text(raw), value_text(fresh)))
        return fresh

    def fields(self, raw: Any, path: str, dimensions: Mapping[str, tuple[str, ...]]) -> Any:
        """An object some of whose keys hold quantities."""
        if not isinstance(raw, Mapping):
            return raw
        return {
            key: self.quantity(value, under(path, str(key)), *dimensions[key]) if key in dimensions else value
            for key, value in raw.items()
        }

    def each(self, raw: Any, path: str, one: Callable[[Any, str], Any]) -> Any:
        """A list, or the values of an object, each by a function."""
        if isinstance(raw, list):
            return [one(value, f"{path}[{number}]") for number, value in enumerate(raw)]
        if isinstance(raw, Mapping):
            return {key: one(value, under(path, str(key))) for key, value in raw.items()}
        return raw

    def each_of(self, raw: Any, path: str, *dimensions: str) -> Any:
        return self.each(raw, path, lambda value, place: self.quantity(value, place, *dimensions))

    # properties of the vocabulary --------------------------------------------------------------------------

    def property(self, prop: Property, raw: Any, path: str) -> Any:
        match prop.type:
            case "quantity" | "flag_or_quantity" | "number_or_quantity" | "lift" | "target":
                return self.quantity(raw, path, *_DIMENSIONS.get(prop.type, (prop.dimension or "",)))
            case "number" | "integer":
                return self.number(raw, path)
            case "number_list":
                return self.each(raw, path, self.number) if isinstance(raw, list) else self.number(raw, path)
            case "points" | "table":
                return self.each(raw, path, lambda row, place: self._row(prop, row, place))
            case "rated":
                dimensions = {key: spellings.of(one) for key, one in prop.fields.items()}
                return self.fields(raw, path, {key: one for key, one in dimensions.items() if one})
            case "heights" | "quantities":
                return self.each_of(raw, path, prop.dimension or "")
            case "quantities_by_tap":
                return self.each(raw, path, partial(self._by_tap, prop))
            case "loops":
                return self.each(raw, path, self._loop)
            case "surfaces":
                return self.each(raw, path, lambda one, place: self.fields(one, place, _SURFACE))
            case "tube":
                return self.tube(raw, path)
            case "fluid":
                return self.named(FLUID, raw, path)
            case "insulation":
                return self.named(INSULATION, raw, path)
            case "case_set":
                return self._set(raw, path)
        return raw

    def named(self, table: Mapping[str, Property], raw: Any, path: str) -> Any:
        """An object of properties, those that a table names."""
        if not isinstance(raw, Mapping):
            return raw
        return {
            name: self.property(table[name], value, under(path, str(name))) if name in table else value
            for name, value in raw.items()
        }

    def _row(self, prop: Property, raw: Any, path: str) -> Any:
        if not isinstance(raw, list) or len(raw) != len(prop.columns):
            return raw
        return [
            self.number(cell, f"{path}[{n}]")
            if column == "number"
            else self.quantity(cell, f"{path}[{n}]", *spellings.of(column))
            for n, (column, cell) in enumerate(zip(prop.columns, raw, strict=True))
        ]

    def _by_tap(self, prop: Property, raw: Any, path: str) -> Any:
        dimension = prop.dimension or ""
        by_tap = isinstance(raw, Mapping) and "guess" not in raw
        return self.each_of(raw, path, dimension) if by_tap else self.quantity(raw, path, dimension)

    def _loop(self, raw: Any, path: str) -> Any:
        if isinstance(raw, list) and len(raw) == 2:
            return [self.number(raw[0], f"{path}[0]"), self.quantity(raw[1], f"{path}[1]", "length")]
        return self.quantity(raw, path, "length")

    def tube(self, raw: Any, path: str) -> Any:
        if isinstance(raw, str):
            return spellings.tube(raw) or raw
        if isinstance(raw, Mapping) and isinstance(raw.get("size"), str):
            material, size = spellings.material(str(raw.get("material", ""))), raw["size"]
            fresh = self._kept(size, spellings.size(material, size), under(path, "size"))
            named = self._kept(str(raw.get("material", "")), material, under(path, "material"))
            return {**raw, "material": named, "size": fresh}
        return self.fields(raw, path, _TUBE)

    # the parts of a plant ----------------------------------------------------------------------------------

    def plant(self, data: Mapping[str, Any]) -> dict[str, Any]:
        readers: dict[str, Callable[[Any, str], Any]] = {
            "site": lambda raw, path: self.named(SITE, raw, path),
            "systems": lambda raw, path: self.each(raw, path, partial(self.named, SYSTEM)),
            "items": lambda raw, path: self.each(raw, path, self._item),
            "pipes": lambda raw, path: self.each(raw, path, partial(self.named, PIPE)),
            "cases": lambda raw, path: self.each(raw, path, partial(self.named, CASE)),
            "curves": lambda raw, path: self.each(raw, path, self._curve),
            "profiles": lambda raw, path: self.each(raw, path, self._profile),
            "runs": lambda raw, path: self.each(raw, path, self._run),
        }
        return {key: readers[key](raw, key) if key in readers else raw for key, raw in data.items()}

    def _item(self, raw: Any, path: str) -> Any:
        if not isinstance(raw, Mapping):
            return raw
        kind, props = raw.get("kind"), raw.get("props")
        self.kinds[str(raw.get("id"))] = str(kind)
        if kind not in KINDS or not isinstance(props, Mapping):
            return raw
        return {**raw, "props": self.named(KINDS[str(kind)].properties, props, f"{path}.props")}

    def _set(self, raw: Any, path: str) -> Any:
        if not isinstance(raw, Mapping):
            return raw
        kinds = {name: KINDS.get(self.kinds.get(name, "")) for name in raw}
        return {
            name: self.named(PIPE if kind is None else kind.properties, raw[name], under(path, name))
            for name, kind in kinds.items()
        }

    def _curve(self, raw: Any, path: str) -> Any:
        if not isinstance(raw, Mapping):
            return raw
        prop = next(kind.properties["curve"] for kind in KINDS.values() if "curve" in kind.properties)
        return {
            key: self.property(prop, value, under(path, key)) if isinstance(value, list) else value
            for key, value in raw.items()
        }

    def _profile(self, raw: Any, path: str) -> Any:
        if not isinstance(raw, Mapping) or not isinstance(raw.get("points"), list):
            return raw

        def point(row: Any, place: str) -> Any:
            if not isinstance(row, list) or len(row) != 2:
                return row
            return [row[0], self.quantity(row[1], f"{place}[1]", "flow", "power")]

        return {**raw, "points": self.each(raw["points"], f"{path}.points", point)}

    def _run(self, raw: Any, path: str) -> Any:
        if not isinstance(raw, Mapping):
            return raw
        found = dict(raw)
        weather = {"low": ("temperature",), "high": ("temperature",)}
        limits = dict.fromkeys(("longest_call", "shortest_run", "wait"), ("time",))
        for key, dimensions in (("weather", weather), ("limits", limits)):
            if key in found:
                found[key] = self.fields(found[key], under(path, key), dimensions)
        if "start" in found:
            found["start"] = self.each_of(found["start"], under(path, "start"), "temperature")
        return found
