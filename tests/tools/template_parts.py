"""The parts that the templates of `make_templates` share; figures are our own invention."""

from __future__ import annotations

from typing import Any

from tests.tools.drafting import Drafter

WITHIN = 0.5
SITE = {"outdoor_design": "10 degF", "cold_water": "50 degF", "indoor": "68 degF"}
WATER = {"use": "closed", "fluid": {"kind": "water"}, "fill_pressure": "15 psi"}
GLYCOL = {
    "use": "closed",
    "fluid": {"kind": "propylene_glycol", "fraction": 0.4},
    "fill_pressure": "15 psi",
}
DRINKING = {"use": "potable", "fluid": {"kind": "water"}}
HALF, THREE_4, INCH = "copper_l 1/2 in", "copper_l 3/4 in", "copper_l 1 in"
CV = {HALF: 15, THREE_4: 25, INCH: 50}
WRAP = {"insulation": {"thickness": "1 in", "conductivity": "0.036 W/m/K"}}
FULL_SIZE = "to the floor, full size, air gap"
SUPPLY, BACK, FEED = 240, 460, 100  # heights on the board of the lines of pipe
ROOMS = {"any": ["TH-1", "TH-2"]}
Logic = dict[str, Any]


class Template(Drafter):
    """The drafter with the parts that most plants share."""

    def __init__(self, title: str, **systems: Any) -> None:
        super().__init__(title, "us", dict(SITE), {**systems})
        self.counts: dict[str, int] = {}

    def name(self, letters: str) -> str:
        """The next free name."""
        self.counts[letters] = self.counts.get(letters, 0) + 1
        return f"{letters}-{self.counts[letters]}"

    def add(self, letters: str, kind: str, x: float, y: float, turn: int = 0, **more: Any) -> str:
        """A symbol with the next free name."""
        return self.item(self.name(letters), kind, x, y, turn, **more)

    def valve(self, x: float, y: float, tube: str, turn: int = 0, flip: bool = False) -> str:
        """A full-bore shut-off of the tube's size."""
        return self.add("V", "shutoff", x, y, turn, flip=flip, cv=CV[tube], open=True)

    def tee(self, x: float, y: float, letters: str = "", kind: str = "", up: bool = True) -> str:
        """A joint; with a kind, what stands or hangs on it."""
        joint = self.add("J", "joint", x, y)
        if kind:
            self.hang(joint, letters, kind, up=up)
        return joint

    def hang(self, joint: str, letters: str, kind: str, up: bool = True, **props: Any) -> str:
        """What stands on a joint or hangs from it, on a short pipe of the system that is drawn next."""
        x, y = next(item["at"] for item in self.data["items"] if item["id"] == joint)
        turn = 180 if kind == "gauge" and not up else 0
        name = self.add(letters, kind, x, y - 40 if up else y + 40, turn, **props)
        self.run(self.loop, THREE_4 if props else HALF, joint, "6 in", name)
        return name

    loop = "heating"

    def relief(self, x: float, y: float, capacity: str) -> str:
        """A joint with a relief valve of 30 psi."""
        joint = self.tee(x, y)
        props = {"set_pressure": "30 psi", "capacity": capacity, "inlet_size": "3/4 in"}
        self.hang(joint, "RV", "relief_valve", discharge=FULL_SIZE, **props)
        return joint

    def pump(self, x: float, y: float, run_when: Logic, head: float, flip: bool = False, **props: Any) -> str:
        """A circulator of invented size: full head at no flow, little at 14 gpm."""
        curve = [[f"{q} gpm", f"{head * share:g} ft_head"] for q, share in ((0, 1), (4, 0.9), (8, 0.65))]
        curve.append(["14 gpm", f"{head * 0.1:g} ft_head"])
        props = {"body": "cast_iron", "shaft": "horizontal", "watts": "45 W"} | props
        return self.add("P", "circulator", x, y, flip=flip, curve=curve, run_when=run_when, **props)

    def boiler(self, x: float, y: float, run_when: Logic, at: str, capacity: int = 40) -> str:
        """A condensing boiler; `capacity` in kBtu/h."""
        return self.add(
            "B",
            "boiler",
            x,
            y,
            label="Condensing boiler",
            capacity=f"{capacity} kBtu/h",
            min_output=f"{capacity // 8} kBtu/h",
            set_temperature=at,
            differential="10 delta_degF",
            water_content="1 gal",
            condensing=True,
            condensate="through a neutralizer to the floor drain",
            efficiency=0.94,
            drops=[["2 gpm", "0.3 psi"], ["4 gpm", "1.1 psi"], ["8 gpm", "4.2 psi"]],
            max_pressure="45 psi",
            high_limit="200 degF",
            low_water_cutoff=True,
            run_when=run_when,
        )

    def hot_start(self, boiler: str, y: float) -> str:
        """Relief, thermometer and stop behind a source; gives the stop."""
        relief, glass = self.relief(200, y, "150 kBtu/h"), self.tee(260, y, "TG", "thermometer")
        stop = self.valve(320, y, INCH)
        self.run(self.loop, INCH, f"{boiler}:out", "1 ft", relief, "6 in 1r", glass, "1 ft 1r", stop, **WRAP)
        return stop

    def tank(self, joint: str, volume: str = "4.5 gal") -> str:
        """An expansion tank under a joint."""
        props = {"volume": volume, "acceptance": "2.5 gal", "precharge": "15 psi", "max_pressure": "75 psi"}
        return self.hang(joint, "ET", "expansion_tank", up=False, **props)

    def make_up(self, joint: str, x: float) -> None:
        """Main, stop, backflow preventer, fill valve and check, down to the joint of the expansion tank."""
        main = self.add("CM", "cold_main", x - 310, FEED, label="Cold main", pressure="55 psi")
        stop = self.valve(x - 240, FEED, HALF)
        back = self.add(
            "BP",
            "backflow_preventer",
            x - 160,
            FEED,
            drops=[["2 gpm", "3 psi"]],
            **{"class": "reduced_pressure"},
        )
        fill = self.add("FV", "fill_valve", x - 80, FEED, set_pressure="15 psi")
        check = self.add("CV", "check_valve", x, 170, 90, k=2.0, size="1/2 in")
        self.run("potable", HALF, main, "4 ft", stop, "1 ft", back)
        self.run(self.loop, HALF, back, "1 ft", fill, ("3 ft 1e", [(x, FEED)]), check, "1 ft", joint)

    def head(self, x: float, run_when: Logic, feet: float, tube: str, **props: Any) -> tuple[str, str]:
        """Air separator, joint of the expansion tank, gauge, circulator and check between stops."""
        air = self.add("AS", "air_separator", x, SUPPLY, cv=CV[tube], size=tube.partition(" ")[2])
        joint = self.tee(x + 70, SUPPLY)
        self.tank(joint)
        gauge = self.tee(x + 130, SUPPLY, "PG", "gauge", up=False)
        first = self.valve(x + 180, SUPPLY, tube)
        pump = self.pump(x + 250, SUPPLY, run_when, feet, **props)
        check = self.add("CV", "check_valve", x + 320, SUPPLY, cv=CV[tube] / 2, opens_at="0.3 psi")
        stop = self.valve(x + 380, SUPPLY, tube)
        steps = (air, "1 ft", joint, "6 in 1r", gauge, "6 in 1r", first, "1 ft", pump, "18 in", check)
        steps = (*steps, "1 ft", stop)
        self.run(self.loop, tube, *steps, **WRAP)
        return air, stop

    def floors(self, before: str, x: float) -> str:
        """Two floor circuits with zone and balance valves; gives the joint of their returns."""
        top, low = self.add("J", "joint", x, SUPPLY), self.add("J", "joint", x + 190, SUPPLY + 120)
        warm = self.tee(x - 50, SUPPLY, "TG", "thermometer")
        self.run(self.loop, THREE_4, before, "2 ft", warm, "1 ft 1r", top, **WRAP)
        for n, down in ((1, 0), (2, 100)):
            y = SUPPLY + down
            zone = self.add("ZV", "zone_valve", x + 60, y, cv=4, run_when={"any": [f"TH-{n}"]})
            balance = self.add("BV", "balance_valve", x + 130, y, cv=2, setting=0.6)
            floor = self.floor(n, x + 270, y + 10)
            way: Any = ("6 in 1b 1e", [(x, y)]) if down else "6 in 1r"
            self.run(self.loop, HALF, top, way, zone, "6 in", balance, "10 ft 2e", floor)
            home: Any = "10 ft 2e 1b" if down else ("10 ft 2e 1r", [(x + 190, y + 20)])
            self.run(self.loop, HALF, floor, home, low)
            self.stat(n, x + 240 + 90 * (n - 1), 150)
        return low

    def floor(self, n: int, x: float, y: float) -> str:
        """One floor circuit."""
        return self.add(
            "FC",
            "floor_circuit",
            x,
            y,
            label=f"Floor {n}",
            area="200 ft2",
            construction="slab",
            tube={"material": "pex", "size": "1/2 in"},
            oxygen_barrier=True,
            loops=["250 ft"],
            spacing="9 in",
            output_per_degree="130 Btu/h/degF",
            room_temperature="68 degF",
            load="4.5 kBtu/h",
        )

    def stat(self, n: int, x: float, y: float) -> None:
        """The stat of room n."""
        at = {"set_temperature": "68 degF", "differential": "2 delta_degF", "call": True}
        self.item(f"TH-{n}", "thermostat", x, y, label=f"Room stat {n}", **at)

    def home(self, low: str, end: str, x: float, tube: str, left: float, via: Any) -> str:
        """Purge set, thermometer and stop along the return, to a port; gives the joint of the thermometer."""
        x_low = next(item["at"][0] for item in self.data["items"] if item["id"] == low)
        purge = self.add("PS", "purge_set", x, BACK, flip=True, cv=CV[tube])
        dirt = self.add(
            "DS", "dirt_separator", x - 80, BACK, flip=True, cv=CV[tube], size=tube.partition(" ")[2]
        )
        glass, stop = self.tee(x - 150, BACK, "TG", "thermometer"), self.valve(left, BACK, tube, flip=True)
        drain = self.tee(left - 70, BACK, "D", "drain", up=False)
        steps = (purge, "1 ft", dirt, "1 ft", glass, "1 ft 1r", stop, "1 ft", drain, ("4 ft 2e 1r", via), end)
        self.run(self.loop, tube, low, ("6 ft 2e", [(x_low, BACK)]), *steps, **WRAP)
        return glass

    def weather(self, *cases: tuple[str, str, dict[str, bool], str, int]) -> None:
        """Cases with their season and hours a year."""
        for name, outdoor, signals, season, hours in cases:
            self.case(name, outdoor, signals, season=season, hours_per_year=hours)

    def rooms(self) -> None:
        """Three cases of two room stats."""
        self.weather(
            ("Design night", "10 degF", {"TH-1": True, "TH-2": True}, "winter", 300),
            ("One room", "35 degF", {"TH-1": True, "TH-2": False}, "winter", 3500),
            ("All off", "72 degF", {"TH-1": False, "TH-2": False}, "summer", 4900),
        )

    def finished(self) -> dict[str, Any]:
        """The data, with every length a guess."""
        for pipe in self.data["pipes"]:
            pipe["length"] = {"guess": pipe["length"], "within": WITHIN}
        return self.data
