"""Which port of an item a pipe would take: outlets first where it starts, inlets first where it ends."""

from __future__ import annotations

from core.plant.model import Item, Plant, PortRef
from core.vocabulary import Trait, joined_ports
from core.vocabulary.port_flow import Flow, flow_at

_ORDER: dict[str, tuple[Flow, ...]] = {"out": ("out", "", "in"), "in": ("in", "", "out")}


def free_ports(plant: Plant, item: Item) -> list[str]:
    """Ports that can still take a pipe; a joint's takes any number."""
    return [
        port for port in item.ports if item.has(Trait.JOINS) or not plant.pipes_at.get(PortRef(item.id, port))
    ]


def by_flow(item: Item, ports: list[str], wanted: Flow) -> list[str]:
    """The ports at which water goes the wanted way first, then those of either way, else as they came."""
    order = _ORDER[wanted] if wanted else ()

    def rank(port: str) -> tuple[int, bool]:
        return (order.index(flow_at(item.kind, port)) if order else 0, port not in ("hot", "cold"))

    return sorted(ports, key=rank)


def other_end(plant: Plant, item: Item, port: str) -> str | None:
    """The port by which water that came in at one leaves: of the same water, free if possible."""
    groups = joined_ports(item.kind, item.props)
    group = next((group for group in groups if port in group), ())
    others = [name for name in by_flow(item, list(group), "out") if name != port]
    leaving = [name for name in others if flow_at(item.kind, name) != "in"]
    free = set(free_ports(plant, item))
    return next((name for name in leaving if name in free), leaving[0] if leaving else None)
