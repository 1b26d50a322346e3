"""Limits of velocity and loss in tubes by material, use and temperature, each with its source."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

ZERO = 273.15  # [K]
SMALL_BORE = 0.0525  # [m] 2 in tube and pipe of any material has less; above, the loss alone governs
AIR_CARRYING = 0.6096  # [m/s] 2 ft/s
AIR_SOURCE = "slower water leaves air in downward runs (2 ft/s, 0.6 m/s); common practice, no source"
GRADE = 0.04  # [m/m] 4 ft per 100 ft
GRADE_SOURCE = (
    "ASHRAE Handbook Fundamentals, pipe sizing: a head of 1 to 4 % of the length; from memory. HVAC pump "
    "practice sizes 2 to 4 in steel at about 4 % (published table)"
)
# Other published figures for copper, told beside the limit because they differ: (°C, m/s).
COPPER_ELSEWHERE = "BS 6700 (withdrawn) allows 3.0, 3.0, 2.5, 2.0 m/s at 10, 50, 70, 90 °C; a Swedish "
COPPER_ELSEWHERE += "recommendation for tube that cannot be replaced 2.0, 1.5, 1.3, 1.0 m/s (both published)"


@dataclass(frozen=True)
class Limit:
    """One limit.

    Attributes
    ----------
    what : str
        erosion, velocity, noise or quiet
    value : float
        Velocity, [m/s]
    firm : bool
        Whether a size beyond it is ruled out
    words, source : str
    up_to : float or None
        Temperature to which it holds, [K]
    """

    what: str
    value: float
    firm: bool
    words: str
    source: str
    up_to: float | None


def family_of(material: str) -> str:
    """Copper, steel or plastic, from a tube material's name; "any" for a tube known by its bore alone."""
    if not material:
        return "any"
    if "copper" in material:
        return "copper"
    return "steel" if "steel" in material else "plastic"


def limits_for(material: str, use: str, temperature: float, bore: float) -> tuple[Limit, ...]:
    """The limits that concern a tube, one of each kind.

    Parameters
    ----------
    material : str
        Tube material as in plant files, or empty
    use : str
        closed, potable or recirculation
    temperature, bore : float
        Warmest water it carries [K], bore [m]
    """
    found: dict[str, Limit] = {}
    family = family_of(material)
    for row, limit in _rows():
        if row["use"] != use or row["material"] not in ("any", family) or limit.what in found:
            continue
        if limit.what == "noise" and bore > SMALL_BORE:
            continue
        if limit.up_to is None or temperature <= limit.up_to + 1e-6:
            found[limit.what] = limit
    return tuple(found.values())


def firm_limit(material: str, use: str, temperature: float, bore: float) -> Limit | None:
    """The least of the limits that rule a tube out; arguments as of `limits_for`."""
    found = [one for one in limits_for(material, use, temperature, bore) if one.firm]
    return min(found, key=lambda one: one.value, default=None)


@lru_cache(maxsize=1)
def _rows() -> tuple[tuple[dict[str, str], Limit], ...]:
    with Path(__file__).with_name("velocity_limits.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    return tuple(
        (
            row,
            Limit(
                row["what"],
                float(row["limit_m_s"]),
                row["firm"] == "yes",
                row["words"],
                row["source"],
                float(row["up_to_C"]) + ZERO if row["up_to_C"] else None,
            ),
        )
        for row in rows
    )
