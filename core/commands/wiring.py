"""`wetside wiring FILE`: what is wired, as text or JSON. The paper is made by `app.paper`, which needs Qt."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING

from core.commands.answering import hanging
from core.plant.model import Plant
from core.solve import Solution

if TYPE_CHECKING:
    from core.papers.wiring import WiringPoints


def show(plant: Plant, solutions: list[Solution], as_json: bool) -> int:
    """Print the points; 1 where a circuit is overloaded or a case was not solved."""
    from core.calls.receptacles import CAUTION
    from core.papers.wiring import QUESTIONS, wiring_points

    found = wiring_points(plant, solutions)
    if as_json:
        data = {
            "points": [point.as_data() for point in found.points],
            "circuits": [circuit.as_data() for circuit in found.circuits],
            "unfed": list(found.unfed),
            "questions": list(QUESTIONS),
            "cautions": [CAUTION],
        }
        print(json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1))
    else:
        lines = (f"{plant.title or 'untitled'} · wiring points", *_text(found), f"caution: {CAUTION}")
        print("\n".join(out for line in lines for out in hanging(line)))
    return needs_attention(found, solutions)


def needs_attention(found: WiringPoints, solutions: list[Solution]) -> int:
    """1 where a circuit is overloaded or a case was not solved, else 0."""
    return int(any(c.over for c in found.circuits) or not all(s.converged for s in solutions))


def _text(found: WiringPoints) -> Iterator[str]:
    for control, head in ((False, "DEVICES"), (True, "CONTROLS")):
        yield ""
        yield head
        for point in found.points:
            if point.is_control is not control:
                continue
            amps = "amps not set" if point.amps is None else f"{point.amps:.1f} A"
            on = ", ".join(point.receptacles) or point.powered_by or "no receptacle drawn"
            parts = [f"{point.at}: {point.what}"]
            if not control:
                parts += [amps, f"on {on}", f"called by {point.called_by}"]
            elif point.powered_by or point.receptacles:
                parts.append(f"on {on}")
            if point.calls:
                parts.append(f"calls {', '.join(point.calls)}")
            yield "  " + "; ".join(parts)
    yield ""
    yield "CIRCUITS"
    for circuit in found.circuits:
        said = circuit.worst.words() if circuit.worst is not None else "not solved"
        case = f" ({circuit.case})" if circuit.case else ""
        yield f"  {circuit.at}: {said}{case}; all at once {circuit.connected:.1f} A"
    if not found.circuits:
        yield "  none is drawn"
    yield ""
