"""Groups of the shelf, and how an entry of the table of kinds is made. Not the entries."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from core.vocabulary.properties import SAFETY, WETTED
from core.vocabulary.traits import Report, Trait
from core.vocabulary.waterways import Terminal, Waterway
from core.vocabulary.words import Kind, Property

MOVING = "pumps and valves"
CLEANING = "cleaning, air, gauges"
MAKING = "heat sources and tanks"
USING = "heat emitters and fixtures"
CONTROLS = "controls"
GROUPS = (MOVING, CLEANING, MAKING, USING, CONTROLS)

INLINE = ("in", "out")
VALVE = ("a", "b")
SIDES = ("a_in", "a_out", "b_in", "b_out")


def kind_of(
    name: str,
    title: str,
    group: str,
    ports: tuple[str, ...],
    meaning: str,
    properties: Iterable[Property] = (),
    *,
    joined: tuple[tuple[str, ...], ...] | None = None,
    traits: Iterable[Trait] = (),
    waterway: Waterway | None = None,
    report: Report | None = None,
    **more: Any,
) -> Kind:
    """A kind with the properties that every kind of its group shares put to its own; `more` as of `Kind`."""
    shared = SAFETY if group == CONTROLS else WETTED + SAFETY
    table = {item.name: item for item in (*properties, *shared)}
    groups = ((ports,) if ports else ()) if joined is None else joined
    if report is None and waterway is not None:
        report = Report.POINT if isinstance(waterway, Terminal) else Report.THROUGH
    return Kind(
        name,
        title,
        group,
        ports,
        table,
        meaning,
        joined=groups,
        traits=frozenset(traits),
        waterway=waterway,
        report=report,
        **more,
    )
