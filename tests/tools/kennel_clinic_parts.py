"""The parts that the scripts of the kennel clinic share; figures are our own invention."""

from __future__ import annotations

from typing import Any

from tests.tools.drafting import Drafter

SITE = {"outdoor_design": "-2 degF", "cold_water": "46 degF", "indoor": "68 degF", "altitude": "1250 ft"}
SYSTEMS = {
    "potable": {"use": "potable", "fluid": {"kind": "water"}},
    "heating": {"use": "closed", "fluid": {"kind": "water"}, "fill_pressure": "15 psi"},
}
HALF, THREE_4, INCH = "copper_l 1/2 in", "copper_l 3/4 in", "copper_l 1 in"
CV = {HALF: 15, THREE_4: 30, INCH: 47}
WRAP = {"insulation": {"thickness": "1 in", "conductivity": "0.036 W/m/K"}}
FLOOR_DRAIN = "to the floor drain, full size, air gap"
ROOMS = [  # number, name, loss, wanted, gain, heat stored, floor
    (1, "Kennel hall", "340 Btu/h/degF", "66 degF", "2 kBtu/h", "6800 Btu/degF", "975 ft2"),
    (2, "Exam rooms", "145 Btu/h/degF", "68 degF", "800 Btu/h", "2100 Btu/degF", "640 ft2"),
    (3, "Waiting room", "165 Btu/h/degF", "68 degF", "600 Btu/h", "2400 Btu/degF", "420 ft2"),
    (4, "Office", "115 Btu/h/degF", "68 degF", "500 Btu/h", "1700 Btu/degF", "260 ft2"),
    (5, "Surgery", "256 Btu/h/degF", "72 degF", "1500 Btu/h", "1900 Btu/degF", "300 ft2"),
]
FLOORS, WING, TANK, FROST = ["TH-1", "TH-2"], ["TH-3", "TH-4", "TH-5"], "AQ-1", "AQ-3"
ALL = {"any": [*FLOORS, *WING, TANK, FROST]}
ROOTLESS = ("room", "thermostat", "aquastat", "outdoor_reset", "outlet")
MOTOR = {"watts": "7 W", "amps": "0.06 A"}
REDUCED = {"class": "reduced_pressure"}
DOWN = ("drain", "expansion_tank")


class Clinic(Drafter):
    """The drafter with this plant's usual parts; `level` is the height of what is put on the board."""

    level = "0 ft"

    def item(self, name: str, kind: str, x: float, y: float, turn: int = 0, **more: Any) -> str:
        """Put a symbol on the board at the present level."""
        if kind not in ROOTLESS and self.level != "0 ft":
            more.setdefault("height", self.level)
        return super().item(name, kind, x, y, turn, **more)

    def valve(self, name: str, x: float, y: float, tube: str, turn: int = 0, flip: bool = False) -> None:
        """A full-bore shut-off of the tube's size."""
        self.item(name, "shutoff", x, y, turn, flip=flip, cv=CV[tube], open=True)

    def hose_valve(self, name: str, x: float, y: float, tube: str, turn: int = 0, flip: bool = False) -> None:
        """A shut-off with a hose tap, to let the pressure off what it parts."""
        self.item(name, "service_valve", x, y, turn, flip=flip, cv=CV[tube], open=True)

    def circulator(self, name: str, x: float, y: float, points: dict[float, float], **props: Any) -> None:
        """A wet-rotor circulator; its curve in gpm and feet."""
        curve = [[f"{flow:g} gpm", f"{head:g} ft_head"] for flow, head in points.items()]
        flanges = {"connection": "flanged", "face_to_face": "6 1/2 in", "flange_thickness": "1/2 in"}
        props = {"body": "cast_iron", "shaft": "horizontal", **flanges} | props
        self.item(name, "circulator", x, y, curve=curve, powered_by="OU-2", **props)

    def on(self, system: str, joint: str, name: str, kind: str, **props: Any) -> None:
        """What stands on a joint; drains and expansion tanks hang from it."""
        x, y = next(item["at"] for item in self.data["items"] if item["id"] == joint)
        self.item(name, kind, x, y + 40 if kind in DOWN else y - 40, **props)
        self.run(system, THREE_4 if kind == "relief_valve" else HALF, joint, "4 in", name)

    def relief(self, joint: str, name: str, capacity: str, **props: Any) -> None:
        """A relief valve of 30 psi on a joint of the heating."""
        limits = {"set_pressure": "30 psi", "capacity": capacity, "inlet_size": "3/4 in"}
        self.on("heating", joint, name, "relief_valve", discharge=FLOOR_DRAIN, **limits, **props)
