"""A small whole plant as JSON data, for tests of reading and writing; change a copy of it."""

from __future__ import annotations

import copy
from typing import Any

SMALL: dict[str, Any] = {
    "format": "wetside-plant",
    "version": 2,
    "title": "Tool shed",
    "units": "us",
    "site": {"outdoor_design": "5 degF", "cold_water": "48 degF", "indoor": "68 degF", "altitude": "900 ft"},
    "systems": {
        "potable": {"use": "potable", "fluid": {"kind": "water"}},
        "floor": {
            "use": "closed",
            "fluid": {"kind": "propylene_glycol", "fraction": 0.35},
            "fill_pressure": "15 psi",
        },
    },
    "items": [
        {
            "id": "B-1",
            "kind": "boiler",
            "at": [0, 0],
            "props": {"capacity": "40 kBtu/h", "set_temperature": "120 degF"},
        },
        {
            "id": "P-1",
            "kind": "circulator",
            "at": [100, 0],
            "turn": 90,
            "flip": True,
            "label": "Floor pump",
            "note": "Bought in May",
            "stage": "bought",
            "props": {
                "curve": [["0 gpm", "19 ft_head"], ["8 gpm", "15 ft_head"], ["16 gpm", "6 ft_head"]],
                "control": "delta_t",
                "target": "10 delta_degF",
                "senses": [["B-1", "out"], ["B-1", "in"]],
                "speed": 1.0,
                "run_when": {"any": ["AQ-1", {"not": "SW-1"}]},
                "body": "unknown",
            },
        },
        {"id": "J-1", "kind": "joint", "at": [200, 0]},
        {"id": "ET-1", "kind": "expansion_tank", "at": [200, 60], "props": {"precharge": "12 psi"}},
        {
            "id": "FC-1",
            "kind": "floor_circuit",
            "at": [300, 0],
            "props": {
                "tube": {"material": "pex", "size": "1/2 in"},
                "loops": ["240 ft", [2, "250 ft"]],
                "serves": "R-1",
            },
        },
        {
            "id": "R-1",
            "kind": "room",
            "at": [400, 0],
            "props": {"loss": "250 Btu/h/degF", "wanted": "68 degF"},
        },
        {"id": "T-1", "kind": "tank", "at": [0, 300], "props": {"taps": {"hot": "4 ft", "cold": "4 in"}}},
        {"id": "F-1", "kind": "fixture", "at": [100, 300]},
        {
            "id": "AQ-1",
            "kind": "aquastat",
            "at": [0, 400],
            "props": {"senses": ["T-1", "hot"], "set_temperature": "120 degF"},
        },
        {"id": "SW-1", "kind": "switch", "at": [50, 400]},
    ],
    "pipes": [
        {
            "id": "L-1",
            "from": ["B-1", "out"],
            "to": ["P-1", "in"],
            "system": "floor",
            "tube": {"material": "copper_l", "size": "1 in"},
            "length": "6 ft",
            "fittings": {"elbow_90": 2, "tee_run": 1},
            "k": 0.5,
            "straight": "1 ft",
            "insulation": {"thickness": "1/2 in", "conductivity": "0.04 W/m/K"},
            "around": "68 degF",
            "via": [[420, 240]],
            "label": "Supply",
            "note": "warm",
        },
        {"id": "L-2", "from": ["P-1", "out"], "to": ["J-1", "at"], "system": "floor", "joined": "flanged"},
        {
            "id": "L-3",
            "from": ["J-1", "at"],
            "to": ["ET-1", "at"],
            "system": "floor",
            "tube": {"bore": "13 mm", "roughness": "0.002 mm", "outside": "16 mm"},
            "length": "0 ft",
        },
        {
            "id": "L-4",
            "from": ["J-1", "at"],
            "to": ["FC-1", "in"],
            "system": "floor",
            "tube": {"material": "pex", "size": "3/4 in"},
            "length": "2 1/2 ft",
            "insulation": {"loss": "0.5 W/m/K"},
        },
        {
            "id": "L-5",
            "from": ["FC-1", "out"],
            "to": ["B-1", "in"],
            "system": "floor",
            "tube": {"material": "pex", "size": "3/4 in"},
            "length": "3 m",
            "stage": "dry_fitted",
        },
        {
            "id": "L-6",
            "from": ["T-1", "hot"],
            "to": ["F-1", "hot"],
            "system": "potable",
            "tube": {"material": "copper_l", "size": "1/2 in"},
            "length": "12 ft",
        },
    ],
    "cases": [
        {
            "name": "Design night",
            "outdoor": "5 degF",
            "signals": {"AQ-1": True},
            "draws": {"F-1": "2 gpm"},
            "tanks": {"T-1": {"hot": "118 degF", "cold": "60 degF"}},
            "season": "winter",
            "hours_per_year": 600,
        },
        {"name": "Rest"},
    ],
    "texts": [{"at": [0, 0], "text": "Mind the step", "lead_to": "B-1"}],
    "logbook": [
        {
            "id": "D-1",
            "at": ["P-1"],
            "date": "2026-05-01",
            "choice": "the smaller pump",
            "weighed": ["the larger"],
            "figures": [
                {"path": "items.P-1.flow_m3_s", "value": 0.0005, "unit": "m3/s", "case": "Design night"}
            ],
            "because": "quieter",
        },
    ],
    "readings": [
        {
            "date": "2026-06-01",
            "case": "Rest",
            "at": ["P-1", "in"],
            "what": "pressure",
            "value": "14 psi",
            "error": "1 psi",
        }
    ],
    "accepted": [
        {
            "key": "et-precharge:ET-1",
            "because": "set on site",
            "by": "me",
            "checked_with": ["gauge"],
            "date": "2026-06-02",
        }
    ],
}


def small() -> dict[str, Any]:
    """A copy to spoil."""
    return copy.deepcopy(SMALL)


def rich() -> dict[str, Any]:
    """The small plant with all that a file of version 2 may say besides."""
    data = small()
    data["sheet"] = {"number": "H-1", "date": "May", "revisions": [["A", "May", "first"]]}
    data["site"]["cold_water"] = {"guess": "48 degF", "within": "4 delta_degF"}
    data["items"] += [
        {"id": "F-9", "kind": "fixture", "at": [0, 500]},
        {"id": "TM-1", "kind": "timer", "at": [0, 600], "props": {"on": [["22:00", "06:00"]]}},
        {"id": "TM-2", "kind": "timer", "at": [0, 700], "props": {"every": "1 h", "for": "5 min"}},
    ]
    boiler = data["items"][0]["props"]
    boiler |= {"efficiency": {"guess": 0.9, "within": 0.05}, "min_on": "3 min", "post_run": "2 min"}
    data["pipes"][0]["length"] = {"guess": "6 ft", "within": 0.3}
    data["cases"].append(
        {
            "name": "An hour",
            "lasts": "1 h",
            "start": {"R-1": "60 degF"},
            "set": {"P-1": {"speed": 0.5}, "L-1": {"length": "9 ft", "out_of_service": True}},
        }
    )
    data["profiles"] = {
        "showers": {"points": [["00:00", "0 gpm"], ["06:30", "2 gpm"]], "repeat": "day"},
        "people": {"points": [["mon 00:00", "0 W"], ["sat 09:00", "300 W"]], "repeat": "week"},
    }
    data["runs"] = [
        {
            "name": "A day",
            "case": "An hour",
            "hours": 24,
            "weather": {"low": "0 degF", "high": "20 degF"},
            "limits": {"longest_call": "2 h", "room_short": 4},
            "draws": {"F-9": "showers"},
            "gains": {"R-1": "people"},
            "start": {"R-1": "60 degF"},
        }
    ]
    return data
