"""One case of a plant, settled: flows, heads, temperatures, states and notes."""

from core.solve.solution import Note, Solution
from core.solve.solver import Solver, solve_case, solve_plant

__all__ = ["Note", "Solution", "Solver", "solve_case", "solve_plant"]
