"""How high a diagram's lettering comes out on a sheet, on how many sheets, and which sheet holds it whole.

ISO 3098 has no lettering below 2.5 mm (from memory). No layout, no painting.
"""

from __future__ import annotations

from dataclasses import dataclass

from core.diagram import control_lines
from core.diagram.plans import FULL
from core.diagram.routes import route
from core.diagram.sheets import SIZES, Sheet
from core.diagram.zones import zones
from core.plant.model import Plant

CAPITALS = 2.5  # at full lettering [mm]
METRIC = ("a4", "a3", "a2", "a1", "a0")
INCH = ("letter", "legal", "tabloid", "arch_b", "arch_c", "ansi_c", "arch_d", "ansi_d")


@dataclass(frozen=True)
class Lettering:
    """Height of the diagram's capitals [mm], the sheets that it takes, and the least that holds it whole."""

    capitals: float
    sheets: int
    larger: str = ""

    @property
    def small(self) -> bool:
        """Whether capitals are lower than they should be."""
        return self.capitals < CAPITALS - 1e-6

    @property
    def words(self) -> str:
        """Where capitals are small or the diagram is cut, a sentence that says so; else empty."""
        if self.small:
            return f"Capitals on the diagram are {self.capitals:.1f} mm high, less than {CAPITALS} mm."
        return f"Cut over {self.sheets} sheets, so that capitals are {CAPITALS} mm high." * (self.sheets > 1)


def lettering(plant: Plant, sheet: Sheet, full: bool = True) -> Lettering:
    """What `full` lettering, or fitting the diagram to the sheet, comes to on a sheet."""
    lines = route(plant)
    wires = control_lines.wires(plant, lines)
    placed = zones(plant, lines, sheet, FULL if full else None, wires)
    found = Lettering(min(CAPITALS, CAPITALS * placed.plan.scale / FULL[0]), len(placed.numbers))
    if placed.plan.single and not found.small:
        return found
    family = METRIC if sheet.name in METRIC else INCH
    larger = (Sheet(name, *SIZES[name]) for name in (*family, *INCH, *METRIC))
    plans = ((other.name, zones(plant, lines, other, FULL, wires).plan) for other in larger)
    whole = (name for name, plan in plans if plan.single and plan.scale >= FULL[0] - 1e-9)
    return Lettering(found.capitals, found.sheets, next(whole, ""))


def named(sheet: str) -> str:
    """A size of paper as it is written: ARCH D, A3, tabloid."""
    return sheet if sheet in ("letter", "legal", "tabloid") else sheet.upper().replace("_", " ")


def advice(plant: Plant, sheet: Sheet, full: bool) -> str:
    """One line for the command: how the diagram lies, and the ways to have it otherwise; else empty."""
    found = lettering(plant, sheet, full)
    whole = f"--sheet {found.larger} sets it on one" if found.larger else ""
    if found.small and not full:
        tiled = lettering(plant, sheet).sheets
        ways = ["--scale full"] if tiled == 1 else [
            f"--scale full over {tiled} {named(sheet.name)} sheets",
            whole and f"--sheet {found.larger} on one",
        ]  # fmt: skip
        return (
            f"capitals on the diagram are {found.capitals:.1f} mm high; 2.5 mm: "
            f"{', or '.join(way for way in ways if way)}"
        )
    if found.sheets > 1:
        ways = [whole, "--scale fit, with small lettering"]
        return (
            f"the diagram is cut over {found.sheets} {named(sheet.name)} sheets, so that capitals are 2.5 mm "
            f"high; {', or '.join(way for way in ways if way)}"
        )
    return ""
