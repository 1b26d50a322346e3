"""The verification page, and its summary as it stands in README.md."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from statistics import median

from tests.verification.checks import Check

HEAD = (
    "# Verification\n\n"
    "Every figure that a test compares with a published value, a general-purpose library or a second method, "
    "with its source. Where one row stands for many points it is the worst of them. "
    "The deviation of a temperature is in kelvin, any other a share of the value. "
    "Printed values are rounded, and some were iterated by hand: their row says what was allowed.\n\n"
    "Made by `python -m tests.verification -o OUT.md`.\n"
)


def number(value: float) -> str:
    return f"{value:.6g}"


def share(value: float) -> str:
    """A share in percent with two figures; below what differs between machines, only that."""
    return "< 0.01 %" if value < 1e-4 else f"{value * 100:.2g} %"


def kelvins(value: float) -> str:
    return "< 0.01 K" if value < 0.01 else f"{value:.2g} K"


def deviation(check: Check) -> str:
    return kelvins(check.deviation) if check.in_kelvin else share(check.deviation)


def allowed(check: Check) -> str:
    return (
        f"{number(check.allowed)} {check.unit}".strip() if check.by_amount else f"{check.allowed * 100:.3g} %"
    )


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "".join(f"| {' | '.join(cell.replace('|', '/') for cell in line)} |\n" for line in lines)


def by_subject(checks: Sequence[Check]) -> dict[str, list[Check]]:
    found: dict[str, list[Check]] = {}
    for check in checks:
        found.setdefault(check.subject, []).append(check)
    return dict(sorted(found.items()))


def summary(checks: Sequence[Check]) -> str:
    """Checks, points, median and worst deviations of each subject."""
    rows = []
    for subject, found in by_subject(checks).items():
        shares = [check.deviation for check in found if not check.in_kelvin]
        warm = [check.deviation for check in found if check.in_kelvin]
        figures = (
            share(median(shares)) if shares else "",
            share(max(shares)) if shares else "",
            kelvins(max(warm)) if warm else "",
        )
        rows.append((subject, str(len(found)), str(sum(check.points for check in found)), *figures))
    return table(("subject", "checks", "points", "half within", "worst", "worst temperature"), rows)


def page(checks: Sequence[Check]) -> str:
    """The whole page."""
    parts = [HEAD, summary(checks)]
    head = ("what", "source", "value", "ours", "unit", "deviation", "allowed", "points")
    for subject, found in by_subject(checks).items():
        rows = [
            (
                c.what,
                c.source,
                number(c.value),
                number(c.ours),
                c.unit,
                deviation(c),
                allowed(c),
                str(c.points),
            )
            for c in found
        ]
        parts.append(f"## {subject}\n\n{table(head, rows)}")
    return "\n".join(parts)


def between(text: str) -> tuple[str, str, str]:
    """README.md as what stands before the summary, the summary, and what stands after it."""
    begin, end = "<!-- verification -->\n", "<!-- /verification -->\n"
    before, _, rest = text.partition(begin)
    found, _, after = rest.partition(end)
    return before + begin, found, end + after
