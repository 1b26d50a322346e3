"""Runs the benchmarks: `python -m tests.benchmarks [NAME…]`. Exit code 1 when a target is missed.

A benchmark is a module `bench_NAME.py` beside this one with a function `figures()` that yields `Figure`s.
Times of different runs must not be compared: targets are ratios within one run wherever that can be.
"""

import importlib
import sys
from pathlib import Path


def main(names: list[str]) -> int:
    """Run the named benchmarks, or all, and print a line for each figure."""
    known = sorted(path.stem.removeprefix("bench_") for path in Path(__file__).parent.glob("bench_*.py"))
    if unknown := [name for name in names if name not in known]:
        print(f"found {unknown[0]!r}; expected one of: {', '.join(known)}", file=sys.stderr)
        return 2
    missed = 0
    for name in names or known:
        print(f"-- {name}")
        for figure in importlib.import_module(f"tests.benchmarks.bench_{name}").figures():
            print(figure, flush=True)
            missed += not figure.held
    print(f"{missed} targets missed" if missed else "every target held")
    return 1 if missed else 0


sys.exit(main(sys.argv[1:]))
