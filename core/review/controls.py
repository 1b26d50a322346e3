"""Rules of the controls: what nobody runs, what runs nothing, stats that feel nothing."""

from __future__ import annotations

from collections.abc import Iterator

from core.review.finding import Found, Rule, Severity, registrar
from core.review.study import Study
from core.vocabulary import Trait

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"


@rule(
    "never-runs",
    "Circulator that nobody runs",
    Severity.MEND,
    "No combination of calls turns it on: its circuit stands.",
    PRACTICE,
    "Name the call that turns it on, or take the condition away.",
)
def never_runs(study: Study) -> Iterator[Found]:
    """Circulators whose run_when is false."""
    for item in study.items(Trait.DRIVES):
        if item.si.get("run_when") is False:
            yield Found((item.id,), f"{item.id} is set never to run.")
