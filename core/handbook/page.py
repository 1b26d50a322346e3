"""The whole page: dangers first, the drawing with its cards, expected readings, lists to tick, the logbook.

No script comes from data: everything of the file is escaped text in elements and attributes, and the policy
of the page lets only its own two blocks run, named by their hashes.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from core import units
from core.handbook.cards import Cards
from core.handbook.for_review import questions, remarks_section
from core.handbook.markup import Markup, el, join, text, void
from core.handbook.svg import drawing
from core.isolation.plan import ShutOff
from core.logbook.entries import entries
from core.papers.blocks import Blank, Block, Caution, Grid, Heading, Paper, Said
from core.plant.model import Item, Plant
from core.readings.measured import shown
from core.review import Finding, Severity
from core.sizing.result import Sized
from core.solve.solution import Solution
from core.vocabulary import Trait
from core.working import Display

HERE = Path(__file__).parent
CAUTION = (
    "Hot water scalds, and pressure, gas and electricity can kill. What stands here are sums, not an "
    "approval: local code, the authority having jurisdiction and licensed trades decide. Before opening "
    "anything: lock out fuel and electricity, let it cool below 40 °C (104 °F), release the pressure."
)
UNIT = {
    "us": {"temperature": "degF", "pressure": "psi", "flow": "gpm"},
    "si": {"temperature": "degC", "pressure": "kPa", "flow": "L/min"},
}
SHOWS = (
    (Trait.SHOWS_PRESSURE, "pressure"),
    (Trait.SHOWS_TEMPERATURE, "temperature"),
    (Trait.SHOWS_FLOW, "flow"),
)


@dataclass(frozen=True)
class Contents:
    """All that the page shows of a plant."""

    plant: Plant
    solutions: Sequence[Solution]
    findings: Sequence[Finding] = ()
    sized: Sequence[Sized] = ()
    plans: Mapping[str, ShutOff] = field(default_factory=dict)
    lists: Sequence[Paper] = ()
    for_review: bool = False
    """Whether it is sent round: with questions and assumptions, and room for remarks."""


def page(contents: Contents) -> str:
    """The page as HTML."""
    plant = contents.plant
    style = Markup((HERE / "page.css").read_text(encoding="utf-8"))
    script = Markup((HERE / "page.js").read_text(encoding="utf-8"))
    policy = (
        f"default-src 'none'; style-src '{_hash(style)}'; script-src '{_hash(script)}'; "
        "base-uri 'none'; form-action 'none'"
    )
    title = plant.title or "untitled"
    head = [
        void("meta", charset="utf-8"),
        void("meta", http_equiv="Content-Security-Policy", content=policy),
        void("meta", name="viewport", content="width=device-width, initial-scale=1"),
        void("meta", name="referrer", content="no-referrer"),
        el("title", f"{title} · {'for review' if contents.for_review else 'handbook'}"),
        el("style", style),
    ]
    name = hashlib.sha256(title.encode()).hexdigest()[:12]
    body = [_header(contents), el("main", _sections(contents)), _footer(contents), el("script", script)]
    return "<!DOCTYPE html>\n" + el("html", el("head", head), el("body", body), lang="en", data_plant=name)


def _hash(block: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(block.encode()).digest()).decode()


def _header(contents: Contents) -> Markup:
    links = [("dangers", "Dangers"), ("board-title", "Drawing"), ("expected", "Readings")]
    links += [(f"list-{k}", one.title) for k, one in enumerate(contents.lists)]
    if _remarked(contents):
        links.append(("remarks", "Remarks"))
    links.append(("logbook", "Logbook"))
    items = [el("li", el("a", words, href=f"#{target}")) for target, words in links]
    return join(
        [
            el("header", el("h1", contents.plant.title or "untitled")),
            el("nav", el("ul", items), aria_label="Parts of this page"),
        ]
    )


def _sections(contents: Contents) -> list[Markup]:
    return [
        _dangers(contents),
        _board(contents),
        *([questions(contents.plant, contents.findings, contents.solutions)] if contents.for_review else []),
        *([remarks_section(contents.plant, contents.for_review)] if _remarked(contents) else []),
        _expected(contents),
        *(_list(k, one) for k, one in enumerate(contents.lists)),
        _logbook(contents.plant),
    ]


def _remarked(contents: Contents) -> bool:
    return contents.for_review or bool(contents.plant.remarks)


def _dangers(contents: Contents) -> Markup:
    stops = [one for one in contents.findings if one.severity is Severity.STOP]
    dangers = dict.fromkeys((note.at, note.text) for one in contents.solutions for note in one.dangers)
    lines = [el("li", el("strong", f"{at}: "), words) for at, words in dangers]
    for one in stops:
        accepted = ""
        if one.accepted is not None:
            accepted = f" Accepted: {one.accepted.because} (checked with {one.accepted.checked_with})."
        lines.append(
            el("li", el("strong", f"{one.at[0]}: "), f"{one.text} {one.cure} {one.rule.ask}{accepted}")
        )
    unsolved = [one.case for one in contents.solutions if not one.converged]
    if unsolved:
        lines.append(el("li", f"Not solved, so its figures are not to be relied on: {', '.join(unsolved)}."))
    return el(
        "section",
        el("h2", "Dangers"),
        el("div", el("p", CAUTION), el("ul", lines), class_="danger"),
        id="dangers",
    )


def _board(contents: Contents) -> Markup:
    first = contents.solutions[0] if contents.solutions else None
    said: dict[str, list[str]] = {}
    for one in contents.findings:
        if one.accepted is None and one.at:
            said.setdefault(one.at[0], []).append(f"{one.severity.value.capitalize()}: {one.text}")
    cards = Cards(contents.plant, contents.solutions, contents.sized, contents.plans, said)
    tools = [
        el("button", "Closer", type="button", id="closer"),
        el("button", "Further", type="button", id="further"),
        el("button", "Whole", type="button", id="whole"),
        el("label", "Find ", void("input", id="find", list="ids", autocomplete="off")),
        el(
            "datalist",
            [void("option", value=key) for key in (*contents.plant.items, *contents.plant.pipes)],
            id="ids",
        ),
    ]
    case = f" The drawing shows {first.case}." if first is not None else ""
    return el(
        "section",
        el("h2", "Drawing", id="board-title"),
        el("p", f"Tap a symbol or a pipe for its card, pinch or drag to move.{case}", class_="soft"),
        el("div", tools, class_="tools"),
        el("div", drawing(contents.plant, first), id="board"),
        el("div", cards.all(), class_="cards", aria_live="polite"),
        aria_labelledby="board-title",
    )


def _expected(contents: Contents) -> Markup:
    plant = contents.plant
    places = [
        (item, what)
        for item in plant.items.values()
        for trait, what in SHOWS
        if item.stays and item.has(trait)
    ]
    tables = [_of_case(contents.plant, one, places, k == 0) for k, one in enumerate(contents.solutions)]
    if not places:
        tables = [el("p", "No gauge, thermometer or meter is drawn, so nothing is expected of any.")]
    return el(
        "section",
        el("h2", "Readings", id="expected"),
        el(
            "p",
            "What each gauge shows once all has settled in a case, and room for what it showed.",
            class_="soft",
        ),
        el("p", el("label", "Day ", void("input", type="date", id="day", data_keep="day"))),
        tables,
        el("p", el("button", "Write readings as text", type="button", id="export")),
        el("p", "What was typed is not kept by this browser.", id="not-kept", hidden=True, class_="caution"),
        el("textarea", id="exported", hidden=True, aria_label="Readings as text", readonly=True),
    )


def _of_case(plant: Plant, solution: Solution, places: Sequence[tuple[Item, str]], first: bool) -> Markup:
    """What the gauges show in one case; nothing where it has no answer to rely on."""
    if not solution.converged:
        return el("details", el("summary", solution.case), el("p", "Not solved: nothing is expected here."))
    rows = [row for item, what in places if (row := _row(plant, solution, item, what))]
    head = el("tr", [el("th", words, scope="col") for words in ("instrument", "expected", "read")])
    table = el("table", el("thead", head), el("tbody", rows))
    return el("details", el("summary", solution.case), table, open=first)


def _row(plant: Plant, solution: Solution, item: Item, what: str) -> Markup | None:
    value = shown(plant, solution, item.id, what)
    if value is None:
        return None
    system: Display = "si" if plant.units == "si" else "us"
    typed = void(
        "input",
        inputmode="decimal",
        aria_label=f"{what} read at {item.id} in {solution.case}",
        data_keep=f"{solution.case}|{item.id}|{what}",
        data_case=solution.case,
        data_at=item.id,
        data_what=what,
        data_unit=UNIT[system][what],
    )
    name = join([el("strong", item.id, class_="id"), f" {item.label or what}"])
    return el("tr", el("td", name), el("td", units.show(value, what, system)), el("td", typed))


def _list(number: int, paper: Paper) -> Markup:
    """A paper as a list to tick, with its cautions where they stand."""
    shown = [_block(paper.title, k, block) for k, block in enumerate(paper.blocks)]
    return el("section", el("h2", paper.title, id=f"list-{number}"), shown, class_="list")


def _block(paper: str, number: int, block: Block) -> Markup:
    match block:
        case Heading(text=words):
            return el("h3", words)
        case Said(text=words):
            return el("p", words)
        case Caution(text=words):
            return el("p", words, class_="caution")
        case Blank(text=words, tick=tick, write=write):
            key = f"{paper}|{number}|{words}"
            ticked = void("input", type="checkbox", data_keep=key) if tick else ""
            line = el("label", Markup(ticked), el("span", words))
            written = el("label", write, void("input", data_keep=f"{key}|written")) if write else ""
            return el("div", line, Markup(written), class_="tick")
        case Grid(title=title, heads=heads, rows=rows):
            head = el("tr", [el("th", one, scope="col") for one in heads])
            body = [el("tr", [el("td", cell) for cell in row]) for row in rows]
            table = el("table", el("caption", title), el("thead", head), el("tbody", body))
            return el("div", table, class_="wide", tabindex="0", role="region", aria_label=title)
        case _:
            return Markup("")


def _logbook(plant: Plant) -> Markup:
    found = []
    for one in entries(plant):
        weighed = f" Weighed: {', '.join(one.weighed)}." if one.weighed else ""
        where = f" ({', '.join(one.at)})" if one.at else ""
        found.append(el("li", el("strong", f"{one.date} {one.choice}{where} "), f"{one.because}{weighed}"))
    inside = el("ul", found) if found else el("p", "Nothing is written down yet.")
    return el("section", el("h2", "Logbook", id="logbook"), inside)


def _footer(contents: Contents) -> Markup:
    revision = f" Revision {contents.plant.revision}." if contents.plant.revision else ""
    return el("footer", text(f"{CAUTION}{revision} What is typed here stays in this browser alone."))
