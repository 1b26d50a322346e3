"""Rules of a circulator where it sits: its shaft, the pipe before it, its height, its inlet, its curve."""

from __future__ import annotations

from collections.abc import Iterator

from core.plant.model import Item, PortRef
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.straight import NEED_PUMP, straight_before
from core.review.study import Study
from core.review.zones import curve_points
from core.vocabulary import Trait

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
APART = 0.15  # [m] by which it must stand alone to be the lowest or highest
IN_LINE = 0.5  # share of another's water from which two circulators are in series
LARGER = 1.1


@rule(
    "shaft-not-horizontal",
    "Circulator's shaft not horizontal",
    Severity.MEND,
    "A wet rotor that stands on end wears its bearings, and air stays in it.",
    "three published trade texts",
    "Turn the motor so that the shaft lies level.",
    origin="circ-horizontal",
)
def shaft_not_horizontal(study: Study) -> Iterator[Found]:
    """Circulators whose shaft is said to lie otherwise, or not to be known."""
    for item in study.items(Trait.DRIVES):
        shaft = item.props.get("shaft")
        if shaft == "unknown":
            yield Found(
                (item.id,), f"How the shaft of {item.id} lies is not known.", severity=Severity.CONSIDER
            )
        elif shaft is not None and shaft != "horizontal":
            yield Found((item.id,), f"The shaft of {item.id} is {shaft}.")


@rule(
    "inlet-not-straight",
    "Little straight pipe before a circulator",
    Severity.CONSIDER,
    "Stirred water at its inlet makes noise and costs head; 10 to 12 diameters straight are usual.",
    "published trade article on faults seen",
    "Give it straight pipe before its inlet.",
    origin="circ-straight",
)
def inlet_not_straight(study: Study) -> Iterator[Found]:
    """Circulators with less than ten diameters of straight pipe at the inlet."""
    for item in study.items(Trait.DRIVES):
        found = straight_before(study, item, "in", NEED_PUMP) if item.id in study.runs.of else None
        if found is not None:
            yield Found((item.id, *found.pipes), found.text, found.figures, guess=found.guess)


@rule(
    "circulator-lowest-or-highest",
    "Circulator where dirt or air gathers",
    Severity.CONSIDER,
    "Dirt settles in the lowest part, air gathers in the highest.",
    "published trade texts",
    "Move it to a place between.",
    origin="circ-not-lowest",
)
def circulator_lowest_or_highest(study: Study) -> Iterator[Found]:
    """Circulators that stand alone at the bottom or the top of their body, by the heights typed."""
    for item in study.items(Trait.DRIVES):
        body = study.body_of(item)
        own = [study.height(PortRef(item.id, port)) for port in item.ports]
        others = [
            study.height(place)
            for place in body
            if place in study.runs.at and place.item != item.id and place.item in study.plant.items
        ]
        if not others or item.id not in study.runs.of:
            continue
        if max(own) < min(others) - APART:
            yield Found((item.id,), f"{item.id} is the lowest part of its water, where dirt settles.")
        elif min(own) > max(others) + APART:
            yield Found((item.id,), f"{item.id} is the highest part of its water, where air gathers.")


@rule(
    "circulators-in-series",
    "Unequal circulators in series",
    Severity.CONSIDER,
    "Without a separator or close tees between, the larger drags water through the smaller, or is held back "
    "by it.",
    PRACTICE,
    "Part their circuits by a separator or close tees.",
    origin="circ-series-conflict",
)
def circulators_in_series(study: Study) -> Iterator[Found]:
    """Pairs of which one's water mostly passes the other, with unlike curves and nothing that parts them."""
    said: set[frozenset[str]] = set()
    for one, shares in study.pushes.items():
        for other, share in shares.items():
            pair = frozenset((one, other))
            if share < IN_LINE or pair in said:
                continue
            said.add(pair)
            sizes = {key: _size(study.plant.items[key]) for key in (one, other)}
            small, large = sorted((one, other), key=lambda key: sizes[key] or 0.0)
            if sizes[small] and (sizes[large] or 0.0) > LARGER * (sizes[small] or 0.0):
                yield Found(
                    (large, small),
                    f"{large} and {small} drive the same water one after the other, and {large} is the "
                    "larger.",
                )


def _size(item: Item) -> float | None:
    """Greatest power a circulator gives its water, roughly: head at rest times last flow."""
    points = curve_points(item)
    return points[0][1] * points[-1][0] if points else None


@rule(
    "inlet-near-boiling",
    "Too little pressure at a circulator's inlet",
    Severity.CONSIDER,
    "Where the inlet nears the pressure at which its water boils, bubbles form in the impeller: noise, wear, "
    "no head.",
    "suction head by its definition; vapour pressure of Wagner and Pruss (1993); 3 m: common practice",
    "Raise the fill pressure below the relief valve's, or join the expansion tank at the inlet.",
    solved=True,
)
def inlet_near_boiling(study: Study) -> Iterator[Found]:
    """Running circulators with less than 3 m at their inlet above boiling."""
    from core.sizing.families.suction import BOILS, ENOUGH, margin

    context = study.sizing
    for solution, _ in study.each():
        for item in study.items(Trait.DRIVES):
            found = margin(context, item.id, solution.case) if solution.running(item.id) else None
            if found is not None and float(found.value) < ENOUGH:
                head = float(found.value)
                yield Found(
                    (item.id,),
                    f"{item.id} has {study.head(head)} at its inlet above boiling; small circulators want "
                    f"{study.head(ENOUGH)}.",
                    (Figure("margin_m", head, -1),),
                    solution.case,
                    Severity.MEND if head < BOILS else None,
                )


@rule(
    "no-curve",
    "Circulator without a curve",
    Severity.MEND,
    "Without its curve it moves nothing in any answer.",
    PRACTICE,
    "Type its curve, from its maker's sheet.",
)
def no_curve(study: Study) -> Iterator[Found]:
    """Circulators with no curve typed."""
    for item in study.items(Trait.DRIVES):
        if not item.si.get("curve"):
            yield Found((item.id,), f"{item.id} has no curve yet.")
