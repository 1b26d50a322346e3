"""Make the property tables of core/media: `python tests/tools/make_media_tables.py`.

Water: IAPWS-97 density and heat capacity, IAPWS 2008 viscosity, IAPWS 2011 conductivity, from the package
iapws, at 2 bar absolute. Two bar lies midway: at any pressure from 1 to 3 bar the density is within 0.006 %.
Glycols: the ASHRAE Fundamentals tables by volume, as CoolProp fits them (incompressible fluids AEG and APG).
Only the program's tests need those packages; the program reads the csv files that this script writes.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import numpy as np

MEDIA = Path(__file__).resolve().parents[2] / "core" / "media"
ZERO_CELSIUS = 273.15  # [K]
WATER_PRESSURE = 0.2  # [MPa] absolute; the saturation pressure at 120 degC is 0.199 MPa
WATER_CELSIUS = np.arange(0.0, 120.1, 5.0)
GLYCOL_CELSIUS = np.arange(-35.0, 100.1, 5.0)
GLYCOL_PERCENT = np.arange(10, 61, 5)
COLUMNS = ["density_kg_m3", "viscosity_Pa_s", "heat_capacity_J_kg_K", "conductivity_W_m_K"]
# Degree of the polynomial in temperature that continues a column below its freezing point.
DEGREES = {"D": 2, "V": 3, "C": 1, "L": 2}


def water_rows() -> list[list[str]]:
    """Rows of the water table: temperature [degC], then COLUMNS."""
    from iapws import IAPWS97

    rows = []
    for celsius in WATER_CELSIUS:
        state = IAPWS97(T=celsius + ZERO_CELSIUS, P=WATER_PRESSURE)
        values = (state.rho, state.mu, state.cp * 1000.0, state.k)
        rows.append([f"{celsius:g}", *(f"{value:.9g}" for value in values)])
    return rows


def glycol_rows(code: str) -> list[list[str]]:
    """Rows of one glycol: percent by volume, freezing point and temperature [degC], extended, COLUMNS."""
    from CoolProp.CoolProp import PropsSI

    rows = []
    for percent in GLYCOL_PERCENT:
        fluid = f"INCOMP::{code}[{percent / 100:g}]"
        freezing = PropsSI("T_freeze", "T", 298.15, "P", 3e5, fluid) - ZERO_CELSIUS
        liquid = GLYCOL_CELSIUS[freezing < GLYCOL_CELSIUS]
        columns = []
        for key, degree in DEGREES.items():
            # the library refuses its own lower end by a rounding error, hence the nudge
            kelvins = np.maximum(liquid + ZERO_CELSIUS, GLYCOL_CELSIUS[0] + ZERO_CELSIUS + 1e-6)
            known = np.array([PropsSI(key, "T", t, "P", 3e5, fluid) for t in kelvins])
            columns.append(_continued(liquid, known, degree, logarithmic=key == "V"))
        for i, celsius in enumerate(GLYCOL_CELSIUS):
            extended = "yes" if celsius <= freezing else "no"
            figures = (f"{column[i]:.9g}" for column in columns)
            rows.append([str(percent), f"{freezing:.4f}", f"{celsius:g}", extended, *figures])
    return rows


def _continued(liquid: np.ndarray, known: np.ndarray, degree: int, logarithmic: bool) -> np.ndarray:
    """Values at all GLYCOL_CELSIUS: as known where liquid, below that a polynomial through the coldest 60 K.

    Below its freezing point a mixture has no value of its own; a value is needed there only to blend with the
    next stronger mixture, which is still liquid at that temperature.
    """
    scale, back = (np.log, np.exp) if logarithmic else (np.array, np.array)
    near = liquid <= liquid[0] + 60.0
    fit = np.polynomial.Polynomial.fit(liquid[near], scale(known[near]), degree)
    missing = len(GLYCOL_CELSIUS) - len(liquid)
    return np.concatenate([back(fit(GLYCOL_CELSIUS[:missing])), known])


def write(name: str, notes: list[str], header: list[str], rows: list[list[str]]) -> None:
    """Write one table with its source in comment lines at the head."""
    with (MEDIA / name).open("w", encoding="utf-8", newline="") as file:
        file.writelines(f"# {note}\n" for note in notes)
        csv.writer(file, lineterminator="\n").writerows([header, *rows])


def main() -> int:
    """Write the three tables."""
    import CoolProp
    import iapws

    made = "Made by tests/tools/make_media_tables.py; do not edit by hand."
    water = (
        "Water at 2 bar absolute. Source: IAPWS-97 density and heat capacity, IAPWS 2008 viscosity, "
        f"IAPWS 2011 conductivity, computed with iapws {iapws.__version__}."
    )
    write("water.csv", [water, made], ["temperature_C", *COLUMNS], water_rows())
    extended = "extended = yes: at or below freezing; continued there only to blend neighbouring mixtures."
    header = ["percent_by_volume", "freezing_C", "temperature_C", "extended", *COLUMNS]
    for name, code in (("ethylene_glycol", "AEG"), ("propylene_glycol", "APG")):
        source = (
            f"{name.replace('_', ' ').capitalize()} in water, percent by volume. Source: ASHRAE Fundamentals "
            f"tables as fitted in CoolProp {CoolProp.__version__}, INCOMP::{code}."
        )
        write(f"{name}.csv", [source, extended, made], header, glycol_rows(code))
    return 0


if __name__ == "__main__":
    sys.exit(main())
