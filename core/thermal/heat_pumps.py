"""What a heat pump gives and takes by weather and supply temperature, from its maker's rows.

* Rows of one outdoor temperature make a line along supply, straight between and flat beyond; between two
  lines the answer is straight in the outdoor temperature. Capacity at the limit is that at its own outlet.
* At part load power falls with the heat (no cycling or defrost loss).
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

Row = tuple[float, float, float, float]  # outdoor [K], supply [K], heat [W], electric power [W]
Knot = tuple[float, float, float]  # temperature [K], heat [W], power [W]

NEAR = 0.05  # [K] beyond the last row by less counts as within


@dataclass(frozen=True)
class Output:
    """Full output at one outdoor temperature, straight between supply temperatures and flat beyond.

    Attributes
    ----------
    outdoor : float
        [K]
    knots : tuple of (supply [K], heat [W], power [W])
        Rising in supply
    low, high : float
        Supply temperatures that the rows used here cover, [K]
    weather : (float, float)
        Outdoor temperatures that the rows cover, [K]
    """

    outdoor: float
    knots: tuple[Knot, ...]
    low: float
    high: float
    weather: tuple[float, float]

    def heat(self, supply: float) -> float:
        """Most heat at a supply temperature [K], [W]."""
        return _between(self.knots, supply)[0]

    def power(self, supply: float) -> float:
        """Electric power at full output at a supply temperature [K], [W]."""
        return _between(self.knots, supply)[1]

    def power_for(self, heat: float, supply: float) -> float:
        """Electric power for a heat [W] at a supply temperature [K]: at part load in proportion, [W]."""
        most = self.heat(supply)
        return self.power(supply) * heat / most if most > 0.0 else 0.0

    def slope(self, supply: float) -> float:
        """How the heat changes with the supply temperature, [W/K]."""
        supplies = [x for x, _, _ in self.knots]
        k = bisect_right(supplies, supply)
        if k == 0 or k == len(supplies):
            return 0.0
        (x0, y0, _), (x1, y1, _) = self.knots[k - 1], self.knots[k]
        return (y1 - y0) / (x1 - x0)

    def covers(self, supply: float) -> bool:
        """Whether the rows reach to this weather and this supply temperature [K]."""
        cold, mild = self.weather
        return cold - NEAR <= self.outdoor <= mild + NEAR and self.low - NEAR <= supply <= self.high + NEAR


@lru_cache(maxsize=256)
def output_at(rows: tuple[Row, ...], outdoor: float) -> Output:
    """What the rows say of one outdoor temperature.

    Parameters
    ----------
    rows : tuple of (outdoor [K], supply [K], heat [W], power [W])
        In any order; none contradicts another
    outdoor : float
        [K]

    Returns
    -------
    Output

    Notes
    -----
    Rows of one outdoor temperature make a line along the supply temperature: straight between its rows, flat
    beyond; between two such lines the answer is straight in the outdoor temperature, beyond them flat. Where
    the rows have fewer supply temperatures than outdoor ones the lines run the other way. On a full grid
    either is the bilinear rule; the answer meets every row, never overshoots, and has no jump.

    Examples
    --------
    >>> rows = ((270.0, 308.0, 8e3, 3e3), (270.0, 318.0, 7e3, 3e3), (280.0, 308.0, 10e3, 3e3))
    >>> output_at(rows, 275.0).heat(313.0)
    8750.0
    """
    by_outdoor = len({r[0] for r in rows}) <= len({r[1] for r in rows})
    weather = (min(r[0] for r in rows), max(r[0] for r in rows))
    if not by_outdoor:
        lines = _lines((supply, out, heat, power) for out, supply, heat, power in rows)
        knots = tuple((supply, *_between(line, outdoor)) for supply, line in lines)
        return Output(outdoor, knots, knots[0][0], knots[-1][0], weather)
    lines = _lines(rows)
    k = bisect_right([at for at, _ in lines], outdoor)
    (x0, first), (x1, second) = lines[max(k - 1, 0)], lines[min(k, len(lines) - 1)]
    share = (outdoor - x0) / (x1 - x0) if x1 > x0 else 0.0
    if share == 0.0:
        second = first
    supplies = sorted({x for x, _, _ in (*first, *second)})
    knots = tuple((x, *_mix(_between(first, x), _between(second, x), share)) for x in supplies)
    low, high = max(first[0][0], second[0][0]), min(first[-1][0], second[-1][0])
    return Output(outdoor, knots, low, high, weather)


def _lines(rows: Iterable[Row]) -> list[tuple[float, tuple[Knot, ...]]]:
    """Rows by their first column, each line rising in the second."""
    lines: dict[float, dict[float, Knot]] = defaultdict(dict)
    for at, x, heat, power in rows:
        lines[at][x] = (x, heat, power)
    return [(at, tuple(line[x] for x in sorted(line))) for at, line in sorted(lines.items())]


def _between(line: Sequence[Knot], x: float) -> tuple[float, float]:
    """Heat and power at x on a line, flat beyond its ends."""
    k = bisect_right([at for at, _, _ in line], x)
    if k == 0:
        return line[0][1:]
    if k == len(line):
        return line[-1][1:]
    (x0, *left), (x1, *right) = line[k - 1], line[k]
    return _mix((left[0], left[1]), (right[0], right[1]), (x - x0) / (x1 - x0))


def _mix(left: tuple[float, float], right: tuple[float, float], share: float) -> tuple[float, float]:
    return left[0] + share * (right[0] - left[0]), left[1] + share * (right[1] - left[1])
