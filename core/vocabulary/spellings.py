"""Spellings of the trade to those of the file: `110 °F`, `12 psig`, `6'`, `160 sq ft`, `3/4 copper L`.

The file stays strict; only fields and `wetside tidy` are patient, and take any other unit of the same kind
too: `2 yd` becomes `6 ft`. What has two meanings is not guessed: the text goes on as typed, and core says
what is wrong with it.
"""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from core import units
from core.errors import Refusal, value_text
from core.unit_table import UNITS

_AS_TYPED = re.compile(r"(?P<number>[+-]?[0-9.,/½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞ -]*[0-9.½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞])\s*(?P<unit>\S.*)?")
_DASHED = re.compile(r"(?<=\d)\s*-\s*(?=\d+\s*/)")
_FEET_AND_INCHES = re.compile(
    r"(\d+)\s*(?:'|ft\.?|feet|foot)\s*-?\s*([\d./ ½⅓⅔¼¾⅛⅜⅝⅞-]*[\d.½⅓⅔¼¾⅛⅜⅝⅞])\s*(?:\"|in\.?|inch|inches)?"
)
_HOURS_AND_MINUTES = re.compile(r"(\d+)\s*(?:h|hr|hrs|hour|hours)\s*(\d+)\s*(?:m|min|minutes)\.?")
_R_VALUE = re.compile(r"[Rr]\s*-?\s*(\d+(?:\.\d+)?)")
_GROUPED = re.compile(r"[+-]?[1-9][0-9]{0,2}(,[0-9]{3})+(\.[0-9]+)?")
_DECIMAL_COMMA = re.compile(r"[+-]?(?:[0-9]+|[1-9][0-9]{0,2}(?:\.[0-9]{3})+),[0-9]+")
_SIGNS = str.maketrans(
    {"²": "2", "³": "3", "·": "*", "⋅": "*", "º": "°", "˚": "°", "″": '"', "′": "'"}
    | {"”": '"', "“": '"', "’": "'", "−": "-", "\u00a0": " ", "\u202f": " "}
)
_BLANKS = re.compile(r"[+-]?[1-9][0-9]{0,2}(?:[ '][0-9]{3})+(?![0-9/'\"])")
"""Thousands grouped by blanks or apostrophes: `64 000`, `64'000`."""

# Not those of which one alone would read as several: 1 day, 1 therm.
_FILE_UNITS = re.compile(
    r"(?<=[\d.½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞] )(?:"
    + "|".join(
        re.escape(name)
        for name in sorted(UNITS, key=len, reverse=True)
        if UNITS[name].sign != name and name not in ("day", "therm")
    )
    + r")(?![\w/*])"
)
_FILE_WORDS = re.compile(_FILE_UNITS.pattern.replace(r"(?<=[\d.½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞] )", r"(?<![\w/*])"))
_MERE_DEGREES = ("°", "deg", "degree", "degrees")
# A ton of refrigeration is 12,000 Btu/h by definition.
_MANIFOLD: dict[str, dict[str, tuple[float, str]]] = {
    "power": dict.fromkeys(("ton", "tons", "tr"), (12.0, "kBtu/h")),
}
_FOLDS = (
    (r"btuh(?![a-z])", "btu/h"),
    (r"(?<![a-z])(hr|hour)s?(?![a-z])", "h"),
    (r"squarefeet|squarefoot|sqft|(?<![a-z])sf(?![a-z])|ft\^2", "ft2"),
    (r"(?<=/)(°f|degf|δ°f)", "f"),
    (r"(?<=\*)(°f|degf|δ°f)", "f"),
    (r"(?<=-)(°f|degf)", "f"),
    (r"(?<=/)(°c|degc)", "k"),
)
_FOOT = ("'", "foot", "feet", "ft.", "lf")
_FAHRENHEIT = ("°f", "f", "degf", "degreef", "degreesf", "fahrenheit")
_CELSIUS = ("°c", "c", "degc", "degreec", "degreesc", "celsius")
# Folded to small letters, without blanks. MBtu is left out: a thousand to some, a million to others.
_ALSO: dict[str, dict[str, tuple[str, ...]]] = {
    "flow": {
        "gpm": ("gal/min", "gallon/min", "gallons/min", "usgpm", "gals/min", "gallons/minute"),
        "L/s": ("lps", "liter/s", "litre/s"),
        "L/min": ("lpm", "liter/min", "litre/min"),
        "L/h": ("lph", "l/hr"),
        "m3/h": ("m^3/h", "m3/hr", "cmh"),
    },
    "volume": {
        "gal": ("gallon", "gallons", "usgal"),
        "L": ("liter", "litre", "liters", "litres", "ltr", "ltrs"),
        "m3": ("m^3",),
    },
    "length": {
        "in": ('"', "''", "inch", "inches", "ins"),
        "ft": _FOOT,
        "m": ("meter", "metre", "meters", "metres"),
    },
    "area": {"ft2": ("sqft", "sf", "ft^2", "squarefeet"), "m2": ("sqm", "m^2")},
    "pressure": {"psi": ("psig", "lb/in2", "lbf/in2", "pounds", "lbs", "lb", "#")},
    "head": {
        "ft_head": ("ft", "fthd", "fthead", "ftofhead", "feetofhead", "feethead", *_FOOT),
        "m_head": ("m", "mhd", "mhead", "mofhead", "meter", "metre", "meters", "metres"),
    },
    "power": {"Btu/h": ("btuh", "btu/hr"), "kBtu/h": ("kbtuh", "kbtu/hr"), "kW": (), "W": ("watt", "watts")},
    "heat_per_kelvin": {"Btu/h/degF": ("btu/h/°f", "btu/h/f", "btu/hr/°f"), "W/K": ("w/°c",)},
    "flux": {"Btu/h/ft2": ("btu/hr/ft2", "btuh/ft2", "btu/h/sqft", "btuh/sqft"), "W/m2": ("w/m^2",)},
    "conductivity": {
        "W/m/K": ("w/mk", "w/(mk)", "w/m*k", "w/(m*k)"),
        "Btu/h/ft/degF": ("btu/h/ft/°f", "btu/hr/ft/°f"),
    },
    "temperature": {"degF": _FAHRENHEIT, "degC": _CELSIUS},
    "temperature_difference": {
        "delta_degF": (*_FAHRENHEIT, "f°", "δ°f", "δf", "°fδ"),
        "delta_degC": (*_CELSIUS, "c°", "δ°c", "δc", "°cδ"),
    },
    "velocity": {"ft/s": ("fps", "ft/sec", "feet/second", "feet/sec"), "mph": ("mi/h",), "km/h": ("kmh",)},
    "time": {
        "s": ("sec", "secs", "second", "seconds"),
        "min": ("minute", "minutes", "m", "mins"),
        "h": ("hr", "hrs", "hour", "hours"),
        "day": ("days", "d"),
    },
    "current": {"A": ("amp", "amps")},
    "voltage": {"V": ("volt", "volts")},
    "percent": {"percent": ("%",)},
    "heat_storage": {"Btu/degF": ("btu/°f", "btu/f")},
    "transmittance": {
        "Btu/h/ft2/degF": ("btu/h/ft2/f", "btu/hr/ft2/°f", "btu/h/ft2/°f"),
        "W/m2/K": ("w/m2k", "w/(m2k)", "w/(m2*k)"),
    },
    "resistance": {
        "ft2*h*degF/Btu": (
            *("ft2hdegf/btu", "ft2*h*f/btu", "ft2*h*°f/btu", "h*ft2*f/btu", "ft2*f*h/btu"),
            *("h*f*ft2/btu", "ft2hf/btu", "hft2f/btu", "hft2°f/btu"),
        ),
        "m2*K/W": ("m2k/w",),
    },
    "degree_days": {
        "degF*day": ("°f*days", "°fdays", "f*days", "°f-days", "f-days", "°f-day", "°fday"),
        "K*day": ("k*days", "°c*days", "kdays"),
    },
    "snowfall": {"in/h": ("in/hr",), "mm/h": ("mm/hr",)},
}


def without_commas(number: str, system: str) -> str | None:
    """A number with its commas read: a dot for a decimal comma, nothing for those that group thousands.

    Parameters
    ----------
    number : str
        With at least one comma
    system : str
        "us": a comma before exactly three digits groups thousands; else it may be either

    Returns
    -------
    str or None
        None where nobody can tell, or where it is no number

    Examples
    --------
    >>> [without_commas(n, "us") for n in ("64,000", "1,5", "1,234.5", "1.234,5", "0,125")]
    ['64000', '1.5', '1234.5', '1234.5', '0.125']
    >>> without_commas("64,000", "si") is None, without_commas("1,234,567", "si")
    (True, '1234567')
    """
    grouped = _GROUPED.fullmatch(number)
    if grouped and ("." in number or number.count(",") > 1 or system == "us"):
        return number.replace(",", "")
    if grouped:
        return None
    if _DECIMAL_COMMA.fullmatch(number):
        return number.replace(".", "").replace(",", ".")
    return None


def ask_of_comma(text: str, system: str, path: str = "") -> None:
    """Refuse a number whose comma may group thousands or part decimals, with the question which."""
    number = number_of(text)
    if "," not in number or without_commas(number, system) is not None:
        return
    if without_commas(number, "us") is not None:
        rest = text.strip()[len(number) :]
        whole, parted = number.replace(",", ""), number.replace(",", ".")
        asked = f'Is it "{whole}{rest}" or "{parted}{rest}"? Write the one that is meant'
        raise Refusal(path, value_text(text), "a number without that comma", asked)


def quantity(text: str, *dimensions: str | None, system: str = "", bare: str = "") -> str:
    """The text as the file wants it, by the first of the dimensions that has a trade spelling for it.

    Any other text comes back unchanged; so does a number with a comma that may mean two things.
    `system` as of `without_commas`; `bare` is the unit that a number without one takes.
    """
    plain = ungrouped(text)
    known = [dimension for dimension in dimensions if dimension in units.DIMENSIONS]
    if bare and plain and (number := _bare_number(plain, known)):
        text = f"{number} {bare}"
        plain = text.translate(_SIGNS)
    parts = _AS_TYPED.fullmatch(plain)
    if known and (said := _in_two_units(plain, known, system)):
        return said
    if any(_reads(text.strip(), dimension) for dimension in known):
        return text
    if parts is None or not known:
        return text
    if any(_reads(plain, dimension) for dimension in known):
        return plain
    number = _DASHED.sub(" ", parts["number"].strip().rstrip("-").strip())
    if "," in number:
        number = without_commas(number, system) or ""
        if not number:
            return text
        plain = f"{number} {parts['unit'] or ''}".strip()
        if any(_reads(plain, dimension) for dimension in known):
            return plain
    unit = _folded(parts["unit"] or "")
    for dimension in known:
        name = _spellings(dimension).get(unit)
        if name is not None:
            return f"{number} {name}"
        if unit in _MANIFOLD.get(dimension, {}):
            factor, name = _MANIFOLD[dimension][unit]
            return f"{factor * units.parse_number(number):g} {name}"
    return next(filter(None, (_foreign(f"{number} {parts['unit'] or ''}", each) for each in known)), text)


def spoken(words: str) -> str:
    """A sentence with its units as a person reads them, those without a number too: degF is °F."""
    return _FILE_WORDS.sub(lambda found: units.sign_of(found[0]), words)


def ungrouped(text: str) -> str:
    """Signs as the grammar knows them, thousands without the blanks or apostrophes that group them."""
    plain = text.strip().translate(_SIGNS)
    plain = re.sub(r"^minus\s+(?=[\d.])", "-", plain, flags=re.IGNORECASE)
    return _BLANKS.sub(lambda found: found[0].replace(" ", "").replace("'", ""), plain, count=1)


def _bare_number(plain: str, known: list[str]) -> str:
    """A number without a unit, or with one that says less than the field knows: `150°`, `80k` of heat."""
    number = number_of(plain)
    rest = plain[len(number) :].strip().lower().rstrip(".") if number else "?"
    if not rest:
        return number
    if rest in _MERE_DEGREES and any(each.startswith("temperature") for each in known):
        return number
    if rest == "k" and known == ["power"] and re.fullmatch(r"\d+(\.\d+)?", number):
        return f"{1000 * float(number):g}"
    return ""


def _in_two_units(plain: str, known: list[str], system: str) -> str:
    """Feet and inches, hours and minutes, an R-value; "" for anything else."""
    if "length" in known and (both := _FEET_AND_INCHES.fullmatch(plain)):
        inches = _DASHED.sub(" ", both[2].strip())
        try:
            return f"{12 * units.parse_number(both[1]) + units.parse_number(inches):g} in"
        except Refusal:
            return ""
    if "time" in known and (both := _HOURS_AND_MINUTES.fullmatch(plain.lower())):
        return f"{60 * int(both[1]) + int(both[2])} min"
    if "resistance" in known and system != "si" and (value := _R_VALUE.fullmatch(plain)):
        return f"{value[1]} ft2*h*degF/Btu"
    return ""


def readable(text: str) -> str:
    """Units as they stand on screen and paper: `110 degF` is `110 °F`. Each is read back by `quantity`."""
    return _FILE_UNITS.sub(lambda found: units.sign_of(found[0]), text)


def by_column(cells: list[str], columns: tuple[str, ...]) -> list[str]:
    """Cells of a row, each in the words of its column."""
    return [quantity(cell, *of(columns[i])) if i < len(columns) else cell for i, cell in enumerate(cells)]


def of(dimension: str | None) -> tuple[str, ...]:
    """Dimensions that a word of the vocabulary stands for: a lift may be a head or a pressure."""
    if dimension is None or dimension == "number":
        return ()
    return ("head", "pressure") if dimension == "lift" else (dimension,)


def tube(text: str) -> dict[str, Any] | None:
    """Material and size in either order: `1/2 pex`, `3/4" copper L`; None where no material is named."""
    words = re.sub(r"[\s,_]+", " ", text.strip().lower())
    for spelling, material in _materials().items():
        found = re.search(rf"(?<![a-z]){re.escape(spelling)}(?![a-z0-9])", words)
        if found:
            rest = f"{words[: found.start()]} {words[found.end() :]}".replace(" tube", " ").replace(
                " pipe", " "
            )
            return {"material": material, "size": size(material, " ".join(rest.split()))}
    if "copper" in words or "steel" in words:
        metal = "Type K, L or M" if "copper" in words else "Schedule 40 or 80"
        raise Refusal("", f'"{text}"', f"the wall too: {metal}", "Such as 3/4 in Type L copper.")
    return None


def size(material: str, text: str) -> str:
    """A size with its unit, as typed where the catalogue reads it; else left as it is, for core to refuse."""
    from core.media.tubes import tube_of

    try:
        found = tube_of(material, text)
    except Refusal:
        return text
    return text.replace("-", " ") if text.endswith((" in", "mm")) else found.nominal


def material(text: str) -> str:
    """A material as the catalogue names it; unchanged where it knows none of that name."""
    folded = re.sub(r"[\s_]+", " ", text.strip().lower())
    return _materials().get(folded, text)


def number_of(text: str) -> str:
    """The number that a quantity begins with, as typed; empty where it begins with none."""
    plain = text.strip().translate(_SIGNS)
    parts = _AS_TYPED.fullmatch(plain)
    return parts["number"].strip() if parts else ""


@cache
def _materials() -> dict[str, str]:
    """Spellings of all materials, the longest first."""
    from core.media.tubes import material_of, materials

    found: dict[str, str] = {}
    for name in materials():
        words = name.replace("_", " ")
        found |= {words: name, words.replace(" ", ""): name, material_of(name).words.lower(): name}
        stem, _, kind = words.partition(" ")
        if stem == "copper" and len(kind) == 1:
            found |= {f"type {kind} copper": name, f"copper type {kind}": name, f"{kind} copper": name}
        if stem == "steel":
            found |= {f"sch {kind} steel": name, f"schedule {kind} steel": name, f"steel sch {kind}": name}
            found[f"steel schedule {kind}"] = name
    return dict(sorted(found.items(), key=lambda entry: -len(entry[0])))


def _reads(text: str, dimension: str) -> bool:
    try:
        units.parse(text, dimension)
    except Refusal:
        return False
    return True


def _foreign(text: str, dimension: str) -> str | None:
    """What stands in any other unit there is, in one of the file's."""
    try:
        return units.in_known_unit(text, dimension)
    except Refusal:
        return None


def _folded(unit: str) -> str:
    """Small letters without blanks and dots; `per` and brackets as strokes: `Btu/(h*°F)` is `btu/h/°f`."""
    plain = re.sub(r"[\s.]+", "", unit).lower().lstrip("-")
    plain = re.sub(r"(?<=[a-z0-9])per(?!cent)", "/", plain)
    for pattern, said in _FOLDS:
        plain = re.sub(pattern, said, plain)
    over, stroke, under = plain.partition("/")
    return over + stroke + re.sub(r"[*()/-]+", "/", under).strip("/")


@cache
def _spellings(dimension: str) -> dict[str, str]:
    """Folded spelling to the unit's name; the closed list's own names in any letters among them."""
    out: dict[str, str] = {}
    for name in units.DIMENSIONS[dimension]:
        out[_folded(name)] = name
        out[_folded(units.sign_of(name).translate(_SIGNS))] = name
    for name, words in _ALSO.get(dimension, {}).items():
        out |= {_folded(word): name for word in words}
    return out
