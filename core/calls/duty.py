"""For what share of the time a stat calls to hold a tank, from two combinations that differ by its call."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from core.calls.rows import CallRow
from core.figures import TankFigures
from core.plant.model import Plant
from core.vocabulary import Trait


def duty_share(on: float, off: float, loss: float) -> float | None:
    """Share of the time that heat must be brought so that a store neither gains nor loses.

    Parameters
    ----------
    on, off : float
        Heat that the store's taps, coil and element bring with the call on and with it off, [W]
    loss : float
        Heat it loses to the room, [W]

    Returns
    -------
    float or None
        0..1, above 1 where not even a lasting call holds it; None where the call brings no heat

    Notes
    -----
    s · on + (1 − s) · off = loss. Source: heat balance of the store over many cycles, identity.

    Examples
    --------
    >>> duty_share(12000.0, -3000.0, 300.0)
    0.22
    """
    return (loss - off) / (on - off) if on - off > 1e-6 else None


def stats_of_tanks(plant: Plant) -> dict[str, str]:
    """Stats that feel a tank, each with its tank."""
    found = {}
    for item in plant.items.values():
        senses = item.si.get("senses") if item.has(Trait.STAT) and item.stage != "to_remove" else None
        tank = plant.items.get(str(senses[0])) if senses else None
        if tank is not None and tank.has(Trait.TANK):
            found[item.id] = tank.id
    return found


def with_tank_shares(plant: Plant, rows: Sequence[CallRow]) -> list[CallRow]:
    """Rows with the duty share of each tank whose temperature the case gives and a call holds.

    A row with the call on is compared with the one that differs by nothing else.
    """
    held = {
        stat: tank for stat, tank in stats_of_tanks(plant).items() if rows and tank in rows[0].case.si.tanks
    }
    by_calls: Mapping[frozenset[str], CallRow] = {frozenset(row.on): row for row in rows}
    out = []
    for row in rows:
        shares = dict(row.duty_shares)
        for stat, tank in held.items():
            other = by_calls.get(frozenset(row.on) - {stat})
            if stat in row.on and other is not None and tank in row.tanks and tank in other.tanks:
                loss = _loss(plant, tank, row.solution.role(tank, TankFigures).temperature_c)
                share = duty_share(row.tanks[tank], other.tanks[tank], loss)
                if share is not None:
                    shares[tank] = max(0.0, share)
        out.append(replace(row, duty_shares=shares))
    return out


def _loss(plant: Plant, tank: str, celsius: float) -> float:
    """Heat a tank loses to the room, [W]. Source: the plant file's contract."""
    ua = float(plant.items[tank].si.get("ua_loss") or 0.0)
    return ua * (celsius + 273.15 - plant.site_si.indoor)
