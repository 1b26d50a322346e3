"""Parts that a cure put on paper: of safety they stay to be mended until they are rated, and joined."""

from __future__ import annotations

from collections.abc import Iterator

from core.logbook import entries
from core.review.finding import Found, Rule, Severity, registrar
from core.review.parts import CURES, TO_INSTALL
from core.review.study import Study
from core.vocabulary import UNKNOWN, Trait

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
SAFETY = (
    Trait.RELIEVES,
    Trait.EXPANDS,
    Trait.STOPS_BACKFLOW,
    Trait.BREAKS_VACUUM,
    Trait.TEMPERS,
    Trait.CHECKS,
)
IN_PLACE = ("existing", "joined", "tested")
RATINGS = {cure.kind: cure.ratings for cure in reversed(CURES.values())}  # of several the plainest


@rule(
    "only-on-paper",
    "Safety part to be installed",
    Severity.MEND,
    "A part put in on the drawing protects nobody until it is rated for this plant and joined.",
    PRACTICE,
    "Enter its ratings, install it, and set its stage to joined or tested.",
    ask="Its rating and its place are for local code and a licensed plumber to confirm.",
)
def only_on_paper(study: Study) -> Iterator[Found]:
    """Safety parts of entries "to be installed" that lack ratings or stand at an earlier stage."""
    named = {
        name: None
        for entry in entries(study.plant)
        if entry.choice.endswith(TO_INSTALL)
        for name in entry.at
        if f"{name}," in entry.choice or f"{name}:" in entry.choice
    }
    for name in named:
        item = study.plant.items.get(name)
        if item is None or not item.stays or not item.has(*SAFETY):
            continue
        asked = [name for name, raw in item.props.items() if raw == UNKNOWN]
        asked += [name for name in RATINGS.get(item.kind, ()) if study.is_unknown(item, name)]
        lacking = [name.replace("_", " ") for name in dict.fromkeys(asked)]
        stage = "" if item.stage in IN_PLACE else f"its stage is {item.stage.replace('_', '-')}"
        rated = f"not set: {', '.join(lacking)}" if lacking else ""
        if stage or rated:
            yield Found((name,), f"{name} is to be installed: {'; '.join(w for w in (rated, stage) if w)}.")
