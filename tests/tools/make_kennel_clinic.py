"""Makes sample_plants/kennel_clinic.plant.json: one boiler for kennels, a surgery and much hot water.

Run `python -m tests.tools.make_kennel_clinic` from the checkout. The figures are our own invention; nothing
in the program reads this script. A condensing boiler on a hydraulic separator charges a tank by its coil;
there a delta-T circulator and the tank's aquastat share a loop. Floors hang behind a mixing valve that
follows the weather; an old line of thin tube serves two radiators and a fan coil: the open question.
"""

from __future__ import annotations

from pathlib import Path

from core.files import read, write
from tests.tools.kennel_clinic_heating import boiler, floors, header, tank, wing
from tests.tools.kennel_clinic_parts import FLOORS, ROOMS, SITE, SYSTEMS, WING, Clinic
from tests.tools.kennel_clinic_records import RECORDS
from tests.tools.kennel_clinic_water import hot, supply, tempered

OUT = Path(__file__).parents[2] / "sample_plants" / "kennel_clinic.plant.json"
MARGIN = 20  # left of all that is drawn: sheets begin at the origin of the board
SPOTS = {1: (90, 410), 2: (160, 410), 3: (960, 420), 4: (1090, 420), 5: (1250, 420)}


def controls(d: Clinic) -> None:
    """Room stats, tank stat, the floors' limit, the frost stat, the weather line, two outlets; the rooms."""
    for number, name, loss, wanted, gain, mass, floor in ROOMS:
        x, y = {1: (270, 340), 2: (400, 340)}.get(number, (900 + 140 * (number - 3), 800))
        heat = {"loss": loss, "wanted": wanted, "gain": gain, "mass": mass, "floor": floor}
        d.item(f"R-{number}", "room", x, y, label=name, **heat)
        band = {"set_temperature": wanted, "differential": "1 delta_degF", "call": True}
        label = f"{name} stat"
        d.item(f"TH-{number}", "thermostat", *SPOTS[number], label=label, senses=[f"R-{number}"], **band)
    band = {"set_temperature": "140 degF", "differential": "10 delta_degF", "makes_on": "fall"}
    d.item("AQ-1", "aquastat", 720, 80, label="Tank stat", senses=["CT-1", "mid"], call=True, **band)
    band = {"set_temperature": "120 degF", "differential": "5 delta_degF", "makes_on": "rise"}
    d.item("AQ-2", "aquastat", 340, 400, label="Floor limit", senses=["MV-2", "mixed"], **band)
    band = {"set_temperature": "45 degF", "differential": "5 delta_degF", "makes_on": "fall"}
    d.item("AQ-3", "aquastat", 1280, 610, label="Frost stat", senses=["FN-1", "out"], **band)
    line = [["-2 degF", "110 degF"], ["60 degF", "84 degF"]]
    d.item("OR-1", "outdoor_reset", 380, 580, label="Weather line", sets=["MV-2"], line=line)
    for name, x, y, label in (("OU-1", 60, 330, "Boiler circuit"), ("OU-2", 540, 60, "Pump circuit")):
        d.item(name, "outlet", x, y, label=label, rating="15 A", volts="120 V", on=True)


def cases(d: Clinic) -> None:
    """The coldest night, a mild day, the tank's turn in the cold, washing in summer, and rest."""
    still = dict.fromkeys([*FLOORS, *WING], False)
    warm = {"CT-1": "140 degF"}
    winter = {"top": "136 degF", "hot": "136 degF", "cold": "112 degF", "bottom": "108 degF"}
    summer = {"top": "136 degF", "hot": "136 degF", "cold": "96 degF", "bottom": "92 degF"}
    bath = {"F-3": "2.2 gpm"}
    idle = {"AQ-1": False}
    d.case("Design night", "-2 degF", idle, tanks=warm, season="winter", hours_per_year=350)
    d.case("Mild day", "42 degF", idle, tanks=warm, draws=bath, season="shoulder", hours_per_year=3400)
    more = {"draws": {"F-1": "2.2 gpm", **bath}, "season": "winter", "hours_per_year": 500}
    d.case("Washing on a cold morning", "18 degF", {}, tanks={"CT-1": winter}, **more)
    more = {"draws": {"F-1": "2.2 gpm", "F-2": "2.2 gpm"}, "season": "summer", "hours_per_year": 400}
    d.case("Washing in summer", "84 degF", {**still, "AQ-1": True}, tanks={"CT-1": summer}, **more)
    d.case("All off", "66 degF", {**still, **idle}, tanks=warm, season="summer", hours_per_year=4110)


def clinic() -> Clinic:
    """The whole plant."""
    d = Clinic("Kennel clinic", "us", SITE, SYSTEMS)
    for part in (boiler, header, tank, floors, wing, controls, supply, hot, tempered, cases):
        part(d)
    for bend in (
        *(one["at"] for one in d.data["items"]),
        *(b for p in d.data["pipes"] for b in p.get("via", ())),
    ):
        bend[0] += MARGIN
    d.data |= RECORDS
    return d


if __name__ == "__main__":
    OUT.write_text(write.dumps(read.from_data(clinic().data)), encoding="utf-8")
