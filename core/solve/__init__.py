"""One case of a plant, settled: flows, heads, temperatures, states and notes."""

from core.solve.solution import Dropped, Note, Solution
from core.solve.solver import Solver, solve_case, solve_plant

__all__ = ["Dropped", "Note", "Solution", "Solver", "solve_case", "solve_plant"]
