"""Whether another circulator has room, and what must be undone to put it in.

Room in a tube is face to face plus two flanges (1/2 in each where none is given, common practice, no
source); `fits` is yes, no or unknown. A leg in parallel counts as 1 ft of tube with an elbow and a tee at
each end (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from core.plant.model import Plant
from core.sizing.context import Context
from core.sizing.second_circulator.available import Pump
from core.sizing.second_circulator.places import Place, Spot
from core.working import Working, derived, given

Fits = Literal["yes", "no", "unknown"]
RANK: dict[Fits, int] = {"yes": 0, "unknown": 1, "no": 2}
SLACK = 0.0015  # [m] a spacer of the same trade length never differs by more
USUAL_FLANGE = 0.0127  # [m] half an inch with its gasket (common practice, no source)
CLOSED = ("existing", "joined", "tested")  # stages in which a joint is made for good
LOOSE = ("dry_fitted",)


@dataclass(frozen=True)
class Fit:
    """Whether it fits at a spot, in words, and the working of the room it wants."""

    fits: Fits
    words: str
    needed: Working | None = None
    at_hand: float | None = None  # [m]


def length_text(context: Context, value: float) -> str:
    """A short length as a fitter reads it: inches or millimetres."""
    return f"{value * 1000.0:.0f} mm" if context.display == "si" else f"{value / 0.0254:.3g} in"


def fit_of(context: Context, spot: Spot, pump: Pump) -> Fit:
    """Room at a spot against what the circulator takes up.

    In a tube that is its face to face and a pair of flanges; in the place of a spacer its face to face alone,
    since the flanges are there. Without lengths it is unknown; a pipe shorter than what is wanted says no.
    """
    if pump.item.si.get("face_to_face") is None:
        return Fit("unknown", f"not known: the circulator's length flange to flange is not set ({pump.name})")
    plant = context.plant
    if spot.spacer:
        return _in_spacer(context, spot.spacer, pump)
    pipe = plant.pipes[spot.pipe]
    needed = _needed(pump)
    want = length_text(context, float(needed.value))
    if pipe.joined:
        words = f"no tube there: {pipe.start.item} and {pipe.end.item} are bolted flange to flange"
        return Fit("no", words, needed, 0.0)
    straight = pipe.si.straight
    if straight is not None:
        fits = straight >= float(needed.value)
        has = length_text(context, straight)
        words = f"{has} straight in {pipe.id}, {want} needed"
        return Fit("yes" if fits else "no", words, needed, straight)
    if pipe.si.length < float(needed.value):
        has = length_text(context, pipe.si.length)
        return Fit("no", f"{pipe.id} is only {has} long, {want} needed", needed, pipe.si.length)
    return Fit("unknown", f"not known: the straight length of {pipe.id} is not set; {want} needed", needed)


def _in_spacer(context: Context, spacer: str, pump: Pump) -> Fit:
    face = float(pump.item.si["face_to_face"])
    needed = given("f", "the circulator, flange to flange", face, "length", "typed")
    room = context.plant.items[spacer].si.get("face_to_face")
    want = length_text(context, face)
    if room is None:
        return Fit(
            "unknown", f"not known: the length of {spacer} flange to flange is not set; {want} needed", needed
        )
    has = length_text(context, float(room))
    if abs(float(room) - face) <= SLACK:
        return Fit("yes", f"takes the place of {spacer}, {has} flange to flange", needed, float(room))
    word = "shorter" if room < face else "longer"
    words = f"{spacer} is {has} flange to flange, {word} than the {want} of the circulator"
    # A gap can be filled with a piece of tube where flanges can be added; a short one cannot be stretched.
    longer = float(room) >= float(_needed(pump).value)
    if longer:
        return Fit("yes", f"{words}; a filler piece makes up the rest", needed, float(room))
    return Fit("no", words, needed, float(room))


def _needed(pump: Pump) -> Working:
    """Length of straight tube that a circulator with its flanges takes up."""
    si = pump.item.si
    face = given("f", "the circulator, flange to flange", float(si["face_to_face"]), "length", "typed")
    thick = si.get("flange_thickness")
    if thick is not None:
        flange = given("t", "thickness of one flange with its gasket", float(thick), "length", "typed")
    else:
        flange = given(
            "t", "thickness of one flange or union half with its gasket", USUAL_FLANGE, "length", "practice"
        )
    return derived("L", "straight tube it takes up", "length", "f + 2 * t", face, flange)


def best_spot(context: Context, place: Place, pump: Pump) -> tuple[Spot | None, Fit]:
    """The spot of a place with the most certain room; of equals, flange to flange first."""
    if place.tees is not None:
        return None, _leg_fit(context, place, pump)
    judged = [(spot, fit_of(context, spot, pump)) for spot in place.spots]
    return min(judged, key=lambda pair: RANK[pair[1].fits])


def _leg_fit(context: Context, place: Place, pump: Pump) -> Fit:
    """A leg beside the first wants room of its own, which nobody has measured."""
    if pump.item.si.get("face_to_face") is None:
        return Fit("unknown", f"not known: the circulator's length flange to flange is not set ({pump.name})")
    needed = _needed(pump)
    want = length_text(context, float(needed.value))
    words = (
        f"not known: a leg beside {place.at} needs {want} and two tees; the room beside it is not in the file"
    )
    return Fit("unknown", words, needed)


def to_open(plant: Plant, place: Place, spot: Spot | None) -> tuple[str, ...]:
    """What must be unbolted or cut open, by the stages of what is there."""
    if place.tees is not None:
        out = []
        for tee in place.tees:
            if tee.pipe:
                out.append(_cut(plant, tee.pipe, "for a tee"))
            else:
                out.append(_tapped(plant, tee.joint))
        if not place.own_check:
            ends = [p for p in plant.pipes.values() if (place.at, "out") in (p.start, p.end)]
            out += [_cut(plant, ends[0].id, f"for a check valve behind {place.at}")] if ends else []
        return tuple(text for text in dict.fromkeys(out) if text)
    assert spot is not None
    if spot.spacer:
        done = plant.items[spot.spacer].stage in CLOSED
        return (f"unbolt {spot.spacer}" if done else f"leave {spot.spacer} out",)
    out = []
    if spot.touches:
        if plant.items[spot.touches].stage in CLOSED:
            out.append(f"unbolt {spot.touches} at its {'outlet' if spot.port == 'out' else 'inlet'}")
        elif plant.items[spot.touches].stage in LOOSE:
            out.append(f"take {spot.touches} apart at its {'outlet' if spot.port == 'out' else 'inlet'}")
    pipe = plant.pipes[spot.pipe]
    if pipe.joined:
        if not spot.touches and pipe.stage in CLOSED:
            out.append(f"unbolt {pipe.id}")
    else:
        out.append(_cut(plant, spot.pipe, "to let it in"))
    return tuple(text for text in out if text) or ("nothing: it is only drawn so far",)


def cuts(plant: Plant, place: Place, spot: Spot | None) -> int:
    """How much made work is undone: cuts count two, unbolting one."""
    texts = to_open(plant, place, spot)
    return sum(2 if t.startswith("cut") else 1 if t.startswith("unbolt") else 0 for t in texts)


def _cut(plant: Plant, pipe: str, why: str) -> str:
    found = plant.pipes[pipe]
    if found.stage in CLOSED:
        return f"cut {pipe} {why} ({found.stage})"
    if found.stage in LOOSE:
        return f"take {pipe} out, dry-fitted, {why}"
    if found.stage == "bought":
        return f"leave room in {pipe} {why} (bought, not yet joined)"
    return ""


def _tapped(plant: Plant, joint: str) -> str:
    pipes = [p for p in plant.pipes.values() if joint in (p.start.item, p.end.item)]
    return f"cut {joint} for a further branch" if any(p.stage in CLOSED for p in pipes) else ""
