"""A first plant in eight steps: each makes changes from a few numbers of the user's own. Without Qt.

A step reads the plant as it stands, so that it can be taken in any order, left out, or taken after edits by
hand; what it adds goes beside what is there. Drawn places are a beginning; all may be moved.
"""

from __future__ import annotations

from core.first_plant.steps import STEPS, Step, make
from core.first_plant.wishes import Answers, Wish, answer

__all__ = ["STEPS", "Answers", "Step", "Wish", "answer", "make"]
