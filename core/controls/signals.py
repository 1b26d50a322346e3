"""What is on in a case: switches, outlets, and stats whose state the case gives. No temperatures here."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from core.plant.model import Case, Plant

SIGNALS = ("switch", "outlet", "aquastat", "thermostat")


@dataclass
class SignalStates:
    """Signals of one case; `unknown` are stats that would follow a temperature, which is not solved yet."""

    on: dict[str, bool] = field(default_factory=dict)
    unknown: tuple[str, ...] = ()


def holds(expression: Any, on: dict[str, bool]) -> bool:
    """Whether a run_when or powered_by holds.

    Parameters
    ----------
    expression : None, bool, str, list or mapping
        Absent (true), true or false, a signal's name, names taken as any-of, or any / all / not of these
    on : dict
        State of each signal; a name that is no signal counts as off
    """
    if expression is None:
        return True
    if isinstance(expression, bool):
        return expression
    if isinstance(expression, str):
        return on.get(expression, False)
    if isinstance(expression, (list, tuple)):
        return any(holds(part, on) for part in expression)
    (word, part), *_ = expression.items()
    if word == "not":
        return not holds(part, on)
    parts = part if isinstance(part, (list, tuple)) else [part]
    return all(holds(p, on) for p in parts) if word == "all" else any(holds(p, on) for p in parts)


def signal_states(plant: Plant, case: Case) -> SignalStates:
    """States of all signals: as the case says, else as switched; stats the case leaves out stay off."""
    given = {k: v for k, v in case.signals.items() if isinstance(v, bool)}
    on = dict(given)
    kinds = {i.id: i for i in plant.items.values() if i.kind in SIGNALS and i.stage != "to_remove"}
    unknown = []
    for key, item in kinds.items():
        if key in given:
            continue
        if item.kind in ("aquastat", "thermostat"):
            unknown.append(key)
            on[key] = False
        else:
            on[key] = bool(item.si.get("on"))
    for _ in range(len(kinds)):
        before = dict(on)
        for key, item in kinds.items():
            if key in given:
                continue
            si = item.si
            if item.kind == "outlet" and si.get("switched_by") is not None:
                on[key] = holds(si["switched_by"], on)
            if si.get("powered_by") is not None and not holds(si["powered_by"], on):
                on[key] = False
        if on == before:
            break
    return SignalStates(on, tuple(unknown))


def runs(si: Any, on: dict[str, bool]) -> bool:
    """Whether an item's run_when and powered_by both hold."""
    return holds(si.get("run_when"), on) and holds(si.get("powered_by"), on)
