"""Catalogue of tubes: bore, outside and roughness by material and trade size.

Sizes are names, not lengths: a "3/4 in" copper tube has another bore than a "3/4 in" steel pipe. They may be
written as a fitter writes them: "1 1/4 in", "1-1/4in", "1.25 in", "1¼\\"", "22 mm", "22x1". Where a metric
tube is made with several walls and only the outside is given, the usual wall is taken (marked in tubes.csv).

A tube given by its bore alone counts as drawn tube (0.0015 mm), and without `outside` has no wall.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from core.errors import Refusal, WetsideError
from core.media.catalogue import nearest_word, read_rows
from core.units import parse_number

MILLIMETRE = 1e-3  # [m]
LISTED = 12  # sizes named in a refusal


@dataclass(frozen=True)
class Tube:
    """One tube of the catalogue; bore, outside diameter and roughness in [m]."""

    material: str
    nominal: str
    bore: float
    outside: float
    roughness: float
    source: str


@dataclass(frozen=True)
class TubeMaterial:
    """A family of tubes: name in files, words, inch or metric, roughness of the bore [m], its source."""

    name: str
    words: str
    family: str
    roughness: float
    roughness_source: str


@dataclass(frozen=True)
class _Size:
    """A size by number: nominal inches or outside millimetres, and the wall in millimetres if written."""

    across: float
    wall: float | None


def materials() -> tuple[str, ...]:
    """Names of the tube materials, in the order of the catalogue."""
    return tuple(_materials())


@lru_cache(maxsize=1024)
def spoken(material: str, size: str = "") -> str:
    """A tube as a fitter names it.

    Examples
    --------
    >>> spoken("copper_l", "1 1/4 in"), spoken("steel_40"), spoken("pex", "1/2 in")
    ('1-1/4 in Type L copper', 'Schedule 40 steel', '1/2 in PEX')
    """
    known = _materials().get(material)
    return f"{dashed(size)} {known.words if known else material}".strip()


@lru_cache(maxsize=1024)
def dashed(size: str) -> str:
    """`1 1/4 in` as it is written in the trade: `1-1/4 in`."""
    return re.sub(r"(?<=\d) (?=\d+/\d)", "-", size)


def material_of(name: str) -> TubeMaterial:
    """The family of tubes of that name; refused with the nearest name where there is none."""
    found = _materials().get(name)
    if found is None:
        raise Refusal(
            "tube.material", name, f"one of {', '.join(materials())}", nearest_word(name, materials())
        )
    return found


def sizes(material: str) -> tuple[str, ...]:
    """Trade sizes of a material from small to large, as the catalogue writes them."""
    return tuple(tube.nominal for tube in _tubes(material_of(material).name))


@lru_cache(maxsize=4096)
def tube_of(material: str, size: str) -> Tube:
    """The tube of that material and trade size.

    Parameters
    ----------
    material : str
        One of materials()
    size : str
        Trade size, in any common spelling

    Raises
    ------
    Refusal
        Unknown material, or a size it is not made in: then the known sizes are listed, the nearest first
    """
    family = material_of(material)
    tubes = _tubes(material)
    wanted = _read_size(size, family.family)
    if wanted is None:
        raise Refusal("tube.size", size, f"a size of {material} such as {tubes[len(tubes) // 2].nominal}")
    fitting = _matching(material, wanted)
    if fitting is None:
        nearest = sorted(tubes, key=lambda tube: _distance(tube, family.family, wanted))
        words = ", ".join(tube.nominal for tube in nearest[:LISTED]) + (" …" if len(nearest) > LISTED else "")
        raise Refusal("tube.size", size, f"a size of {material}, nearest first: {words}")
    return fitting


def _matching(material: str, wanted: _Size) -> Tube | None:
    family = _materials()[material].family
    same = [tube for tube in _tubes(material) if _distance(tube, family, wanted) < 1e-6]
    if wanted.wall is not None or family == "inch":
        return same[0] if same else None
    return next((tube for tube in same if tube.nominal in _usual(material)), None)


def _distance(tube: Tube, family: str, wanted: _Size) -> float:
    """How far a tube's size lies from the wanted one; the wall counts little beside the size itself."""
    own = _read_size(tube.nominal, family)
    assert own is not None, f"the catalogue's own size {tube.nominal} cannot be read"
    wall = 0.0 if wanted.wall is None or own.wall is None else abs(own.wall - wanted.wall)
    return abs(own.across - wanted.across) + 0.01 * wall


@lru_cache(maxsize=4096)
def _read_size(text: str, family: str) -> _Size | None:
    """The size in a text, or None where it is not one of this family (inch sizes never mean millimetres)."""
    plain = text.strip().lower().replace("″", '"').replace("×", "x")
    unit = re.search(r"(inches|inch|in\.?|\"|mm)$", plain)
    if unit:
        if (unit.group() == "mm") != (family == "metric"):
            return None
        plain = plain[: unit.start()].rstrip(" -")
    parts = [part.strip() for part in plain.split("x")]
    if len(parts) > (2 if family == "metric" else 1):
        return None
    try:
        numbers = [parse_number(re.sub(r"(?<=\d)\s*-\s*(?=\d+\s*/)", " ", part)) for part in parts]
    except WetsideError:
        return None
    return _Size(numbers[0], numbers[1] if len(numbers) == 2 else None)


@lru_cache(maxsize=1)
def _materials() -> dict[str, TubeMaterial]:
    return {
        row["material"]: TubeMaterial(
            row["material"],
            row["words"],
            row["family"],
            float(row["roughness_mm"]) * MILLIMETRE,
            row["roughness_source"],
        )
        for row in read_rows("tube_materials.csv")
    }


@lru_cache(maxsize=1)
def _rows_by_material() -> dict[str, list[dict[str, str]]]:
    table: dict[str, list[dict[str, str]]] = {name: [] for name in _materials()}
    for row in read_rows("tubes.csv"):
        table[row["material"]].append(row)
    return table


@lru_cache(maxsize=64)
def _usual(material: str) -> frozenset[str]:
    return frozenset(row["nominal"] for row in _rows_by_material()[material] if row["usual"] == "yes")


@lru_cache(maxsize=64)
def _tubes(material: str) -> tuple[Tube, ...]:
    roughness = _materials()[material].roughness
    return tuple(
        Tube(
            material,
            row["nominal"],
            float(row["bore_mm"]) * MILLIMETRE,
            float(row["outside_mm"]) * MILLIMETRE,
            roughness,
            row["source"],
        )
        for row in _rows_by_material()[material]
    )
