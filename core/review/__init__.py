"""The review: what an expert would say of a plant, each finding at its place, with reason and cure."""

from core.review.finding import Figure, Finding, Found, Rule, Severity, registrar
from core.review.punch_list import review, review_plant
from core.review.study import Study

__all__ = ["Figure", "Finding", "Found", "Rule", "Severity", "Study", "registrar", "review", "review_plant"]
