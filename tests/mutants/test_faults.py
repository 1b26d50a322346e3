"""The faults themselves: each is another program, and every kind is among them."""

import ast

from tests.mutants.faults import faults, spoiled
from tests.mutants.reach import REACH, reaching
from tests.mutants.trial import ROOT, sample

SOURCE = """
def least(a: int, b: int = 3) -> float:
    'At least.'
    # a comment
    if not a and b > 2.5:
        return max(a + b, 1.0)
    words = f"{a + 1} of {b}" + "."
    return a / b
"""


def test_each_fault_changes_one_place():
    found = faults("least.py", SOURCE)
    told = [(one.line, one.before, one.after) for one in found]
    assert told == [
        (2, "3", "4"),
        (5, "not a and b > 2.5", "not a or b > 2.5"),
        (5, "not a", "a"),
        (5, "b > 2.5", "b <= 2.5"),
        (5, "2.5", "3.5"),
        (6, "max(a + b, 1.0)", "min(a + b, 1.0)"),
        (6, "a + b", "a - b"),
        (6, "1.0", "2.0"),
        (8, "a / b", "a * b"),
    ]
    sound = ast.unparse(ast.parse(SOURCE)).splitlines()
    for one in found:
        changed = [line for line in spoiled(SOURCE, one).splitlines() if line not in sound]
        assert len(changed) == 1
        assert one.after in changed[0]


def test_a_seed_gives_one_sample():
    chosen = sample("core.thermal", 20, 1)
    assert chosen == sample("core.thermal", 20, 1)
    assert chosen != sample("core.thermal", 20, 2)
    assert len(chosen) == 20
    assert len({one.module for one in chosen}) > 3


def test_a_module_has_the_reaching_its_package():
    assert reaching("core.thermal.limits") == REACH["core.thermal"]
    assert reaching("core.units") == ("tests/core/units",)
    assert [path for paths in REACH.values() for path in paths if not (ROOT / path).exists()] == []
