"""The design report: two pages to read first, contents, then loads, cases, curves, sizes, punch "
"list and workings."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from core import units
from core.calls.energy import Energy
from core.logbook import standings
from core.papers.blocks import BAND, Block, Caution, Contents, Drawn, Grid, Heading, Paper, Said
from core.papers.change_costs import Costs, with_costs
from core.papers.plant_words import (
    NOTHING,
    by_tag,
    display_of,
    licensed_questions,
    listed,
    spoken_paths,
    stages_blocks,
    titled,
)
from core.papers.report_front import flows_grid, front_blocks, loads_grid, short
from core.papers.report_workings import Sources, letter, workings_blocks
from core.papers.settings import readings_grid
from core.papers.takeoff import Takeoff
from core.papers.workings import Workings, key_of
from core.plant.model import Plant
from core.review.finding import Finding
from core.sizing.result import Sized
from core.sizing.table import grouped, rows, title
from core.solve import Solution
from core.vocabulary import Trait
from core.working import Display, Working

CURVES = "curves"
MOST_OPTIONS = 4  # of one answer in the table of options
SHORT = 16  # characters of a verdict that stands beside its figures; a longer one stands below the option
BY_PIPE = ("tube", "potable_branch")  # answered for every pipe
COST = "Cost: parts that a choice takes beyond what is drawn, by the price list given; no labor."
INVENTED = " (invented curve, not a product)"  # said once, in the caution of the family
FIGURES: tuple[tuple[str, str, str], ...] = (
    # ending of a figure's key, dimension, words
    ("flow_m3_s", "flow", ""),
    ("head_m", "head", ""),
    ("speed", "", "speed"),
    ("duty_w", "power", ""),
    ("temperature_c", "temperature", ""),
    ("duty_share", "", "on"),
)


@dataclass(frozen=True)
class Facts:
    """What a report is made from; solved cases in the order of the file."""

    solutions: Sequence[Solution]
    sized: Sequence[Sized]
    findings: Sequence[Finding]
    energy: Energy | None = None
    takeoff: Takeoff | None = None
    costs: Costs | None = None  # of choices, where there is a price list


def report_paper(plant: Plant, facts: Facts) -> Paper:
    """The report of a plant."""
    sources = Sources()
    display = display_of(plant)
    workings = Workings(plant, _roots(facts.sized), display)
    blocks: list[Block] = [
        *front_blocks(plant, facts.solutions, facts.sized, facts.findings, facts.energy, facts.takeoff),
        Heading("Contents", 2), Contents(),
        Heading("Loads", anchor="loads", new_page=True), loads_grid(plant, facts.solutions),
        *_cases(plant, facts.solutions),
        Heading("Curves", anchor="curves"), Drawn(CURVES),
        *_sizes(facts, display, workings),
        *_punch_list(facts.findings, sources),
        *_logbook(plant, facts.solutions),
        *_stage(plant),
        *workings_blocks(workings, sources, [solution.case for solution in facts.solutions]),
        *sources.blocks(),
    ]  # fmt: skip
    return Paper("Design report", tuple(blocks), columns=3, tells_accepted=True)


def _roots(sized: Sequence[Sized]) -> list[Working]:
    """What is worked out: of pipes that run alike the first, as the others differ by their lengths alone."""
    pipes = [one for one in sized if one.what in BY_PIPE]
    first = {id(group.first) for group in grouped(pipes)}
    told = (one for one in sized if one.what not in BY_PIPE or id(one) in first)
    return [one.working for one in told if one.working is not None]


def _cases(plant: Plant, solutions: Sequence[Solution]) -> Iterator[Block]:
    yield Heading("Cases", anchor="cases")
    yield items_grid(plant, solutions)
    grid = readings_grid(plant, solutions)
    if grid.rows:
        yield grid
    yield flows_grid(plant, solutions)
    notes: dict[str, list[str]] = {}
    for solution in solutions:
        for note in solution.notes:
            notes.setdefault(f"{note.at}: {note.text}", []).append(solution.case)
    if notes:
        yield Grid(
            "Notes of the solver", ("note", "in case"), tuple((t, ", ".join(c)) for t, c in notes.items())
        )


def items_grid(plant: Plant, solutions: Sequence[Solution]) -> Grid:
    """Circulators, sources, exchangers, tanks, mixing valves and rooms, in each case."""
    shown = (Trait.DRIVES, Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.STORES_HEAT, Trait.MIXES, Trait.ROOM)
    table = []
    for item in by_tag(plant.with_trait(*shown)):
        cells = [_said(solution, item.id, display_of(plant)) for solution in solutions]
        table.append((item.id, titled(item), *cells))
    return Grid("Found in each case", ("tag", "what", *(s.case for s in solutions)), tuple(table))


def _said(solution: Solution, at: str, display: Display) -> str:
    found = solution.items.get(at)
    if found is None:
        return NOTHING
    data = found.as_data()
    if data.get("running") is False:
        return "off"
    parts = []
    for key, dimension, words in FIGURES:
        value = data.get(key)
        if not isinstance(value, int | float) or isinstance(value, bool):
            continue
        if not dimension:
            parts.append(f"{words} {100 * value:.0f} %")
            continue
        si = value + (273.15 if dimension == "temperature" else 0.0)
        parts.append(solution.mark(at, key) + units.show(si, dimension, display))
    return " · ".join(parts) or NOTHING


# Sizes -----------------------------------------------------------------------------------------------------


def _sizes(facts: Facts, display: Display, workings: Workings) -> Iterator[Block]:
    sized = facts.sized
    yield Heading("Sizes", anchor="sizes")
    yield Said(
        "Of many options those nearest to the one taken, of pipes that run alike the first; the Sizes page "
        "of the window has them all."
    )
    if facts.costs is not None:
        yield Said(COST)
    order = {what: place for place, what in enumerate(dict.fromkeys(one.what for one in sized))}
    ranked = sorted(sized, key=lambda one: order[one.what])
    for what, answers in groupby(ranked, key=lambda one: one.what):
        yield Heading(title(what)[:1].upper() + title(what)[1:], 2)
        family = list(answers)
        # A caution stands with the family it concerns, once.
        yield from (Caution(text) for text in dict.fromkeys(t for one in family for t in one.cautions))
        yield from _family(family, display, workings, facts.costs)


def _family(
    family: Sequence[Sized], display: Display, workings: Workings, costs: Costs | None
) -> Iterator[Block]:
    """Each answer in a sentence that leads to its workings, then the options of all in one table."""
    table: list[tuple[str, ...]] = []
    head: tuple[str, ...] = ()
    bold: list[int] = []
    for group in grouped(family):
        numbers = [
            workings.number[key_of(one.working)]
            for one in family
            if one.at in group.ids and one.working is not None and key_of(one.working) in workings.number
        ]
        links = tuple((f"[{n}]", f"w{n}") for n in dict.fromkeys(numbers))
        found = rows(group.first, display)
        if costs is not None:
            found = with_costs(found, group, costs)
        sentence = short(group.sentence) if found else group.sentence
        yield Said(spoken_paths(sentence), links=links)
        missing = (text for text in group.first.missing if text not in group.sentence)
        yield from (Said(spoken_paths(text), indent=1) for text in missing)
        if not found:
            continue
        if head and found[0] != head:
            yield from _options(head, table, bold)
            table, bold = [], []
        head = found[0]
        for place, row in enumerate(_near(found[1:])):
            if row[0] == "→":
                bold.append(len(table))
            ids = group.ids[0] + (f" +{len(group.ids) - 1}" if len(group.ids) > 1 else "")
            table.append((ids if place == 0 else "", *row[1:]))
    if table:
        yield from _options(head, table, bold)


def _near(options: Sequence[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Of very many options those about the one taken; those further off are further from serving."""
    taken = next((place for place, row in enumerate(options) if row[0] == "→"), None)
    if taken is None or len(options) <= MOST_OPTIONS:
        return list(options)
    first = max(0, min(taken - MOST_OPTIONS // 2, len(options) - MOST_OPTIONS))
    return list(options[first : first + MOST_OPTIONS])


def _options(head: Sequence[str], table: Sequence[tuple[str, ...]], bold: Sequence[int]) -> Iterator[Block]:
    """The options; what all are called stands in the head, verdicts that are said often once below, "
    "by letter."""
    table = [(row[0], row[1].replace(INVENTED, ""), *row[2:]) for row in table]
    shared = _ending([row[1] for row in table])
    table = [(row[0], row[1].removesuffix(shared), *row[2:]) for row in table]
    head = (head[0], f"{head[1]},{shared}" if shared else head[1], *head[2:])
    verdicts = list(dict.fromkeys(row[-1] for row in table if row[-1]))
    letters: dict[str, str] = {}
    if len(table) > 2 * len(verdicts):
        letters = {text: letter(place) for place, text in enumerate(verdicts)}
        table = [(*row[:-1], letters.get(row[-1], row[-1])) for row in table]
    elif any(len(text) > SHORT for text in verdicts):
        table = [
            (row[0], BAND.join(part for part in (row[1], row[-1]) if part), *row[2:-1], "") for row in table
        ]
    right = frozenset(range(2, len(head) - 1))
    grid = Grid.of("", ("for", *head[1:]), table)
    yield replace(grid, right=right & frozenset(range(len(grid.heads))), bold=frozenset(bold))
    if letters:
        yield Said("Verdicts: " + "; ".join(f"{letter} {text}" for text, letter in letters.items()) + ".")


def _ending(names: Sequence[str]) -> str:
    """Last words that all names share, with the blank before them; empty where a name is nothing else."""
    words = [name.split(" ") for name in names]
    count = 0
    while (
        len(words) > 1
        and all(len(each) > count + 1 for each in words)
        and (len({each[-count - 1] for each in words}) == 1)
    ):
        count += 1
    return "".join(f" {word}" for word in words[0][len(words[0]) - count :]) if count else ""


# Punch list, logbook, stages -------------------------------------------------------------------------------


def _punch_list(findings: Sequence[Finding], sources: Sources) -> Iterator[Block]:
    yield Heading("Punch list", anchor="punch list")
    if not findings:
        yield Said("No rule found anything in what is drawn; what is not drawn could not be looked at.")
        return
    reasons: dict[str, Finding] = {}
    table = []
    for finding in findings:
        accepted = ""
        if finding.accepted is not None:
            said = finding.accepted
            by = listed((part for part in (said.by, said.checked_with, said.date) if part), "")
            accepted = f"accepted: {said.because}" + (f" ({by})" if by else "")
        elif finding.reopened:
            accepted = finding.reopened
        reasons.setdefault(finding.rule.id, finding)
        table.append(
            (finding.severity.value, ", ".join(finding.at), finding.text, finding.cure, accepted or NOTHING)
        )
    yield Grid.of("", ("", "at", "found", "cure", "accepted"), table)
    yield Heading("Why it matters", 2)
    for finding in reasons.values():
        number = sources.number(finding.rule.source)
        yield Said(f"{finding.rule.title}: {finding.rule.reason}", links=((f"[S{number}]", f"s{number}"),))


def _logbook(plant: Plant, solutions: Sequence[Solution]) -> Iterator[Block]:
    if not plant.logbook:
        return
    yield Heading("Logbook", anchor="logbook")
    by_name: Mapping[str, Solution] = {solution.case: solution for solution in solutions}
    table = []
    for each in standings(plant, by_name):
        entry = each.entry
        weighed = "; ".join(entry.weighed) or NOTHING
        today = each.words if each.state in ("look again", "gone") else each.state
        table.append((entry.id, ", ".join(entry.at), entry.date, entry.choice, entry.because, weighed, today))
    heads = ("", "at", "date", "choice", "because", "weighed", "today")
    yield Grid.of("", heads, table)


def _stage(plant: Plant) -> Iterator[Block]:
    yield Heading("Still to do", anchor="still to do")
    yield from stages_blocks(plant)
    yield from licensed_questions(plant)
