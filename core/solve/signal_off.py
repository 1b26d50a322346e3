"""What a signal lets run: whether water could still come through once it is off. No temperatures here."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from core.controls.expressions import runs
from core.thermal.roles import Side, Source
from core.vocabulary import Trait

if TYPE_CHECKING:
    from core.solve.settle import Settled


def stand_without(s: Settled, elements: Iterable[int], on: Mapping[str, bool], surely: bool = True) -> bool:
    """Whether the water in all these elements stands still with the signals as in `on`.

    Sure is: a zone valve in line shuts; a circulator in line stops that has a check, its own or in line; or
    nothing else drives a body that lies level. Likely enough is that nothing but gravity drives it.

    Parameters
    ----------
    s : Settled
        With other signals
    elements : iterable of int
    on : mapping
        State of each signal
    surely : bool
        Whether likely is not enough
    """
    return all(_stands(s, i, on, surely) for i in elements)


def unheated_without(s: Settled, i: int, on: Mapping[str, bool]) -> bool:
    """Whether nothing heats the water of an element any more with the signals as in `on`.

    Sure where its body has sources, all of which then rest, and neither exchanger, coil, store nor main.
    """
    net = s.net
    body = net.bodies[net.body_of[net.elements[i].start]]
    roles = [s.roles.of[k] for k in body.elements if k in s.roles.of]
    elsewhere = {*s.roles.fixed, *s.roles.stores, *net.mains}
    if any(isinstance(role, Side) for role in roles) or any(n in elsewhere for n in body.nodes):
        return False
    sources = [role.item for role in roles if isinstance(role, Source)]
    return bool(sources) and not any(runs(net.plant.items[key].si, on) for key in sources)


def _stands(s: Settled, i: int, on: Mapping[str, bool], surely: bool) -> bool:
    net, plant = s.net, s.net.plant
    branch = int(net.branch_of[i])
    if branch < 0:
        return True
    line = [net.elements[k] for k in net.branches[branch].elements]
    gates = [e for e in line if e.has(Trait.DRIVES, Trait.OPENS_BY_SIGNAL)]
    resting = [e for e in gates if not runs(plant.items[e.key].si, on)]
    if any(e.has(Trait.OPENS_BY_SIGNAL) for e in resting):
        return True
    if resting and any(e.one_way or e.has(Trait.ONE_WAY) for e in line):
        return True
    body = net.bodies[net.body_of[net.elements[i].start]]
    driven = any(
        net.elements[k].has(Trait.DRIVES) and runs(plant.items[net.elements[k].key].si, on)
        for k in body.elements
    )
    fed = any(n in net.mains or n in net.airs for n in body.nodes)
    return (body.number in net.level or not surely) and not driven and not fed
