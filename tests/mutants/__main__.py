"""`python -m tests.mutants --package core.thermal --count 40`: the one-line faults that no test sees."""

import argparse
import sys

from tests.mutants.reach import reaching
from tests.mutants.trial import NotSound, sample, trial


def main(argv: list[str]) -> int:
    """Print what becomes of each fault and what share dies; 1 where one that changes an answer lives."""
    words = argparse.ArgumentParser(prog="python -m tests.mutants", description=__doc__)
    words.add_argument("--package", action="append", required=True, metavar="core.NAME[.MODULE]")
    words.add_argument("--count", type=int, default=40, help="faults of each package")
    words.add_argument("--seed", type=int, default=1)
    words.add_argument("--tests", nargs="+", metavar="PATH", help="instead of those that reach the package")
    words.add_argument("--list", action="store_true", help="only say which faults would be tried")
    asked = words.parse_args(argv)
    survivors = 0
    for package in asked.package:
        chosen = sample(package, asked.count, asked.seed)
        if asked.list:
            print(*chosen, sep="\n")
            continue
        left = harmless = 0
        try:
            with trial(asked.tests or reaching(package)) as tried:
                for fault in chosen:
                    lives = tried.survives(fault)
                    other = lives and tried.changes_an_answer(fault)
                    left, harmless = left + other, harmless + (lives and not other)
                    print("SURVIVES" if other else "harmless" if lives else "dies    ", fault, flush=True)
        except NotSound as unsound:
            print(f"{package}: its tests fail without any fault\n{unsound}", file=sys.stderr)
            return 2
        bad = len(chosen) - harmless
        print(f"{package}: {bad - left} of {bad} that change an answer die; {harmless} others change none")
        survivors += left
    return 1 if survivors else 0


sys.exit(main(sys.argv[1:]))
