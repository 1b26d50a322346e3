"""What is on in a case: switches, outlets, and stats whose state the case gives. No temperatures here."""

from __future__ import annotations

from dataclasses import dataclass, field

from core.controls.expressions import holds, runs
from core.plant.model import Case, Plant

__all__ = ["SIGNALS", "SignalStates", "holds", "runs", "signal_states"]

SIGNALS = ("switch", "outlet", "aquastat", "thermostat")


@dataclass
class SignalStates:
    """Signals of one case; `unknown` are stats that would follow a temperature, which is not solved yet."""

    on: dict[str, bool] = field(default_factory=dict)
    unknown: tuple[str, ...] = ()


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
