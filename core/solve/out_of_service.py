"""What a case takes out of service is shut to water. Its signals are dead by `core.controls.signals`."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from core.hydraulics.network import Network
from core.plant.model import Item, PortRef
from core.vocabulary import Trait


def shut_out_of_service(net: Network, closed: npt.NDArray[np.bool_]) -> None:
    """Shut every way through what is out of service, but a failed check valve, which lets water both ways.

    Parameters
    ----------
    net : Network
        Of the plant as the case sees it
    closed : ndarray of bool, shape (n elements,)
        Which elements let no water through; changed in place
    """
    for item in net.plant.items.values():
        if item.out_of_service and not _stands_open(item):
            # A mere point where pipes meet, such as a main, has no way of its own: shut at each pipe.
            names = [item.id] if net.of_item.get(item.id) else _pipes_at(net, item)
            for name in names:
                _shut(net, name, closed)
    for pipe in net.plant.pipes.values():
        if pipe.out_of_service:
            _shut(net, pipe.id, closed)


def _shut(net: Network, name: str, closed: npt.NDArray[np.bool_]) -> None:
    for e in net.of_item.get(name, ()):
        closed[e.index] = True


def _pipes_at(net: Network, item: Item) -> list[str]:
    return [name for port in item.ports for name in net.plant.pipes_at.get(PortRef(item.id, port), ())]


def _stands_open(item: Item) -> bool:
    return item.has(Trait.CHECKS) or bool(item.si.get("integral_check"))
