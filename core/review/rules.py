"""All rules of the review, a module a subject."""

from __future__ import annotations

from core.review import controls, drawing, installed
from core.review.finding import Rule

RULES: tuple[Rule, ...] = (
    *drawing.RULES,
    *controls.RULES,
    *installed.RULES,
)
BY_ID = {rule.id: rule for rule in RULES}
