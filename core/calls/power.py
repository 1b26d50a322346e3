"""Electric power and current of what runs, each with its working. What is not typed is unknown, not zero."""

from __future__ import annotations

from core.figures import Figures, HeatPumpFigures, PumpFigures, SourceFigures
from core.plant.model import Item
from core.working import Working, derived, given, typed

AFFINITY = (
    "affinity laws: power goes with the cube of speed, from memory; motors and electronics take more at "
    "low speed"
)


def _typed(item: Item, name: str, symbol: str, words: str, dimension: str) -> Working | None:
    value = item.si.get(name)
    if not isinstance(value, (int, float)) or isinstance(value, bool):
        return None
    text = str(item.props.get(name, ""))
    path = f"items.{item.id}.props.{name}"
    return typed(symbol, f"{words} of {item.id}", float(value), dimension, path, text)


def electric_power(item: Item, figures: Figures) -> Working | None:
    """Electric power of an item in a solved case, [W].

    Parameters
    ----------
    item : Item
    figures : Figures
        Of that item

    Returns
    -------
    Working or None
        None where it is not known: `watts` is not typed

    Notes
    -----
    A circulator at less than full speed takes the cube of its speed. Source: affinity laws, from memory.
    """
    words = f"electric power of {item.id}"
    if isinstance(figures, HeatPumpFigures):
        taken = figures.power_w
        return None if taken is None else given("P", words, taken, "power", "solved")
    full = _typed(item, "watts", "P_full", "power at full speed", "power")
    if full is None:
        return None
    if isinstance(figures, PumpFigures | SourceFigures) and not figures.running:
        return given("P", words, 0.0, "power", "computed", "it rests")
    if not isinstance(figures, PumpFigures):
        return full
    speed = given("s", f"share of full speed of {item.id}", figures.speed, "", "solved")
    return derived("P", words, "power", "P_full * s^3", full, speed, source=AFFINITY)


def current(item: Item, volts: Working | None, figures: Figures | None = None) -> Working | None:
    """Current an item draws while it runs, [A]; from its amps, else its watts over the outlet's volts.

    Parameters
    ----------
    item : Item
    volts : Working or None
        Voltage of the outlet, [V]
    figures : Figures or None
        Of that item, for a heat pump's power

    Returns
    -------
    Working or None
        None where neither is known
    """
    stated = _typed(item, "amps", "I", "current", "current")
    if stated is not None:
        return stated
    watts: Working | None = _typed(item, "watts", "P", "electric power", "power")
    if watts is None and isinstance(figures, HeatPumpFigures) and figures.power_w:
        watts = given("P", f"electric power of {item.id}", figures.power_w, "power", "solved")
    if watts is None or volts is None or not float(volts.value) > 0.0:
        return None
    how = "taken as power over voltage; a motor draws more by its power factor"
    return derived("I", f"current of {item.id}", "current", "P / U", watts, volts, how=how)
