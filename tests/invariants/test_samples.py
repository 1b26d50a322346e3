"""The sample plants obey the same laws as the random ones: mass, friction, height and heat, in every case."""

from __future__ import annotations

import dataclasses
import math
from collections import defaultdict
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from core.files.read import load
from core.media.fluids import Fluid, fluid_of
from core.plant.model import Pipe, Plant
from core.solve import Solver, solve_plant
from tests.plants.edits import file_of
from tests.support.balance import factor
from tests.support.builders import G, Solved, area

FOLDER = Path(__file__).parents[2] / "sample_plants"
SAMPLES = sorted(path.name for path in FOLDER.glob("*.plant.json"))


@cache
def solved(name: str) -> tuple[Plant, list[tuple[str, Solved]]]:
    plant = load(FOLDER / name)
    return plant, [(one.case, Solved(one)) for one in solve_plant(plant)]


@cache
def fluids(name: str) -> dict[str, Fluid]:
    return {system: fluid_of(spec.si.fluid) for system, spec in solved(name)[0].systems.items()}


class Sums:
    """Flows and heats of one solved case of a sample."""

    def __init__(self, name: str, got: Solved) -> None:
        self.plant, self.got, self.fluids = solved(name)[0], got, fluids(name)
        self.pipes = {k: p for k, p in self.plant.pipes.items() if k in got.pipes and p.stage != "to_remove"}
        self.mass = {k: got.flow(k) * self.density(p) for k, p in self.pipes.items()}

    def mean(self, pipe: Pipe) -> float:
        return (self.got.warm(pipe.id) + self.got.warm_end(pipe.id)) / 2 + 273.15

    def density(self, pipe: Pipe) -> float:
        return float(self.fluids[pipe.system].density(self.mean(pipe)))

    def content(self, pipe: Pipe, celsius: float) -> float:
        """Heat in a kilogram over 20 degC [J/kg], by Simpson's rule over the fluid's heat capacity."""
        steps = np.linspace(293.15, celsius + 273.15, 21)
        weights = np.array([1, *([4, 2] * 10)[:-1], 1]) / 3
        each = (steps[-1] - steps[0]) / 20
        return float(weights @ np.asarray(self.fluids[pipe.system].heat_capacity(steps)) * each)


@pytest.mark.parametrize("name", SAMPLES)
def test_every_case_settles(name: str) -> None:
    for case, got in solved(name)[1]:
        assert got.converged, case
        assert got.raw.residual_kg_s < 1e-8, case


@pytest.mark.parametrize("name", SAMPLES)
def test_mass_at_every_item(name: str) -> None:
    """What flows in flows out, side by side of an exchanger or coil; mains, outlets, parted pieces aside."""
    for case, got in solved(name)[1]:
        one = Sums(name, got)
        out: dict[tuple[str, str], float] = defaultdict(float)
        for key, pipe in one.pipes.items():
            for ref, sign in ((pipe.start, 1), (pipe.end, -1)):
                kind = one.plant.items[ref.item].kind
                side = ref.port[0] if kind == "exchanger" else ""
                if kind == "coil_tank" and ref.port in ("coil_in", "coil_out"):
                    side = "coil"
                if kind not in ("cold_main", "fixture", "humidifier", "fill_valve"):
                    out[ref.item, side] += sign * one.mass[key]
        worst = max(out, key=lambda key: abs(out[key]))
        assert abs(out[worst]) < 1e-8, (case, worst, out[worst])


@pytest.mark.parametrize("name", SAMPLES)
def test_friction_and_height_of_every_pipe(name: str) -> None:
    """Drops by the law, written out anew, at the mean temperature; pressures fall by drop and height."""
    for case, got in solved(name)[1]:
        one = Sums(name, got)
        for key, pipe in one.pipes.items():
            if pipe.si.joined:
                continue
            rho, fluid = one.density(pipe), one.fluids[pipe.system]
            mu = float(fluid.viscosity(one.mean(pipe)))
            speed = one.mass[key] / rho / area(pipe.si.bore)
            reynolds = rho * abs(speed) * pipe.si.bore / mu
            drop = 0.0
            if reynolds:
                rub = factor(reynolds, pipe.si.roughness / pipe.si.bore) * pipe.si.length / pipe.si.bore
                drop = (rub + pipe.si.k_total) * rho * speed * abs(speed) / 2
            figures = got.pipes[key]
            assert figures["drop_pa"] == pytest.approx(drop, rel=1e-4, abs=0.5), (case, key)
            fall = figures["pressure_in_pa"] - figures["pressure_out_pa"]
            rise = height(one.plant, pipe, "end") - height(one.plant, pipe, "start")
            assert fall == pytest.approx(drop + rho * G * rise, rel=1e-4, abs=1.0), (case, key)


def height(plant: Plant, pipe: Pipe, end: str) -> float:
    ref = getattr(pipe, end)
    si = plant.items[ref.item].si
    at = float(si.get("height") or 0.0) + float((si.get("port_heights") or {}).get(ref.port, 0.0))
    inside = {**(si.get("taps") or {}), **(si.get("coil_heights") or {})}
    return at + float(inside.get(ref.port, 0.0))


@pytest.mark.parametrize("name", SAMPLES)
def test_heat_in_is_heat_out(name: str) -> None:
    """Sources and mains against users, stores, outlets and tubes: within 0.01 % of what moves."""
    for case, got in solved(name)[1]:
        one = Sums(name, got)
        terms: list[float] = []
        for ident, item in one.plant.items.items():
            figures = got.items.get(ident, {})
            if item.kind in ("heater", "boiler", "heat_pump"):
                terms.append(figures["duty_w"])
            elif item.kind in ("tank", "coil_tank", "buffer") and "duty_w" in figures:
                terms.append(-figures["duty_w"])
                if item.si.get("element"):
                    terms.append(float(item.si["element"]))
            elif "delivered_w" in figures:
                terms.append(-figures["delivered_w"])
        for key, pipe in one.pipes.items():
            entering = one.content(pipe, got.warm(key))
            leaving = one.content(pipe, got.warm_end(key))
            terms.append(-one.mass[key] * (entering - leaving))
            for ref, sign, heat in ((pipe.start, 1, entering), (pipe.end, -1, leaving)):
                if one.plant.items[ref.item].kind in ("cold_main", "fixture", "humidifier"):
                    terms.append(sign * one.mass[key] * heat)
        moved = sum(abs(term) for term in terms) / 2
        assert abs(math.fsum(terms)) < 1e-4 * max(moved, 50.0), (case, math.fsum(terms), moved)


def test_every_combination_of_calls_settles() -> None:
    """Five calls of the main sample on and off: settled, and the same from the last answer as from cold."""
    plant = load(file_of("two_heater_clinic"))
    calls = sorted(k for k, item in plant.items.items() if item.kind in ("switch", "aquastat", "thermostat"))[
        :5
    ]
    first, warm = plant.solve_cases[0], Solver(plant)
    for mask in range(2 ** len(calls)):
        on = {name: bool(mask >> place & 1) for place, name in enumerate(calls)}
        case = dataclasses.replace(first, name=f"calls {mask}", signals={**first.signals, **on})
        got = warm.solve(case)
        assert got.converged, on
        if mask % 8 == 5:
            again = Solver(plant).solve(case)
            for key, pipe in got.pipes.items():
                away = abs(pipe.flow_m3_s - again.pipes[key].flow_m3_s)
                assert away < 1e-7, (on, key)
