"""What the parts of a rated point and of a past season are called, and an example of each. Words only."""

from __future__ import annotations

RATED = {
    "heat": "Heat",
    "flow": "Flow",
    "supply": "Supply",
    "room": "Room",
    "exponent": "Exponent",
    "duty": "Heat passed",
    "fuel": "Fuel burned",
    "degree_days": "Degree days",
    "efficiency": "Efficiency",
    "base": "Base of degree days",
    "not_for_heat": "Not for heating",
    "share": "Share of the house",
}
EXAMPLES = {
    "heat": "9 kBtu/h",
    "flow": "2 gpm",
    "supply": "160 degF",
    "room": "68 degF",
    "exponent": "1.3",
    "a_flow": "8 gpm",
    "a_in": "150 degF",
    "a_out": "130 degF",
    "b_flow": "6 gpm",
    "b_in": "100 degF",
    "b_out": "120 degF",
    "duty": "60 kBtu/h",
    "fuel": "900 therm",
    "degree_days": "6200 degF*day",
    "efficiency": "0.85",
    "base": "65 degF",
    "not_for_heat": "150 therm",
    "share": "0.2",
}
