"""List what differs between two records of `tests.tools.record_answers`, grouped by command and figure.

    python -m tests.tools.compare_answers OLD NEW [--words] [--all] [--only WORD] [--examples N]

A number differs where it leaves the old one by more than 1e-9 of the largest of its key in that command's
answer (of that case, for `solve`). Cases that did not converge in OLD are named and left out, and so is what
other commands say of a plant with such a case; `--all` compares them too. Words (notes, verdicts, workings,
texts of the sheet that hold no figure) are compared with `--words` only. Ends with 1 where there is a
difference.
"""

from __future__ import annotations

import argparse
import math
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from tests.tools.record_answers import load

WITHIN = 1e-9
NAMED_BY = ("case", "id", "at", "name", "what", "kind")  # what tells the entries of a list apart
NO_FIGURES = {"passes", "residual_kg_s"}  # how it was solved, not what came out
NUMBER = re.compile(r"-?\d[\d.,/]*(?:e-?\d+)?")


class Difference(NamedTuple):
    """One figure that is not what it was."""

    group: str
    plant: str
    path: str
    old: Any
    new: Any
    size: float


def leaves(data: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Every value with the keys that lead to it; entries of lists by what names them, else by number."""
    if isinstance(data, dict):
        for key, value in data.items():
            yield from leaves(value, (*path, str(key)))
    elif isinstance(data, list):
        seen: dict[str, int] = {}
        for number, value in enumerate(data):
            name = f"{number}"
            if isinstance(value, dict):
                name = (
                    " ".join(str(value[key]) for key in NAMED_BY if isinstance(value.get(key), str)) or name
                )
            seen[name] = seen.get(name, 0) + 1
            yield from leaves(value, (*path, name if seen[name] == 1 else f"{name} #{seen[name]}"))
    else:
        yield path, data


def key_of(path: tuple[str, ...]) -> str:
    """The key of a figure: the last word of its path that is no number in a list."""
    return next((word for word in reversed(path) if not word.isdigit()), "")


def differences(command: str, plant: str, old: Any, new: Any, words: bool) -> Iterator[Difference]:
    """What differs between two answers of one command."""
    before, after = dict(leaves(old)), dict(leaves(new))
    largest: dict[str, float] = {}
    for path, value in before.items():
        if isinstance(value, int | float):
            largest[key_of(path)] = max(abs(value), largest.get(key_of(path), 0.0))
    for path in [*before, *(path for path in after if path not in before)]:
        key = key_of(path)
        if NO_FIGURES & set(path) or (not words and "notes" in path):
            continue
        a, b = before.get(path, "absent"), after.get(path, "absent")
        size = _size(a, b, largest.get(key, 0.0), words)
        if size > 0.0:
            yield Difference(f"{command}: {key}", plant, " / ".join(path), a, b, size)


def _size(a: Any, b: Any, largest: float, words: bool) -> float:
    """How much two values differ, as a share of the largest; infinite where they cannot be compared."""
    numbers = [isinstance(x, int | float) and not isinstance(x, bool) for x in (a, b)]
    if all(numbers):
        share = abs(a - b) / max(abs(a), abs(b), largest, 1e-300)
        return share if share > WITHIN else 0.0
    if not words and all(isinstance(x, str) for x in (a, b)) and "absent" not in (a, b):
        return 0.0
    if not words and "absent" in (a, b) and isinstance(b if a == "absent" else a, str):
        return 0.0
    return 0.0 if a == b and type(a) is type(b) else math.inf


def unsettled(folder: Path, plant: str) -> set[str]:
    """Cases and calls of a plant that had not converged, or that were refused."""
    out: set[str] = set()
    for key in ("solve", "calls"):
        said = load(folder / "answers" / f"{plant} {key}.gz")["json"]
        if said is None:
            return {"all"}
        out |= {f"{key} {one['case']}" for one in said["cases"] if not one["converged"]}
    return out


def compare_sheets(plant: str, old: Any, new: Any, words: bool) -> Iterator[Difference]:
    """Texts of the sheet that came, went or moved; without `words` those alone that hold a figure."""
    for name, texts, others in (("gone", old, new), ("come", new, old)):
        left = [tuple(one) for one in others]
        for one in map(tuple, texts):
            if one in left:
                left.remove(one)
            elif words or NUMBER.search(str(one[1])):
                yield Difference(
                    f"sheet: {name}", plant, str(one[1]), one if name == "gone" else "", "", math.inf
                )


def all_differences(old: Path, new: Path, only: str, every: bool, words: bool) -> list[Difference]:
    """Differences of all answers that both records hold; says what was left out."""
    out: list[Difference] = []
    skipped: dict[str, set[str]] = {}
    missing = 0
    for file in sorted((old / "answers").glob("*.gz")):
        plant, _, command = file.name.removesuffix(".gz").rpartition(" ")
        other = new / "answers" / file.name
        if only not in plant or not other.exists():
            missing += not other.exists()
            continue
        left_out = set() if every or not plant else skipped.setdefault(plant, unsettled(old, plant))
        before, after = load(file), load(other)
        if before["json"] is not None and after["json"] is not None and command in ("solve", "calls"):
            cases = {one["case"]: one for one in after["json"]["cases"]}
            for one in before["json"]["cases"]:
                if f"{command} {one['case']}" not in left_out:
                    where = f"{plant}, {one['case']}"
                    out += differences(command, where, one, cases.get(one["case"]), words)
        elif not left_out:
            out += differences(command or "kinds", plant, before, after, words)
    for file in sorted((old / "sheets").glob("*.gz")):
        plant, other = file.name.removesuffix(".gz"), new / "sheets" / file.name
        if only in plant and other.exists() and not skipped.get(plant):
            out += compare_sheets(plant, load(file), load(other), words)
    for plant, cases in skipped.items():
        if cases:
            print(f"left out, not converged in OLD: {plant}: {', '.join(sorted(cases))}")
    if missing:
        print(f"{missing} answers of OLD are not in NEW")
    return out


def show(found: list[Difference], examples: int) -> None:
    """Groups by command and figure, the largest first, with examples."""
    groups: dict[str, list[Difference]] = {}
    for one in found:
        groups.setdefault(one.group, []).append(one)
    for name, members in sorted(groups.items(), key=lambda pair: (-len(pair[1]), pair[0])):
        members.sort(key=lambda one: -one.size)
        finite = [one.size for one in members if math.isfinite(one.size)]
        worst = f", at most {max(finite):.1e} of the largest" if finite else ""
        plants = len({one.plant for one in members})
        print(f"\n{name}: {len(members)} in {plants} plants or cases{worst}")
        for one in members[:examples]:
            print(f"   {one.plant}: {one.path}: {one.old!r} -> {one.new!r}")
    print(f"\n{len(found)} differences" if found else "no difference")


def main() -> int:
    """Compare two records; 1 where they differ."""
    parser = argparse.ArgumentParser(prog="compare_answers", description="Compare two records of answers.")
    parser.add_argument("old", type=Path)
    parser.add_argument("new", type=Path)
    parser.add_argument("--words", action="store_true", help="notes and other words too")
    parser.add_argument("--all", action="store_true", help="also what had not converged in OLD")
    parser.add_argument("--only", default="", help="plants whose name holds this word")
    parser.add_argument("--examples", type=int, default=3, help="examples of each group")
    given = parser.parse_args()
    found = all_differences(given.old, given.new, given.only, given.all, given.words)
    show(found, given.examples)
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
