"""What is added to a plant that is sent round: its questions, what is assumed, and room for remarks."""

from __future__ import annotations

from collections.abc import Sequence

from core import units
from core.handbook.markup import Markup, el, void
from core.logbook.remarks import remarks
from core.plant.guesses import plant_guesses
from core.plant.model import Plant
from core.review import Finding, Severity
from core.solve.solution import Solution
from core.vocabulary.document import SITE
from core.vocabulary.readers import default_si

ASSUMING = (": taken as", "is estimated", "is taken as typed")  # how the solver says what it took for granted


def questions(plant: Plant, findings: Sequence[Finding], solutions: Sequence[Solution]) -> Markup:
    """Open findings as questions, and what the figures rest on."""
    asked = [one for one in findings if one.accepted is None and one.severity is not Severity.CONSIDER]
    lines = [
        el(
            "li",
            el("strong", f"{one.at[0] if one.at else 'plant'}: "),
            f"{one.text} {one.cure} {one.rule.ask}",
        )
        for one in asked
    ]
    assumed = [el("li", line) for line in assumptions(plant, solutions)]
    return el(
        "section",
        el("h2", "Questions", id="questions"),
        el("ul", lines) if lines else el("p", "No stop and nothing to mend is open."),
        el("h3", "Assumed"),
        el("ul", assumed) if assumed else el("p", "No guess was typed and nothing was taken for granted."),
    )


def assumptions(plant: Plant, solutions: Sequence[Solution]) -> list[str]:
    """Guesses with their spans, defaults of the site, and what the solver took for granted."""
    system = "si" if plant.units == "si" else "us"
    found = [
        f"{guess.at}: {guess.spread.path.rsplit('.', 1)[-1].replace('_', ' ')} is a guess"
        for guess in plant_guesses(plant)
    ]
    for key, prop in SITE.items():
        if key not in plant.site and prop.default is not None and prop.dimension:
            value = units.show(default_si(prop), prop.dimension, system)
            found.append(f"{key.replace('_', ' ')} is not typed: {value}")
    notes = dict.fromkeys((note.at, note.text) for one in solutions for note in one.notes)
    found += [f"{at}: {text}" for at, text in notes if any(words in text for words in ASSUMING)]
    return found


def remarks_section(plant: Plant, open_to_more: bool) -> Markup:
    """Remarks so far with their answers; where it is sent round, fields for more."""
    lines = []
    for one in remarks(plant):
        by = f" ({one.by})" if one.by else ""
        answer = el("p", "answered: ", one.answer) if one.answer else el("p", "open", class_="soft")
        lines.append(el("li", el("strong", f"{one.id} {one.at}"), f" {one.text}{by}", answer))
    shown = el("ul", lines) if lines else Markup("")
    return el("section", el("h2", "Remarks", id="remarks"), shown, _fields() if open_to_more else Markup(""))


def _fields() -> list[Markup]:
    return [
        el(
            "p",
            "Tap what a remark is about, write it, and send the text back. Nothing leaves this page unasked.",
        ),
        el("p", el("label", "At ", void("input", id="remark-at", list="ids", autocomplete="off"))),
        el("p", el("label", "By ", void("input", id="remark-by", data_keep="remark-by"))),
        el("textarea", id="remark", aria_label="Remark"),
        el(
            "p",
            el("button", "Add remark", type="button", id="remark-add"),
            " ",
            el("button", "Write remarks as text", type="button", id="remark-export"),
        ),
        el("ol", id="remark-list"),
        el("textarea", id="remark-out", hidden=True, readonly=True, aria_label="Remarks as text"),
    ]
