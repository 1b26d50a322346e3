"""Commands without a window: arguments in, text or JSON out, exit code back. Each module has `run`.

An unforeseen fault counts as refused (2); Ctrl-C ends a command with 130. Without `--case`, commands that
show one case show the first.
"""

from __future__ import annotations

import importlib
from collections.abc import Sequence

TABLE: dict[str, tuple[str, str]] = {
    "kinds": ("[--json]", "every kind of item with its ports, properties and ranges"),
    "check-file": ("FILE", "read and validate a plant file"),
    "tidy": ("FILE -o NEW", "spell the trade's units and numbers as a plant file wants them"),
    "solve": (
        "FILE [--case NAME | --all-cases | --all-calls] [--json]",
        "flows, heads and temperatures",
    ),
    "simulate": (
        "FILE [--run NAME] [--hours N] [--json] [--csv OUT]",
        "a day or more in time: starts, tanks, rooms, taps, energy",
    ),
    "sweep": (
        "FILE --vary 'ID.property=Q,Q,…' … [--run NAME] [--hours N] [--keep PATH] [--json]",
        "a grid of runs in time: which settings keep the run's limits, which conflict",
    ),
    "call-sheet": (
        "FILE [--case NAME] [--json]",
        "every combination of calls, outlets, one heater fewer, energy of a year",
    ),
    "why": (
        "FILE [CIRCUIT] [--case NAME] [--json]",
        "what each circuit, tank or tap loses while another call is on, and by which way",
    ),
    "cures": (
        "FILE ID [--prices CSV] [--take N -o NEW] [--json]",
        "changes that would bring a circuit or tap what it lacks, each solved, the best first",
    ),
    "matters": ("FILE [--json]", "the span of every answer over the guesses, and which to measure first"),
    "failures": (
        "FILE [--json]",
        "who goes cold when a heater, a pump or the power fails, or in a cold snap",
    ),
    "spare": ("FILE [ID] [--json]", "what heaters, pumps, pipes and expansion tanks have left, by solving"),
    "compare": ("FILE OTHER [--json]", "what was changed between two plants, and what it changed"),
    "size": ("FILE [ID …] [--working] [--json]", "what size, and why: flows, tubes, circulators, valves"),
    "second-pump": (
        "FILE [--circuit ID | --beside ID | --all] [--curve NAME] [--case NAME] [--json]",
        "where another circulator would help, and whether it has room",
    ),
    "review": (
        "FILE [--json | --by-stage]",
        "the punch list: what to stop for, mend and consider, with reason and cure",
    ),
    "shut-off": (
        "FILE ID [--json] [-o CARD.pdf]",
        "valves to close to take an item or pipe out of service, in steps",
    ),
    "dead-water": ("FILE [--json]", "where water stands, in which cases, how much, where to flush"),
    "takeoff": (
        "FILE [--csv OUT | --xlsx OUT] [--json] [--prices CSV] [--waste PERCENT]",
        "what to order: tube, fittings, valves, equipment, insulation, fluid, and its cost",
    ),
    "readings": (
        "FILE [--date DAY] [--json] | FILE --take CSV -o NEW",
        "what the gauges said, and what would explain it; take readings from a text",
    ),
    "dial-in": ("FILE [--date DAY] [--json]", "which setting to turn next, how far, and what to read then"),
    "remarks": ("FILE [--json] | FILE --take CSV -o NEW", "what reviewers wrote, and the answers"),
    "handbook": (
        "FILE -o OUT.html [--for-review]",
        "one page for a phone: drawing, cards, readings, lists, logbook",
    ),
    "desktop": ("[--remove]", "have a Linux desktop open plant files with Wetside"),
    "logbook": ("FILE [--json]", "decisions, their reasons, and whether today's figures bear them out"),
}
"""What may follow each command, and what it gives; the module of the same name runs it."""


def main(argv: Sequence[str]) -> int | None:
    """Run a command by its first word; None where it is not one of ours."""
    if not argv or argv[0] not in TABLE:
        return None
    module = importlib.import_module(f"core.commands.{argv[0].replace('-', '_')}")
    return int(module.run(list(argv[1:])))
