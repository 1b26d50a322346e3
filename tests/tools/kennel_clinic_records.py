"""What is written down about the kennel clinic: decisions, runs in time, title block, words on the board."""

from __future__ import annotations

from typing import Any

NIGHT, COLD, SUMMER = "Design night", "Washing on a cold morning", "Washing in summer"


def figure(path: str, value: Any, unit: str = "", case: str = "") -> dict[str, Any]:
    """One figure of the day a decision was made."""
    more = {"unit": unit} if unit else {}
    return {"path": path, "value": value, **more, **({"case": case} if case else {})}


LOGBOOK: list[dict[str, Any]] = [
    {
        "id": "D-1",
        "at": ["B-1"],
        "date": "2026-09-12",
        "choice": "One condensing boiler of 110 kBtu/h",
        "weighed": ["90 kBtu/h with the rooms off while the tank charges", "two boilers of 60 kBtu/h"],
        "figures": [
            figure("items.B-1.duty_w", 26350, "W", COLD),
            figure("items.B-1.duty_w", 21490, "W", NIGHT),
        ],
        "because": "Washing goes on all winter mornings: rooms and tank are to be warm at once.",
    },
    {
        "id": "D-2",
        "at": ["P-1", "HS-1"],
        "date": "2026-09-19",
        "choice": "The boiler's circulator holds 35 °F",
        "weighed": ["fixed speed: in mild weather the return would rise above 130 °F"],
        "figures": [
            figure("items.P-1.props.target", "35 delta_degF"),
            figure("pipes.L-15.temperature_out_c", 50.6, "degC", NIGHT),
        ],
        "because": "Water comes back at 123 °F whatever is called, so that the flue gas condenses.",
    },
    {
        "id": "D-3",
        "at": ["MV-2", "OR-1", "AQ-2"],
        "date": "2026-10-03",
        "choice": "Floors at 110 °F on the coldest night; a limit at 120 °F stops their circulator",
        "weighed": ["closer tube and 100 °F", "no limit: the boiler's 158 °F could come through"],
        "figures": [
            figure("items.MV-2.temperature_c", 43.3, "degC", NIGHT),
            figure("items.FC-1.delivered_w", 6680, "W", NIGHT),
        ],
        "because": "The dogs lie on the slab, and the sheet floor upstairs bears no more.",
    },
    {
        "id": "D-4",
        "at": ["MV-1", "MV-3"],
        "date": "2026-10-10",
        "choice": "Loop at 128 °F, and a valve listed for the point of use ahead of bath and sink",
        "weighed": ["120 °F at the master valve: the loop would come back below 122 °F"],
        "figures": [
            figure("items.MV-1.temperature_c", 53.3, "degC", SUMMER),
            figure("pipes.L-123.temperature_out_c", 52.8, "degC", SUMMER),
        ],
        "because": "Hot enough against Legionella in the loop, mild where somebody's hands are.",
    },
    {
        "id": "D-5",
        "at": ["FN-1", "P-4", "L-64"],
        "date": "2026-11-07",
        "choice": "Open: the surgery stays short on the coldest night while the wing's radiators call",
        "weighed": [
            "3/4 in tube in place of the old 1/2 in: the walls would have to be opened",
            "a second circulator in L-62, where 12 in are straight, or in L-65, where only 6 in are",
            "a stronger circulator in place of P-4",
        ],
        "figures": [
            figure("items.FN-1.short_w", 229, "W", NIGHT),
            figure("pipes.L-64.velocity_m_s", 0.743, "m/s", NIGHT),
            figure("pipes.L-64.tube.size", "1/2 in"),
        ],
        "because": "Nothing is bought before the first winter has shown how often it is that cold.",
    },
]  # fmt: skip
LAST_MINUTES = (
    "Only the last minutes of charging go slowly: the tank pump never falls below four tenths of its speed, "
    "and the tank is held by its stat, not by the clock"
)
ACCEPTED = [
    {
        "key": f"difference-out-of-reach@{pump}#beyond_k=14.44",
        "because": LAST_MINUTES,
        "by": "the builder",
        "checked_with": "the boiler's installation manual and the inspector",
        "date": "2026-10-10",
    }
    for pump in ("P-1", "P-2")
]
PROFILES: dict[str, Any] = {
    "bath": {"points": [["00:00", "0 gpm"], ["08:00", "2.2 gpm"], ["08:20", "0 gpm"], ["14:00", "2.2 gpm"],
                        ["14:20", "0 gpm"]], "repeat": "day"},
    "runs": {"points": [["00:00", "0 gpm"], ["07:00", "2.2 gpm"], ["07:15", "0 gpm"], ["17:00", "2.2 gpm"],
                        ["17:15", "0 gpm"]], "repeat": "day"},
    "dogs": {"points": [["00:00", "2.4 kBtu/h"], ["07:00", "1.2 kBtu/h"], ["18:00", "2.4 kBtu/h"]],
             "repeat": "day"},
    "lamps": {"points": [["00:00", "0 Btu/h"], ["08:00", "2 kBtu/h"], ["17:00", "0 Btu/h"]], "repeat": "day"},
}  # fmt: skip
RUNS: list[dict[str, Any]] = [
    {
        "name": "A day in January",
        "case": COLD,
        "hours": 24,
        "weather": {"low": "4 degF", "high": "21 degF"},
        "draws": {"F-1": "runs", "F-3": "bath"},
        "gains": {"R-1": "dogs", "R-5": "lamps"},
        "start": {"CT-1": "138 degF"},
        "limits": {"starts_per_hour": 6, "room_short": 4, "wait": "30 s"},
    }
]
SHEET = {
    "number": "M-1",
    "owner": "Kennel clinic",
    "revisions": [["A", "2026-11-07", "for the first winter"]],
}
TEXTS = [
    {
        "at": [1300, 700],
        "text": "Open: on the coldest night FN-1 is short while RA-1 and RA-2 call. Ask W and the second "
        "circulator.",
        "lead_to": [1220, 610],
    }
]
RECORDS: dict[str, Any] = {
    "sheet": SHEET,
    "profiles": PROFILES,
    "runs": RUNS,
    "texts": TEXTS,
    "logbook": LOGBOOK,
    "accepted": ACCEPTED,
}
