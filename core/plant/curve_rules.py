"""What a curve of the user's own must be: what it says of a circulator, by a circulator's rules.

Drops and curves are in heads or in pressures, not mixed in one list. A curve needs two points and a first
head above 0. One typed as a pressure stays that pressure, whatever the density.
"""

from __future__ import annotations

from typing import Any

from core.plant.item_rules import check_props
from core.vocabulary import CIRCULATOR
from core.vocabulary.values import LONGEST_LABEL, read_object, read_text

CURVE_PROPS = (
    *("curve", "watts", "amps", "integral_check", "stopped_cv", "body", "potable_listed"),
    *("face_to_face", "connection", "flange_thickness", "max_pressure", "max_temperature"),
)
"""Properties of a circulator that a kept curve may carry beside its name and note."""


def check_curve(raw: Any, path: str = "") -> None:
    """A curve to choose from: {name, curve, note, watts, …}; refused as a circulator's would be."""
    given = read_object(raw, path, ("name", "note", *CURVE_PROPS), ("name", "curve"))
    read_text(given["name"], f"{path}.name", LONGEST_LABEL)
    read_text(given.get("note", ""), f"{path}.note")
    check_props(CIRCULATOR, {key: given[key] for key in CURVE_PROPS if key in given}, path)
