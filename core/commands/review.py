"""`wetside review FILE`: the punch list of a plant, as text or JSON."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import TYPE_CHECKING

from core.commands.answering import hanging, wrapped
from core.commands.arguments import Arguments
from core.commands.solve import CAUTION
from core.errors import escaped
from core.files import read
from core.plant.model import Plant

if TYPE_CHECKING:
    from core.review import Finding

HEADS = {"stop": "Stop", "mend": "Mend", "consider": "Consider"}


def run(argv: list[str]) -> int:
    """Show the punch list; 1 where a stop stands that nobody accepted, or a case was not solved."""
    parser = Arguments(
        "wetside review",
        description="What to stop for, to mend and to consider, each with its reason and its cure.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument("--json", action="store_true", help="findings as JSON")
    parser.add_argument(
        "--by-stage",
        action="store_true",
        help="what to settle before the next joint is made, and what can wait",
    )
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    from core.review import Severity, review
    from core.solve import solve_plant

    solutions = solve_plant(plant, [case.name for case in plant.solve_cases])
    findings = review(plant, solutions)
    unsolved = [s.case for s in solutions if not s.converged]
    if given.json:
        data = {"findings": [finding.as_data() for finding in findings], "not_solved": unsolved}
        print(json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1))
    else:
        lines = _by_stage(plant, findings) if given.by_stage else _listed(findings)
        print("\n".join(_text(plant, lines, unsolved)))
    stops = any(f.severity is Severity.STOP and f.accepted is None for f in findings)
    return 1 if stops or unsolved else 0


def _text(plant: Plant, lines: Iterator[str], unsolved: list[str]) -> Iterator[str]:
    yield escaped(f"{plant.title or 'untitled'} · punch list")
    yield from lines
    yield ""
    if unsolved:
        yield from hanging(f"Not solved, so not looked at: {', '.join(unsolved)}.")
    yield from hanging(CAUTION)


def _by_stage(plant: Plant, findings: list[Finding]) -> Iterator[str]:
    from core.review.before_joint import HEADS as STAGES
    from core.review.before_joint import before_joint

    for one in before_joint(plant, findings):
        many = len(one.parts)
        yield ""
        yield f"{STAGES[one.stage]} ({many} part{'s' * (many != 1)})"
        for head, found in (("Settle first", one.settle), ("Can wait", one.can_wait)):
            if found:
                yield f"  {head}"
            for finding in found:
                where = finding.at[0] if finding.at and finding.at[0] else "plant"
                yield from wrapped(f"{where}: {finding.text} {finding.cure}", "    ", "")
        if not one.settle and not one.can_wait:
            yield "  Nothing found."


def _listed(findings: list[Finding]) -> Iterator[str]:
    for key, head in HEADS.items():
        found = [f for f in findings if f.severity == key]
        if not found:
            continue
        yield ""
        yield f"{head} ({len(found)})"
        for alike in _of_one_rule(found):
            yield from _findings(alike)
    if not findings:
        yield "Nothing found."


def _of_one_rule(findings: list[Finding]) -> list[list[Finding]]:
    """Findings of one rule together, in the order in which each rule first speaks."""
    alike: dict[tuple[str, str], list[Finding]] = {}
    for finding in findings:
        alike.setdefault((finding.rule.id, finding.cure), []).append(finding)
    return list(alike.values())


def _findings(alike: list[Finding]) -> Iterator[str]:
    """What each says at its place, then once what is the same for all."""
    for finding in alike:
        case = f" [{finding.found.case}]" if finding.found.case else ""
        guess = " This rests on a guess." if finding.found.guess else ""
        yield from wrapped(f"{finding.at[0] or 'plant'}: {finding.text}{case}{guess}", "  ", "")
        if finding.accepted is not None:
            checked = finding.accepted.checked_with
            with_whom = f", checked with {checked}" if checked else ""
            yield from wrapped(f"accepted: {finding.accepted.because}{with_whom}", "      ", "")
        elif finding.reopened:
            yield from wrapped(f"open again: {finding.reopened}", "      ", "")
    rule = alike[0].rule
    for words in filter(None, (f"{rule.reason} ({rule.source})", alike[0].cure, rule.ask)):
        yield from wrapped(words, "      ", "")
