"""What is written down about the smaller samples: decisions with their figures, and days in time."""

from __future__ import annotations

from typing import Any

from tests.tools.kennel_clinic_records import figure

Entry = dict[str, Any]


def decision(
    number: int, date: str, at: list[str], choice: str, weighed: str, because: str, *figures: Entry
) -> Entry:
    """One entry of a logbook."""
    told = {"choice": choice, "weighed": [weighed], "figures": list(figures), "because": because}
    return {"id": f"D-{number}", "at": at, "date": date, **told}


def note(x: float, y: float, text: str, to: tuple[float, float]) -> list[dict[str, Any]]:
    """Words on the board that lead to a place."""
    return [{"at": [x, y], "text": text, "lead_to": list(to)}]


def accepted(by: str, checked_with: str, **because: tuple[str, ...]) -> list[dict[str, Any]]:
    """Findings that stay, each with its reason: rule = (reason, places …)."""
    return [
        {
            "key": f"{rule.replace('_', '-')}@{place}",
            "because": why,
            "by": by,
            "checked_with": checked_with,
        }
        for rule, (why, *places) in because.items()
        for place in places
    ]


BAKERY: dict[str, Any] = {
    "logbook": [
        decision(
            1,
            "2026-02-07",
            ["CT-1", "AQ-1"],
            "The tank goes first, for an hour at most",
            "rooms and tank together: 14 kW would be too little for a cold tank",
            "Nobody feels an hour without heat, and a stuck stat must not freeze the flat.",
            figure("items.CT-1.coil_duty_w", 11709, "W", "Tank first"),
        ),
        decision(
            2,
            "2026-02-14",
            ["TV-1", "OR-1"],
            "58 °C to the radiators on the coldest night, falling with the weather",
            "66 °C always: the boiler would not condense in spring",
            "The radiators of the old flat are large enough for it.",
            figure("items.TV-1.temperature_c", 58.0, "degC", "Design night"),
        ),
        decision(
            3,
            "2026-03-01",
            ["R-2", "RA-2"],
            "Open: the bedroom has no stat of its own",
            "a zone valve and a stat, or a thermostatic head on RA-2",
            "It follows the others and is too warm on mild days; first a spring with BV-2 throttled.",
            figure("items.R-2.temperature_c", 20.7, "degC", "Mild day"),
        ),
        decision(
            4,
            "2026-03-08",
            ["P-1", "B-1"],
            "Open: the boiler hardly condenses, as its pump moves three times what the rooms take",
            "a circulator that holds 12 K: 54 °C come back on the coldest night, but the tank gets 8.5 kW "
            "instead of 11.7 kW",
            "The shower comes first; it is looked at again when the pump is worn.",
            figure("pipes.L-28.temperature_out_c", 62.9, "degC", "Design night"),
        ),
    ],
    "profiles": {
        "shower": {
            "points": [["00:00", "0 L/min"], ["06:30", "9 L/min"], ["06:38", "0 L/min"]],
            "repeat": "day",
        }
    },
    "runs": [
        {
            "name": "A day in winter",
            "case": "Tank first",
            "hours": 24,
            "weather": {"low": "-6 degC", "high": "2 degC"},
            "draws": {"F-1": "shower"},
            "start": {"CT-1": "58 degC"},
        }
    ],
    "accepted": accepted(
        "the owner of the loft",
        "the heating installer",
        no_isolation=(
            "One flat, one closet without a wall left: for such work the main is shut and what hangs on it "
            "drained, 17 L of heating or the cooled tank",
            *("P-1", "P-2", "P-3", "TV-1", "CT-1", "MV-1"),
        ),
        no_strainer=("MV-1 has screens in its inlets; they are cleaned with the yearly service", "MV-1"),
    ),
    "texts": note(930, 800, "Open: the bedroom has no stat and is too warm on mild days.", (1010, 762)),
}
ORCHARD: dict[str, Any] = {
    "logbook": [
        decision(
            1,
            "2025-09-20",
            ["HP-1", "H-1"],
            "A heat pump for the winter, and 8 kW of electric help for the coldest nights",
            "a heat pump a size larger: it would start and stop from October to May",
            "Help is wanted on some 150 hours a year.",
            figure("items.HP-1.duty_w", 10971, "W", "Design night"),
        ),
        decision(
            2,
            "2025-10-04",
            ["P-2", "DB-1"],
            "The circulator of the zones holds 9 ft, and a bypass opens at 12 ft",
            "fixed speed: the valves would whistle with one zone open",
            "Zones open and shut all day.",
            figure("items.P-2.head_m", 2.74, "m", "Design night"),
        ),
        decision(
            3,
            "2026-01-11",
            ["FN-1", "HP-1"],
            "Open: the packing hall is short by a little on the coldest night",
            "the weather line of H-1 four degrees higher; 62 °F let go to 61 °F",
            "The heat pump gives all it can: no circulator cures that.",
            figure("items.HP-1.running", True, "", "Design night"),
            figure("items.FN-1.delivered_w", 5860, "W", "Design night"),
        ),
    ],
    "runs": [
        {
            "name": "A cold day",
            "case": "Design night",
            "hours": 24,
            "weather": {"low": "12 degF", "high": "28 degF"},
            "start": {"BT-1": "105 degF"},
        }
    ],
    "accepted": accepted(
        "the orchard's fitter",
        "the owner of the packhouse",
        no_isolation=(
            "The loop is drained at the purge sets in a quarter of an hour, when nothing is packed",
            *("H-1", "P-1", "P-2"),
        ),
        room_without_stat=("A cloakroom: a stat and a valve are bought when somebody minds", "R-4"),
    ),
    "texts": note(
        780, 790, "Open: FN-1 is short on the coldest night, when HP-1 gives all it can.", (940, 752)
    ),
}
SCHOOL: dict[str, Any] = {
    "logbook": [
        decision(
            1,
            "2025-06-14",
            ["B-1", "B-2"],
            "Two boilers of 36 kW",
            "one of 70 kW: nothing is left when it fails in the holidays",
            "Either carries both floors and half of the classrooms.",
            figure("items.B-1.duty_w", 32810, "W", "Design night"),
        ),
        decision(
            2,
            "2025-06-21",
            ["MV-1", "BT-1"],
            "Floors at 38 °C behind a buffer",
            "a mixing valve on the header: one classroom of floor asks less than a boiler can give",
            "The floor wing alone would make the boilers start and stop.",
            figure("items.MV-1.temperature_c", 38.0, "degC", "Design night"),
        ),
        decision(
            3,
            "2025-08-30",
            ["P-3", "RA-5"],
            "Open: the south classrooms lose a twentieth while the north ones call",
            "a second circulator in the far half of the supply; 35 mm tube in the first half",
            "Both halves still get what they want on the coldest night: wait for complaints.",
            figure("items.P-3.head_m", 2.4, "m", "Design night"),
        ),
    ],
    "accepted": accepted(
        "the school's caretaker",
        "the heating installer",
        no_isolation=(
            "Pumps and mixing valve are changed in the summer holidays, when a wing may be drained",
            *("P-1", "P-2", "P-3", "P-4", "P-5", "P-6", "MV-1"),
        ),
        no_purge_point=(
            "The short loop of the mixing valve fills with the buffer, which has a vent of its own",
            "P-5",
        ),
    ),
    "texts": note(
        110, 800, "Open: RA-5 to RA-8 lose a twentieth while TH-1 calls (they share the supply).", (160, 704)
    ),
}
