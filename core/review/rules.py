"""All rules of the review, a module a subject."""

from __future__ import annotations

from core.review import (
    air,
    balance,
    checks,
    circulators,
    controls,
    cross_connection,
    cycling,
    drawing,
    exchangers,
    expansion,
    fill,
    floors,
    freezing,
    gravity,
    headers,
    installed,
    pipes,
    recirculation,
    relief,
    service,
    source_safety,
    sources,
    tanks,
    zones,
)
from core.review.finding import Rule

RULES: tuple[Rule, ...] = (
    *drawing.RULES,
    *controls.RULES,
    *installed.RULES,
    *relief.RULES,
    *expansion.RULES,
    *fill.RULES,
    *cross_connection.RULES,
    *checks.RULES,
    *gravity.RULES,
    *headers.RULES,
    *circulators.RULES,
    *zones.RULES,
    *sources.RULES,
    *cycling.RULES,
    *balance.RULES,
    *exchangers.RULES,
    *recirculation.RULES,
    *tanks.RULES,
    *air.RULES,
    *service.RULES,
    *pipes.RULES,
    *source_safety.RULES,
    *floors.RULES,
    *freezing.RULES,
)
BY_ID = {rule.id: rule for rule in RULES}
