"""The punch list of a plant: every rule asked, one finding a rule and place, what was accepted marked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from core.plant.model import Plant
from core.review.finding import Acceptance, Finding, Found, Rule, Severity, figures_of, key_of, plain_key
from core.review.study import Study
from core.solve.solution import Solution

Gathered = Mapping[str, tuple[Rule, Found]]
"""What rules found, by key of the finding."""
WORSE = 0.05  # share by which a figure may worsen before an acceptance no longer counts


def review_plant(plant: Plant) -> list[Finding]:
    """Findings of a plant, all its cases solved anew."""
    from core.solve import solve_plant

    return review(plant, solve_plant(plant, [case.name for case in plant.solve_cases]))


def review(plant: Plant, solutions: Sequence[Solution], rules: Iterable[Rule] | None = None) -> list[Finding]:
    """Findings of a plant, the gravest first, in the order of the file.

    Parameters
    ----------
    plant : Plant
    solutions : sequence of Solution
        Solved cases; rules that read solved cases see only those that settled
    rules : iterable of Rule
        All where none are given

    Returns
    -------
    list of Finding
        One for each rule and place: of several cases the gravest, with the first such case's words
    """
    from core.review.rules import RULES

    return judged(plant, gathered(Study(plant, solutions), RULES if rules is None else rules))


def gathered(study: Study, rules: Iterable[Rule]) -> Gathered:
    """What some rules find in a plant, one for each rule and place: of several cases the gravest."""
    merged: dict[str, tuple[Rule, Found]] = {}
    for rule in rules:
        for found in rule.find(study):
            key = key_of(rule.id, found.at)
            known = merged.get(key)
            if known is None or _graver(rule, found, known[1]):
                merged[key] = (rule, found)
    return merged


def judged(plant: Plant, found: Gathered) -> list[Finding]:
    """Findings in the order of the list, those accepted marked."""
    accepted = acceptances(plant)
    findings = [_judged(rule.in_units(plant.units), one, accepted) for rule, one in found.values()]
    order = {key: k for k, key in enumerate((*plant.items, *plant.pipes))}
    return sorted(findings, key=lambda f: (f.severity.rank, order.get(f.at[0] if f.at else "", -1)))


def _graver(rule: Rule, one: Found, other: Found) -> bool:
    ranks = [(found.severity or rule.severity).rank for found in (one, other)]
    if ranks[0] != ranks[1]:
        return ranks[0] < ranks[1]
    before = {figure.what: figure.value for figure in other.figures}
    return any(f.worse * (f.value - before[f.what]) > 0.0 for f in one.figures if f.what in before)


def acceptances(plant: Plant) -> Mapping[str, Mapping[str, Any]]:
    """Records of accepted findings by key; of several the last."""
    return {plain_key(raw["key"]): raw for raw in plant.accepted}


def _judged(rule: Rule, found: Found, accepted: Mapping[str, Mapping[str, Any]]) -> Finding:
    raw = accepted.get(key_of(rule.id, found.at))
    if raw is None:
        return Finding(rule, found)
    checked = raw.get("checked_with", "")
    checked = checked if isinstance(checked, str) else ", ".join(map(str, checked))
    given = Acceptance(raw.get("because", ""), raw.get("by", ""), checked, raw.get("date", ""))
    why = _no_longer(rule, found, raw, given)
    return Finding(rule, found, None if why else given, why)


def _no_longer(rule: Rule, found: Found, raw: Mapping[str, Any], given: Acceptance) -> str:
    """Why an acceptance does not count, "" where it does."""
    if not given.because.strip():
        return "accepted without a reason"
    if (found.severity or rule.severity) is Severity.STOP and not given.checked_with.strip():
        return "a stop is accepted only with the name of whom it was checked with"
    if "at" in raw and set(raw["at"]) != set(found.at):
        return "the things it names have changed"
    before = figures_of(raw)
    for figure in found.figures:
        if figure.what in before:
            old = before[figure.what]
            if figure.worse * (figure.value - old) > WORSE * abs(old):
                what = figure.what.replace("_", " ")
                return f"{what} has become worse since ({old:.3g} to {figure.value:.3g})"
    return ""


def record(
    finding: Finding, because: str, by: str = "", checked_with: str = "", date: str = ""
) -> dict[str, Any]:
    """What the plant file keeps of an accepted finding.

    Raises
    ------
    ValueError
        Without a reason, or of a stop without whom it was checked with
    """
    if not because.strip():
        raise ValueError("a finding is accepted with a reason")
    if finding.severity is Severity.STOP and not checked_with.strip():
        raise ValueError("a stop is accepted only with the name of whom it was checked with")
    return {
        "key": finding.key,
        "because": because,
        "by": by,
        "checked_with": checked_with,
        "date": date,
        "at": list(finding.at),
        "figures": {figure.what: figure.value for figure in finding.found.figures},
    }
