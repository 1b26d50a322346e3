"""`wetside second-pump FILE`: where another circulator would help, by how much, and whether it has room."""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from core import units
from core.commands.arguments import Arguments, concerning, one_of
from core.commands.solve import CAUTION, chosen_cases
from core.errors import Refusal, escaped
from core.files import read
from core.sizing.second_circulator.available import at_hand, named
from core.sizing.second_circulator.study import study
from core.vocabulary.values import nearest

if TYPE_CHECKING:
    from core.plant.model import Plant
    from core.sizing.second_circulator.available import Pump
    from core.sizing.second_circulator.study import Found, Study

MOST = 6  # places told about in full; --json tells all of every one


def run(argv: list[str]) -> int:
    """Study what `argv` names; refusals are raised, the caller shows them."""
    given = _parser().parse_args(argv)
    plant = read.load(given.file)
    with concerning(given.file):
        case = chosen_cases(plant, given.case, False)[0]
        pump = None if given.curve is None else _curve(plant, given.curve)
        found = study(
            plant,
            case,
            circuit=given.circuit or "",
            beside=given.beside or "",
            pump=pump,
            on_progress=_progress,
        )
    if sys.stderr.isatty():
        print("\r" + " " * 40 + "\r", end="", file=sys.stderr)
    if given.json:
        print(json.dumps(as_data(found), ensure_ascii=False, allow_nan=False, indent=1))
    else:
        print(table(plant, found))
        print(CAUTION)
    settled = found.before is None or found.before.converged
    return 0 if settled else 1


def _parser() -> Arguments:
    parser = Arguments(
        "wetside second-pump",
        description="Try another circulator wherever one can be put, and rank the places.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--circuit", metavar="ID", help="item or pipe where more flow is wanted")
    where.add_argument(
        "--beside", metavar="ID", help="only in series with, or in parallel to, this circulator"
    )
    where.add_argument("--all", action="store_true", help="the whole plant (default)")
    parser.add_argument(
        "--curve", metavar="NAME", help="a circulator's id, a curve of yours, a catalogue size"
    )
    parser.add_argument("--case", metavar="NAME", help="the case to study it in (default: the first)")
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    return parser


def _curve(plant: Plant, name: str) -> Pump:
    found = named(plant, name)
    if found is None:
        names = [pump.name.removeprefix("as ") for pump in at_hand(plant)]
        expected = one_of(names, "a curve; there is none at hand")
        raise Refusal("--curve", name, expected, nearest(name, names))
    if found.curve is None:
        raise Refusal("--curve", name, f"a circulator with a curve; {name} has none")
    return found


def _progress(done: int, of: int) -> None:
    if sys.stderr.isatty():
        print(f"\r{done} of {of} places", end="", file=sys.stderr)


def as_data(found: Study) -> dict[str, Any]:
    """The study as plain data, SI, the unit in the key."""
    return {
        "case": found.case,
        "wanted": found.wanted.at,
        "short_w": dict(found.wanted.short),
        "worth": bool(found.worth),
        "summary": found.summary,
        "places": [place_data(one, number) for number, one in enumerate(found.found, 1)],
        "cautions": list(found.cautions),
    }


def place_data(one: Found, number: int) -> dict[str, Any]:
    """One place; what could not be found is null. `gain` is in m3/s at `gained_at`."""
    workings = {
        "gain": one.gained,
        "suction": one.margin,
        "needed": one.fit.needed,
        "w_per_m3_s": one.per_flow,
    }
    return {
        "rank": number,
        "how": one.place.how,
        "at": one.place.at,
        "spot": one.spot.at if one.spot is not None else "",
        "beside": one.spot.touches if one.spot is not None else one.place.at,
        "curve": one.pump.name,
        "invented": one.pump.invented,
        "fits": one.fit.fits,
        "room": one.fit.words,
        "needed_m": float(one.fit.needed.value) if one.fit.needed is not None else None,
        "at_hand_m": one.fit.at_hand,
        "open": list(one.opened),
        "flows_m3_s": {name: list(pair) for name, pair in one.flows.items()},
        "delivered_w": {name: list(pair) for name, pair in one.heat.items()},
        "gained_at": one.gained_at,
        "gain": one.gain,
        "gain_share": one.gain_share,
        "flow_m3_s": one.flow,
        "head_m": one.head,
        "power_w": one.power,
        "water_power_w": one.water_power,
        "w_per_m3_s": float(one.per_flow.value) if one.per_flow is not None else None,
        "shut_off_m": one.pump.shut_off,
        "pair_flow_m3_s": one.pair_flow,
        "pair_head_m": one.pair_head,
        "pair_power_w": one.pair_power,
        "pair_shut_off_m": one.pair_shut_off,
        "run_out_m3_s": one.pump.run_out,
        "suction_pa": one.suction,
        "suction_margin_m": float(one.margin.value) if one.margin is not None else None,
        "checks": list(one.checks),
        "cautions": list(one.cautions),
        "state": one.state,
        "worth": one.worth,
        "verdict": one.verdict,
        "other_curves": [place_data(other, k) for k, other in enumerate(one.others, 1)],
        "working": {key: working.as_data() for key, working in workings.items() if working is not None},
    }


def table(plant: Plant, found: Study) -> str:
    """The study as a plain table in the plant's units."""
    lines = [
        escaped(f"{plant.title or 'untitled'} · {found.case} · a second circulator"),
        "",
        found.summary,
        "",
    ]
    rows: list[tuple[str, ...]] = [("", "place", "curve", "gain", "", "power", "head", "suction", "fits")]
    ranked = list(enumerate(found.found, 1))
    told = [(n, one) for n, one in ranked if one.state in ("helps", "takes", "little")]
    rows += [_row(plant, number, one) for number, one in told]
    lines += _columns(rows) if told else []
    for number, one in told[:MOST]:
        lines += ["", f"{number}. {one.title}, {one.pump.title}"]
        lines += [f"   {text}" for text in _words(plant, one)]
    for heading, states in (("Without use:", ("none", "unsettled")), ("Not tried:", ("blocked",))):
        rest = [one for one in found.found if one.state in states]
        lines += ["", heading, *(f"   {one.title}: {one.verdict}" for one in rest)] if rest else []
    return "\n".join(escaped(line) for line in lines) + "\n\n" + "\n".join(found.cautions)


def _row(plant: Plant, number: int, one: Found) -> tuple[str, ...]:
    def shown(value: float | None, dimension: str) -> str:
        return "–" if value is None else units.show(value, dimension, plant.units)

    return (
        f"{number}",
        one.title,
        one.pump.name,
        shown(one.gain, "flow"),
        "" if one.gain_share is None else f"{one.gain_share:+.0%}",
        "–" if one.power is None else f"{one.power:.0f} W",
        shown(one.head, "head"),
        shown(one.suction, "pressure"),
        one.fit.fits,
    )


def _words(plant: Plant, one: Found) -> list[str]:
    """What is to be said of a place besides its row."""
    out = [f"{one.verdict}."]
    out.append(
        f"Room: {one.fit.words}. To open: {', '.join(one.opened) or 'nothing: it is only drawn so far'}."
    )
    if one.checks:
        out.append(f"Check valves: {'; '.join(one.checks)}.")
    shut, run = one.pump.shut_off, one.pump.run_out
    if shut is not None and run is not None and one.flow is not None:
        low, high = units.show(shut, "head", plant.units), units.show(run, "flow", plant.units)
        at = units.show(one.flow, "flow", plant.units)
        out.append(f"Works at {at} of its curve (shut-off {low}, run-out {high}).")
    if one.per_flow is not None and one.gain:
        unit, size = ("gpm", 3.785411784e-3 / 60.0) if plant.units == "us" else ("L/s", 1e-3)
        out.append(f"{float(one.per_flow.value) * size:.0f} W for each {unit} more.")
    moved = [
        f"{name} {units.show(a, 'flow', plant.units)} to {units.show(b, 'flow', plant.units)}"
        for name, (a, b) in one.flows.items()
        if abs(b - a) > 0.005 * max(abs(a), 1e-6)
    ]
    if moved:
        out.append(f"Flows that change: {', '.join(moved)}.")
    if one.others:
        told = [f"{other.pump.title} {_in_short(plant, other)}" for other in one.others]
        out.append(f"Other curves here: {'; '.join(told)}.")
    return [*out, *(f"Caution: {text}." for text in one.cautions)]


def _in_short(plant: Plant, one: Found) -> str:
    if one.gain is None:
        return one.verdict
    watts = "" if one.power is None else f" for {one.power:.0f} W"
    return f"{units.show(one.gain, 'flow', plant.units)}{watts}"


def _columns(rows: Sequence[tuple[str, ...]]) -> list[str]:
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return ["  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip() for row in rows]
