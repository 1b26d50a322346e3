"""Demand of fixtures by the codes' tables: units, flows at once, what an outlet needs. Flush tanks only."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

GPM = 3.785411784e-3 / 60.0  # [m^3/s]
PSI = 6894.757293168  # [Pa]
USUAL_PRESSURE = 8.0  # [psi]
CHIEF = "IPC E103.3(3)"
LONGEST_GAP = 2.0  # rows of a part-seen table further apart than this ratio are not bridged


@dataclass(frozen=True)
class Units:
    """Water supply fixture units of a fixture: at its cold and hot branch, and at a main that feeds both."""

    cold: float
    hot: float
    total: float
    source: str


@dataclass(frozen=True)
class Rows:
    """The rows of a demand table that hold a number of units: units and flows [m^3/s]."""

    table: str
    low: tuple[float, float]
    high: tuple[float, float]
    source: str

    def at(self, units: float) -> float:
        """Flow, straight between the rows, [m^3/s]."""
        (u1, q1), (u2, q2) = self.low, self.high
        return q1 + (units - u1) * (q2 - q1) / (u2 - u1)


def units_of(fixture_type: str, public: bool) -> Units | None:
    """Units of a type of fixture; a type without a row for public use counts as private, and the reverse."""
    rows = [row for row in _read("fixture_units.csv") if row["type"] == fixture_type]
    wanted = "yes" if public else "no"
    row = next((row for row in rows if row["public"] == wanted), rows[0] if rows else None)
    if row is None:
        return None
    return Units(float(row["cold"]), float(row["hot"]), float(row["total"]), row["source"])


def outlet_of(fixture_type: str) -> tuple[float | None, float, str]:
    """Flow [m^3/s] or None, flowing pressure [Pa] and source of what an outlet of a type needs."""
    for row in _read("fixture_outlets.csv"):
        if row["type"] == fixture_type:
            return float(row["gpm"]) * GPM, float(row["psi"]) * PSI, row["source"]
    return None, USUAL_PRESSURE * PSI, "usual figure of IPC 2018 Table 604.3"


def tables() -> tuple[str, ...]:
    """Names of the demand tables, the chief one first."""
    return tuple(dict.fromkeys(row["table"] for row in _read("fixture_demand.csv")))


def rows_for(table: str, units: float) -> Rows | None:
    """The rows of a table on either side of a number of units; None beyond the table or in a gap of it.

    Examples
    --------
    >>> rows = rows_for("IPC E103.3(3)", 5.5)
    >>> round(rows.at(5.5) / GPM, 3)
    10.05
    """
    found = [row for row in _read("fixture_demand.csv") if row["table"] == table]
    points = [(float(row["units"]), float(row["gpm"]) * GPM) for row in found]
    if table != CHIEF and units < points[0][0]:
        return None
    points = [(0.0, 0.0), *points] if table == CHIEF else points
    for low, high in pairwise(points):
        if low[0] <= units <= high[0]:
            if low[0] > 0.0 and high[0] > LONGEST_GAP * low[0] and high[0] - low[0] > 10.0:
                return None
            return Rows(table, low, high, found[0]["source"])
    return None


@lru_cache(maxsize=8)
def _read(name: str) -> tuple[dict[str, str], ...]:
    with Path(__file__).with_name(name).open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(line for line in file if not line.startswith("#")))
