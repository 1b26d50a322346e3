"""The first two pages of a design report: what the plant must do and does, what differs, dangers, "
"money, questions."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from core import units
from core.calls.energy import Energy
from core.diagram.annotations import figure
from core.diagram.runs import run_tags
from core.diagram.states import dead_end
from core.figures import EmitterFigures, SourceFigures
from core.papers.blocks import Block, Caution, Grid, Heading, Said
from core.papers.plant_words import (
    NOTHING,
    by_tag,
    display_of,
    licensed_questions,
    listed,
    natural,
    spoken_paths,
    titled,
)
from core.papers.takeoff import Takeoff
from core.plant.model import Plant
from core.review.finding import Finding, Severity
from core.sizing.result import Sized
from core.sizing.table import grouped
from core.solve import Solution
from core.solve.solution import Severity as NoteSeverity
from core.vocabulary import Trait
from core.working import Display, show_value

ZERO = 273.15  # [K]
MOST = 12  # lines of a list on the first pages; all stand in their chapters


def front_blocks(
    plant: Plant, solutions: Sequence[Solution], sized: Sequence[Sized], findings: Sequence[Finding],
    energy: Energy | None, takeoff: Takeoff | None,
) -> Iterator[Block]:  # fmt: skip
    """What who decides reads first."""
    yield Heading("What the plant must do")
    yield from _purpose(plant, solutions)
    yield Heading("What it does")
    yield _found(plant, solutions)
    yield Heading("What differs from the drawing")
    yield from _differs(plant, sized)
    yield Heading("Dangers")
    yield from _dangers(solutions, findings)
    yield Heading("Money")
    yield from _money(plant, energy, takeoff)
    yield Heading("Open questions", new_page=True)
    yield from _questions(plant, sized, findings)


def _purpose(plant: Plant, solutions: Sequence[Solution]) -> Iterator[Block]:
    display = display_of(plant)
    site = plant.site_si
    design, cold, indoor = (
        show_value(each, "temperature", display)
        for each in (site.outdoor_design, site.cold_water, site.indoor)
    )
    yield Said(
        f"{plant.title or 'The plant'}: outdoors {design} by design, indoors {indoor}, cold water "
        f"{cold}, altitude "
        f"{show_value(site.altitude, 'length', display)}."
    )
    rows = []
    for case, solution in zip(plant.solve_cases, solutions, strict=False):
        outdoor = site.outdoor_design if case.si.outdoor is None else case.si.outdoor
        wanted = sum(map(asked, solution.of(EmitterFigures).values()))
        draw = sum(case.si.draws.values())
        calls = [name for name, on in solution.signals.items() if on]
        rows.append(
            (
                case.name,
                show_value(outdoor, "temperature", display),
                ", ".join(calls) or "none", show_value(wanted, "power", display),
                show_value(draw, "flow", display) if draw else NOTHING,
                NOTHING if case.hours_per_year is None else f"{case.hours_per_year:.0f}",
            )
        )  # fmt: skip
    heads = ("case", "outdoors", "called by", "heat needed", "hot water drawn", "hours a year")
    yield Grid.of("", heads, rows, "outdoors, heat needed, hot water drawn, hours a year")


def _found(plant: Plant, solutions: Sequence[Solution]) -> Grid:
    display = display_of(plant)
    rows = []
    for solution in solutions:
        heat = solution.of(EmitterFigures)
        given = sum(found.delivered_w for found in heat.values())
        short = {
            key: found.short_w
            for key, found in heat.items()
            if found.short_w > 0.01 * max(found.wanted_w, 1.0)
        }
        made = sum(found.duty_w for found in solution.of(SourceFigures).values())
        says = listed(
            (f"{key} {show_value(value, 'power', display)}" for key, value in short.items()), "nobody"
        )
        state = "solved" if solution.converged else "not solved: its figures are no answer"
        rows.append(
            (
                solution.case, show_value(made, "power", display), show_value(given, "power", display), says,
                state + _noted(len(solution.notes)),
            )
        )  # fmt: skip
    heads = ("case", "heat made", "heat delivered", "short", "")
    return Grid("", heads, tuple(rows), frozenset({1, 2}))


def _noted(count: int) -> str:
    return f"; {count} note{'s' * (count != 1)}" if count else ""


def asked(found: EmitterFigures) -> float:
    """Heat that a circuit needs in a case, nothing where no call runs it, [W]."""
    return found.wanted_w if found.delivered_w > 0.0 or found.short_w > 0.0 or found.flow_m3_s else 0.0


def _differs(plant: Plant, sized: Sequence[Sized]) -> Iterator[Block]:
    fails = [one for one in sized if one.fails]
    if not fails:
        yield Said("Every size that is drawn meets what was found.")
        return
    yield from _first((short(group.sentence) for group in grouped(fails)), "sizes")


def short(sentence: str) -> str:
    """What is taken and what is drawn; what else was weighed stands in a table."""
    first, _, rest = sentence.partition("; ")
    drawn = rest[rest.index(" Drawn is") :] if " Drawn is" in rest else ""
    return f"{first.rstrip('.')}.{drawn}" if drawn else sentence


def _first(texts: Iterable[str], chapter: str) -> Iterator[Block]:
    """As many lines as have room; the rest stands in its chapter."""
    found = list(dict.fromkeys(texts))
    yield from (Said(f"– {text}") for text in found[:MOST])
    if len(found) > MOST:
        yield Said(f"and {len(found) - MOST} more", links=((f"in {chapter}", chapter),))


def _dangers(solutions: Sequence[Solution], findings: Sequence[Finding]) -> Iterator[Block]:
    grave = (NoteSeverity.DANGER, NoteSeverity.MISSING)
    notes: dict[str, list[str]] = {}
    for solution in solutions:
        for note in solution.notes:
            if note.severity in grave:
                notes.setdefault(f"{note.at}: {note.text}", []).append(solution.case)
    stops = [f for f in findings if f.severity is Severity.STOP and f.accepted is None]
    texts = [f"{', '.join(finding.at)}: {finding.text} {finding.cure}".strip() for finding in stops]
    texts += [f"{text} ({', '.join(cases)})" for text, cases in notes.items()]
    if not texts:
        yield Said("None was found in what is drawn and solved; what is not drawn could not be looked at.")
    found = list(dict.fromkeys(texts))
    yield from (Caution(text) for text in found[:MOST])
    if len(found) > MOST:
        yield Said(f"and {len(found) - MOST} more", links=(("in punch list", "punch list"),))


def _money(plant: Plant, energy: Energy | None, takeoff: Takeoff | None) -> Iterator[Block]:
    if energy is not None and energy.hours > 0.0:
        parts = []
        for words, sums in (
            ("heat", energy.heat),
            ("fuel", energy.fuel),
            ("electricity", energy.electricity),
        ):
            total = sum(float(each.value) for each in sums.values())
            if total:
                # A meter counts kWh everywhere.
                shown = "si" if words == "electricity" else display_of(plant)
                parts.append(f"{words} {_energy(total, shown)}")
        yield Said(f"Energy of {energy.hours:.0f} hours a year: {', '.join(parts) or 'none known'}.")
        if energy.missing:
            yield Said(f"Not in it: {'; '.join(energy.missing)}.")
    else:
        yield Said("No case says how many hours of a year it lasts, so no energy of a year is given.")
    if takeoff is not None and takeoff.cost is not None:
        missing = len(takeoff.unpriced)
        beside = f"; {missing} lines have no price" if missing else ""
        yield Said(f"Still to buy, by the price list given: {takeoff.cost:,.2f}{beside}.")
    else:
        yield Said("No price list was given, so nothing here has a cost.")


def _energy(joule: float, display: Display) -> str:
    return f"{joule / 3.6e6:,.0f} kWh" if display == "si" else f"{joule / 105.5056e6:,.1f} therm"


def _questions(plant: Plant, sized: Sequence[Sized], findings: Sequence[Finding]) -> Iterator[Block]:
    unknown = [
        f"{item.id}: {name.replace('_', ' ')} is not known"
        for item in plant.items.values()
        for name, raw in item.props.items()
        if raw == "unknown"
    ]
    texts = [
        spoken_paths(text if text.startswith(one.at) else f"{one.at}: {text}")
        for one in sized
        for text in one.missing
    ]
    asked = [finding.rule.ask for finding in findings if finding.rule.ask and finding.accepted is None]
    yield from _first([*unknown, *texts, *asked], "sizes")
    yield from licensed_questions(plant)


def loads_grid(plant: Plant, solutions: Sequence[Solution]) -> Grid:
    """Needed and delivered of each emitter, in each case."""
    display = display_of(plant)
    rows = []
    for item in by_tag(plant.with_trait(Trait.GIVES_HEAT)):
        cells = []
        for solution in solutions:
            found = solution.at(item.id, EmitterFigures)
            cells.append(
                NOTHING
                if found is None
                else solution.mark(item.id, "delivered_w") + _of_needed(found, display)
            )
        rows.append((item.id, titled(item), *cells))
    heads = ("tag", "what", *(solution.case for solution in solutions))
    return Grid("Delivered of needed", heads, tuple(rows), frozenset(range(2, len(heads))))


def _of_needed(found: EmitterFigures, display: Display) -> str:
    """`24.3 of 24.0 kBtu/h`; off where no call runs it."""
    if not asked(found) and not found.delivered_w:
        return "off"
    given, needed = (figure(each, "power", display) for each in (found.delivered_w, found.wanted_w))
    number, _, unit = given.partition(" ")
    return f"{number} of {needed}" if needed.endswith(f" {unit}") else f"{given} of {needed}"


def flows_grid(plant: Plant, solutions: Sequence[Solution]) -> Grid:
    """Flow of each run in each case; what goes to an instrument alone is left out."""
    display = display_of(plant)
    rows = []
    for tag in sorted(set(run_tags(plant).values()), key=natural):
        pipe = plant.pipes[tag]
        if pipe.stage == "to_remove" or dead_end(plant, pipe):
            continue
        cells = [units.show(abs(s.flow(tag)), "flow", display).split(" ")[0] if s.converged else NOTHING
                 for s in solutions]  # fmt: skip
        rows.append((tag, *cells))
    heads = ("run", *(solution.case for solution in solutions))
    unit = units.sign_of(units.unit_for("flow", display))
    return Grid(f"Flow of each run of pipe, {unit}", heads, tuple(rows), frozenset(range(1, len(heads))))
