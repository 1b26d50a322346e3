"""All rules of the review, a module a subject."""

from __future__ import annotations

from core.review import controls, cross_connection, drawing, expansion, fill, installed, relief
from core.review.finding import Rule

RULES: tuple[Rule, ...] = (
    *drawing.RULES,
    *controls.RULES,
    *installed.RULES,
    *relief.RULES,
    *expansion.RULES,
    *fill.RULES,
    *cross_connection.RULES,
)
BY_ID = {rule.id: rule for rule in RULES}
