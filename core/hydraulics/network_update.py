"""The network of an edited plant from that of the plant before, where the edit left its ways as they were.

Most edits change a figure of one item: then only its elements are made anew.

Elements, bodies and branches are shared with the network asked for before; nobody may change one once it is
made.
"""

from __future__ import annotations

from dataclasses import replace

from core.hydraulics.elements import Drawing, Element, add_pipe, add_ways
from core.hydraulics.network import Network, build
from core.plant.model import Item, Pipe, Plant

HEIGHTS = ("height", "port_heights", "taps", "coil_heights")

_last: list[Network] = []


def network_of(plant: Plant) -> Network:
    """The network of a plant, by way of the one asked for before where that is quicker."""
    found = renewed(plant, _last[0]) if _last else None
    net = build(plant) if found is None else found
    _last[:] = [net]
    return net


def renewed(plant: Plant, last: Network) -> Network | None:
    """The network of a plant from that of one of the same ways; None where its ways are others.

    Parameters
    ----------
    plant : Plant
    last : Network
        Shares with the answer all that the edit has not touched; neither is ever changed
    """
    old = last.plant
    if plant is old:
        return last
    if plant.systems != old.systems or [*plant.items] != [*old.items] or [*plant.pipes] != [*old.pipes]:
        return None
    items = [
        (new, o) for new, o in zip(plant.items.values(), old.items.values(), strict=True) if _differ(new, o)
    ]
    pipes = [
        (new, o) for new, o in zip(plant.pipes.values(), old.pipes.values(), strict=True) if _differ(new, o)
    ]
    if not all(_alike(*pair) for pair in items) or not all(_alike_pipes(*pair) for pair in pipes):
        return None
    fresh: list[Element] = []
    for item, _ in items:
        if item.id in last.of_item:
            found = _elements(item, last)
            if found is None:
                return None
            fresh += found
    fresh += [_pipe_element(pipe, last) for pipe, _ in pipes if pipe.id in last.of_item]
    return _with_elements(plant, last, fresh)


def _differ(new: Item | Pipe, old: Item | Pipe) -> bool:
    return new is not old and new != old


def _alike(new: Item, old: Item) -> bool:
    """Whether an item has the ports and heights it had."""
    if (new.kind, new.ports, new.stage == "to_remove") != (old.kind, old.ports, old.stage == "to_remove"):
        return False
    return all(new.si.get(name) == old.si.get(name) for name in HEIGHTS)


def _alike_pipes(new: Pipe, old: Pipe) -> bool:
    """Whether a pipe joins what it joined, in the same system."""
    kept = (new.start, new.end, new.system) == (old.start, old.end, old.system)
    return kept and (new.stage == "to_remove") == (old.stage == "to_remove")


def _elements(item: Item, last: Network) -> list[Element] | None:
    """Elements of a changed item, numbered as before; None where they are not the same ways."""
    drawing = Drawing({**last.drawing.nodes}, [*last.drawing.heights])
    add_ways(item, drawing)
    old = last.of_item[item.id]
    if [(e.part, e.start, e.end) for e in drawing.elements] != [(e.part, e.start, e.end) for e in old]:
        return None
    for e, was in zip(drawing.elements, old, strict=True):
        e.index = was.index
    return drawing.elements


def _pipe_element(pipe: Pipe, last: Network) -> Element:
    """The element of a changed pipe, numbered as before."""
    was = last.of_item[pipe.id][0]
    drawing = Drawing(heights=last.drawing.heights)
    add_pipe(drawing, pipe, was.start, was.end)
    drawing.elements[0].index = was.index
    return drawing.elements[0]


def _with_elements(plant: Plant, last: Network, fresh: list[Element]) -> Network:
    """The same network with some elements exchanged."""
    if not fresh:
        return replace(last, plant=plant)
    es = [*last.elements]
    for e in fresh:
        es[e.index] = e
    touched = {e.key for e in fresh}
    return replace(
        last,
        plant=plant,
        drawing=replace(last.drawing, elements=es),
        elements=es,
        parted={key: es[e.index] for key, e in last.parted.items()},
        airs={node: es[e.index] for node, e in last.airs.items()},
        of_item=_exchanged(last.of_item, es, touched),
        standing=_exchanged(last.standing, es, touched),
    )


def _exchanged(
    ways: dict[str, list[Element]], elements: list[Element], touched: set[str]
) -> dict[str, list[Element]]:
    return {key: [elements[e.index] for e in es] if key in touched else es for key, es in ways.items()}
