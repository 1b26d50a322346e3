"""Rules of the drawing: open ends, parts that belong to nothing, systems that meet, figures not typed yet."""

from __future__ import annotations

from collections.abc import Iterator

from core.plant.model import PortRef
from core.review.cross_connection import mixes_drinking_water
from core.review.finding import Found, Rule, Severity, registrar
from core.review.study import Study
from core.vocabulary import Trait
from core.water.connections import joined_systems

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"


@rule(
    "open-end",
    "Open end",
    Severity.MEND,
    "A port without a pipe is counted as plugged. Left open it spills when the system is filled; if a pipe "
    "was meant, water does not go where it should.",
    PRACTICE,
    "Join a pipe, or close the port with a plug.",
)
def open_end(study: Study) -> Iterator[Found]:
    """Ports with no pipe that are not capped as a rule."""
    for item in study.plant.items.values():
        if not item.stays or not item.ports or item.has(Trait.DRAWS_WATER):
            continue
        ports = [port for port in item.ports if port not in item.kind_info.capped]
        bare = [port for port in ports if not study.plant.pipes_at.get(PortRef(item.id, port))]
        if bare and len(bare) == len(ports):
            yield Found((item.id,), f"{item.id} is joined to nothing.", severity=Severity.CONSIDER)
        elif bare:
            word = "Port" if len(bare) == 1 else "Ports"
            verb = "has" if len(bare) == 1 else "have"
            yield Found((item.id,), f"{word} {', '.join(bare)} of {item.id} {verb} no pipe.")


@rule(
    "outlet-without-water",
    "Outlet without a pipe",
    Severity.MEND,
    "An outlet with no pipe at all gives no water.",
    PRACTICE,
    "Join its hot or its cold port, or both.",
)
def outlet_without_water(study: Study) -> Iterator[Found]:
    """Outlets none of whose ports has a pipe."""
    for item in study.items(Trait.DRAWS_WATER):
        if not any(study.plant.pipes_at.get(PortRef(item.id, port)) for port in item.ports):
            yield Found((item.id,), f"{item.id} is joined to nothing.")


@rule(
    "systems-meet",
    "Two systems meet",
    Severity.STOP,
    "Pipes of two systems wet one body of water with nothing between them that parts them: their fluids mix.",
    "cross-connection rules of plumbing codes (from memory)",
    "Part them by an exchanger, or put the pipes in one system if they are one.",
    ask="Cross-connections are for local code and a licensed plumber.",
)
def systems_meet(study: Study) -> Iterator[Found]:
    """Bodies in which pipes of several systems meet."""
    for meeting in joined_systems(study.graph):
        if mixes_drinking_water(study, meeting.systems):
            continue  # a cross-connection, which has a rule of its own
        fluids = {str(sorted(study.plant.systems[name].fluid.items())) for name in meeting.systems}
        grave = Severity.STOP if len(fluids) > 1 else Severity.MEND
        yield Found(
            meeting.pipes[1:] + meeting.pipes[:1],
            f"Systems {', '.join(meeting.systems)} meet in one body of water, "
            f"at {' and '.join(meeting.pipes)}.",
            severity=grave,
        )
