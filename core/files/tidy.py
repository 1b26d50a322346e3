"""A loosely typed plant file made strict: the trade's spellings of units and numbers as the file wants them.

Looks only where a quantity or number stands; all else is left for the reader to take or refuse.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from core import units
from core.errors import Refusal, value_text
from core.plant.model import FLUID_DIMENSIONS, SITE_DEFAULTS, SITE_SNOW
from core.vocabulary import KINDS, UNKNOWN, Property, spellings
from core.vocabulary.values import under

_DIMENSIONS = {"lift": ("head", "pressure"), "target": ("temperature_difference", "head", "pressure")}
_PIPE = {"length": ("length",), "straight": ("length",), "around": ("temperature",)}
_TUBE = {"bore": ("length",), "roughness": ("length",), "outside": ("length",)}
_INSULATION = {"thickness": ("length",), "conductivity": ("conductivity",), "loss": ("conductivity",)}
_SURFACE = {
    "area": ("area",),
    "u": ("transmittance",),
    "r": ("resistance",),
    "beyond": ("temperature",),
}
_SITE = {key: ("length" if key == "altitude" else "temperature",) for key in SITE_DEFAULTS} | {
    key: (dimension,) for key, (dimension, _, _) in SITE_SNOW.items()
}
_FLUID = {key: (dimension,) for key, dimension in FLUID_DIMENSIONS.items()} | {"expansion": ("expansion",)}
_CASE = {"outdoor": ("temperature",), "lasts": ("time",)}


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
        self._ask(raw, path)
        fresh = spellings.quantity(raw, *dimensions, system=self.system)
        return self._kept(raw, fresh, path)

    def number(self, raw: Any, path: str) -> Any:
        if not isinstance(raw, str):
            return raw
        self._ask(raw, path)
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

    def _ask(self, raw: str, path: str) -> None:
        """Refuse a comma that may mean two things."""
        number = spellings.number_of(raw)
        either = "," in number and spellings.without_commas(number, self.system) is None
        if either and spellings.without_commas(number, "us") is not None:
            rest = raw.strip()[len(number) :]
            whole, parted = number.replace(",", ""), number.replace(",", ".")
            asked = f'Is it "{whole}{rest}" or "{parted}{rest}"? Write the one that is meant'
            raise Refusal(path, value_text(raw), "a number without that comma", asked)

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
            case "quantity" | "flag_or_quantity" | "lift" | "target":
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
            case "heights":
                return self.each_of(raw, path, "length")
            case "loops":
                return self.each(raw, path, self._loop)
            case "surfaces":
                return self.each(raw, path, lambda one, place: self.fields(one, place, _SURFACE))
            case "tube":
                return self.tube(raw, path)
        return raw

    def _row(self, prop: Property, raw: Any, path: str) -> Any:
        if not isinstance(raw, list) or len(raw) != len(prop.columns):
            return raw
        return [
            self.number(cell, f"{path}[{n}]")
            if column == "number"
            else self.quantity(cell, f"{path}[{n}]", *spellings.of(column))
            for n, (column, cell) in enumerate(zip(prop.columns, raw, strict=True))
        ]

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
            "site": lambda raw, path: self.fields(raw, path, _SITE),
            "systems": lambda raw, path: self.each(raw, path, self._system),
            "items": lambda raw, path: self.each(raw, path, self._item),
            "pipes": lambda raw, path: self.each(raw, path, self._pipe),
            "cases": lambda raw, path: self.each(raw, path, self._case),
            "curves": lambda raw, path: self.each(raw, path, self._curve),
            "profiles": lambda raw, path: self.each(raw, path, self._profile),
            "runs": lambda raw, path: self.each(raw, path, self._run),
        }
        return {key: readers[key](raw, key) if key in readers else raw for key, raw in data.items()}

    def _system(self, raw: Any, path: str) -> Any:
        found = self.fields(raw, path, {"fill_pressure": ("pressure",)})
        if isinstance(found, dict) and "fluid" in found:
            found["fluid"] = self.fields(found["fluid"], under(path, "fluid"), _FLUID)
        return found

    def _item(self, raw: Any, path: str) -> Any:
        if not isinstance(raw, Mapping):
            return raw
        kind, props = raw.get("kind"), raw.get("props")
        self.kinds[str(raw.get("id"))] = str(kind)
        if kind not in KINDS or not isinstance(props, Mapping):
            return raw
        return {**raw, "props": self._props(str(kind), props, f"{path}.props")}

    def _props(self, kind: str, props: Mapping[str, Any], path: str) -> dict[str, Any]:
        known = KINDS[kind].properties
        return {
            name: self.property(known[name], value, under(path, name)) if name in known else value
            for name, value in props.items()
        }

    def _pipe(self, raw: Any, path: str) -> Any:
        found = self.fields(raw, path, _PIPE)
        if isinstance(found, dict):
            if "tube" in found:
                found["tube"] = self.tube(found["tube"], f"{path}.tube")
            if "insulation" in found:
                found["insulation"] = self.fields(found["insulation"], f"{path}.insulation", _INSULATION)
            if "k" in found:
                found["k"] = self.number(found["k"], f"{path}.k")
        return found

    def _case(self, raw: Any, path: str) -> Any:
        found = self.fields(raw, path, _CASE)
        if not isinstance(found, dict):
            return found
        for key, dimension in (("draws", "flow"), ("start", "temperature")):
            if key in found:
                found[key] = self.each_of(found[key], under(path, key), dimension)
        if "tanks" in found:
            found["tanks"] = self.each(found["tanks"], under(path, "tanks"), self._given_tank)
        if isinstance(found.get("set"), Mapping):
            found["set"] = {name: self._set(name, one, f"{path}.set") for name, one in found["set"].items()}
        return found

    def _given_tank(self, raw: Any, path: str) -> Any:
        if isinstance(raw, Mapping):
            return self.each_of(raw, path, "temperature")
        return self.quantity(raw, path, "temperature")

    def _set(self, name: str, raw: Any, path: str) -> Any:
        place = under(path, name)
        if not isinstance(raw, Mapping):
            return raw
        kind = self.kinds.get(name)
        return self._props(kind, raw, place) if kind in KINDS and kind else self._pipe(raw, place)

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
