"""`wetside call-sheet FILE`: every combination of calls, outlets, one heater fewer, energy; text or JSON."""

from __future__ import annotations

import json
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from core import units
from core.calls.energy import yearly_energy
from core.calls.one_unit_out import one_unit_out
from core.calls.part_load import part_load
from core.calls.part_words import sentences
from core.calls.sheet import call_sheet
from core.commands.answering import WIDTH, hanging, wrapped
from core.commands.arguments import Arguments, concerning, one_of
from core.commands.solve import CAUTION, chosen_cases
from core.controls.words import said
from core.errors import Refusal, escaped
from core.files import read
from core.plant.model import Plant
from core.vocabulary import KINDS, Trait
from core.vocabulary.values import nearest
from core.working import Display

if TYPE_CHECKING:
    from core.calls.energy import Energy
    from core.calls.one_unit_out import OneUnitOut
    from core.calls.part_load import PartLoad
    from core.calls.rows import CallRow
    from core.calls.sheet import CallSheet

RUNS, RESTS, NONE = "●", "-", "·"
MOST_ROWS = 40  # of combinations on a page for the wall; --json tells all


def run(argv: list[str]) -> int:
    """Make the call sheet of the file named in `argv`; refusals are raised, the caller shows them."""
    parser = Arguments(
        "wetside call-sheet",
        description="Which call runs what: every combination of calls, solved.",
        allow_abbrev=False,
    )
    parser.add_argument("file", metavar="FILE", help="a plant file, *.plant.json")
    parser.add_argument(
        "--case", metavar="NAME", help="weather, draws and tanks as in this case (default: the first)"
    )
    parser.add_argument(
        "--circuit",
        metavar="ID",
        help="the circulator whose circuit to show at part load (default: each held by a temperature "
        "difference)",
    )
    parser.add_argument("--json", action="store_true", help="SI figures as JSON")
    given = parser.parse_args(argv)
    plant = read.load(given.file)
    with concerning(given.file):
        base = chosen_cases(plant, given.case, False)[0]
        circulators = _circulators(plant, given.circuit)
    return show(plant, base.name, given.json, circulators)


def _circulators(plant: Plant, named: str | None) -> list[str]:
    """The circulator named, else those held by a temperature difference."""
    pumps = plant.with_trait(Trait.DRIVES)
    if named is None:
        return [i.id for i in pumps if i.si.get("control") == "delta_t" and i.si.get("target") is not None]
    ids = [i.id for i in pumps]
    if named not in ids:
        expected = one_of(ids, "a circulator; none is drawn")
        raise Refusal("--circuit", named, expected, nearest(named, ids))
    return [named]


def show(plant: Plant, base: str, as_json: bool, circulators: Sequence[str] = ()) -> int:
    """Solve and print; 1 where a combination did not settle or an outlet is overloaded, else 0."""
    case = next(c for c in plant.solve_cases if c.name == base)
    sheet = call_sheet(plant, base=case)
    fewer, energy = one_unit_out(plant), yearly_energy(plant)
    parts = [part_load(plant, key) for key in circulators]
    if as_json:
        data = {
            **sheet.as_data(),
            "one_fewer": [each.as_data() for each in fewer],
            "energy": energy.as_data(),
            "part_load": [part.as_data() for part in parts],
        }
        print(json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1))
    else:
        print("\n".join(lines(plant, sheet, fewer, energy, parts, _encodes(RUNS))))
    unsolved = any(not KINDS[i.kind].solved for i in plant.items.values() if i.stage != "to_remove")
    over = any(o.verdict in ("over rating", "over 80 %") for row in sheet.rows for o in row.outlets)
    return 1 if unsolved or over or not all(row.solution.converged for row in sheet.rows) else 0


def _encodes(mark: str) -> bool:
    try:
        mark.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def lines(
    plant: Plant,
    sheet: CallSheet,
    fewer: Sequence[OneUnitOut],
    energy: Energy,
    parts: Sequence[PartLoad] = (),
    discs: bool = True,
) -> Iterator[str]:
    """The whole sheet as lines of text, no wider than 110 signs where tags are short."""
    from core.questions.resting import NOTE

    text = _Text(plant, sheet, discs)
    yield from text.head()
    yield from text.who_runs_what()
    yield from text.combinations()
    yield from text.loads()
    yield from text.short()
    yield from text.worst()
    yield from text.outlets()
    yield from text.one_fewer(fewer)
    yield from text.energy(energy)
    yield from text.part_load(parts)
    if text.marks.ends:
        yield NOTE
    for caution in (*sheet.cautions, CAUTION):
        yield from wrapped(caution, hang="")


class _Text:
    def __init__(self, plant: Plant, sheet: CallSheet, discs: bool) -> None:
        self.plant, self.sheet = plant, sheet
        self.system: Display = "si" if plant.units == "si" else "us"
        self.disc = RUNS if discs else "x"
        self.dot = NONE if discs else "."
        self.number = {name: n for n, (row, also) in enumerate(sheet.folded, 1) for name in (row.name, *also)}
        from core.questions.resting import Marks

        self.rows = self._for_the_wall()
        self.marks = Marks(plant)

    def _for_the_wall(self) -> list[CallRow]:
        """At most 40 rows: none, each call alone, all, the worst; then as many others as have room."""
        rows = [row for row, _ in self.sheet.folded]
        worst = {self.number[worst.case] for worst in self.sheet.worst}
        ranked = sorted(
            rows,
            key=lambda row: (
                len(row.on) > 1 and row is not rows[-1] and self.number[row.name] not in worst,
                self.number[row.name],
            ),
        )
        return sorted(ranked[:MOST_ROWS], key=lambda row: self.number[row.name])

    def power(self, watts: float) -> str:
        return units.show(watts, "power", self.system)

    def bare(self, watts: float) -> str:
        """Heat without its unit, which stands in the heading; nothing for 0."""
        return self.power(watts).split(" ")[0] if watts > 0.5 else self.dot

    @property
    def unit(self) -> str:
        return units.sign_of(units.unit_for("power", self.system))

    # ---- parts

    def head(self) -> Iterator[str]:
        yield escaped(f"{self.plant.title or 'untitled'} · call sheet · all else as in {self.sheet.base}")
        yield ""

    def who_runs_what(self) -> Iterator[str]:
        rows = [("runs", "kind", "when", "powered by")]
        for key in self.sheet.rows[0].runs:
            item = self.plant.items[key]
            powered = item.si.get("powered_by")
            rows.append(
                (
                    key,
                    item.label or item.kind.replace("_", " "),
                    said(item.si.get("run_when")),
                    said(powered) if powered not in (None, True) else "",
                )
            )
        yield "WHICH CALL RUNS WHAT"
        yield from _table(rows)
        yield ""

    def combinations(self) -> Iterator[str]:
        letters, also = self._letters(), {row.name: also for row, also in self.sheet.folded}
        yield f"COMBINATIONS ({self.disc} on; heat in {self.unit}; letters: worst, see below)"
        yield from self._which()
        heads = ("no", *self.sheet.calls, "heat", "needed", "delivered", "short", "worst in")
        rows = [heads]
        for row in self.rows:
            marks = [self.disc if call in row.on else self.dot for call in self.sheet.calls]
            state = "" if row.solution.converged else "not solved "
            state += "".join(f"{letters.get(name, '')} " for name in (row.name, *also[row.name])).lstrip()
            sums = (row.heat, row.wanted, row.delivered, row.short)
            mark = self.marks.at(row.case, *row.circuits, *row.sources)
            figures = [(mark if w > 0.5 else "") + self.bare(w) for w in sums]
            rows.append((str(self.number[row.name]), *marks, *figures, state.strip()))
        yield from _table(rows, right=range(len(heads) - 5, len(heads) - 1))
        for row in self.rows:
            if also[row.name]:
                yield from hanging(f"no {self.number[row.name]} is also: {', '.join(also[row.name])}")
        yield ""

    def _which(self) -> Iterator[str]:
        """What is not in the table, in words."""
        sheet = self.sheet
        if sheet.choice.words:
            yield from hanging(sheet.choice.words)
        if sheet.choice.unable:
            yield from hanging(
                f"Without power or out of service, so always off: {', '.join(sheet.choice.unable)}."
            )
        if sheet.choice.impossible:
            n = len(sheet.choice.impossible)
            yield from hanging(f"Left out: {n} in which a stat would call while its receptacle is off.")
        if len(self.rows) < len(sheet.folded):
            yield f"{len(self.rows)} of {len(sheet.folded)} rows are on this page; --json tells all."

    def short(self) -> Iterator[str]:
        """Which circuits are short, and why."""
        found: dict[tuple[str, str], list[int]] = {}
        for one in self.sheet.short:
            numbers = found.setdefault((one.at, one.because), [])
            if self.number[one.case] not in numbers:
                numbers.append(self.number[one.case])
        if found:
            yield "SHORT, AND WHY"
            for (at, because), numbers in found.items():
                told = ", ".join(str(n) for n in numbers[:12]) + (" …" if len(numbers) > 12 else "")
                yield from hanging(f"{at}: {because} (no {told})")
            yield ""

    def _letters(self) -> dict[str, str]:
        found: dict[str, str] = {}
        for n, worst in enumerate(self.sheet.worst):
            found[worst.case] = f"{found.get(worst.case, '')} {_letter(n)}".strip()
        return found

    def loads(self) -> Iterator[str]:
        """What each source, exchanger, circuit and circulator does in every combination, in bands."""
        first = self.sheet.rows[0]

        def flow(row: CallRow, key: str) -> str:
            moved = row.circulators[key]
            if not moved.running:
                return RESTS
            mark = self.marks.at(row.case, key, what="flow_m3_s")
            return mark + units.show(moved.flow, "flow", self.system).split(" ")[0]

        def circuit(row: CallRow, key: str) -> str:
            c = row.circuits[key]
            if not c.called:
                return RESTS
            missing = f" -{self.bare(c.short)}" if c.is_short else ""
            mark = self.marks.at(row.case, key, what="delivered_w")
            return f"{mark}{self.bare(c.delivered)}/{self.bare(c.wanted)}{missing}"

        flow_unit = units.sign_of(units.unit_for("flow", self.system))
        given = f"CIRCUITS, delivered/needed, after a minus short, {self.unit}"
        possible = f"EXCHANGERS, {self.unit}, share of rated heat, else of what these flows could pass"
        taken = f"TANKS, heat taken up, {self.unit}; how long the call would last, or too little to hold it"
        parts: tuple[tuple[str, Sequence[str], Callable[[CallRow, str], str]], ...] = (
            (given, tuple(first.circuits), circuit),
            (f"SOURCES, {self.unit}, share of capacity", tuple(first.sources), self._load),
            (possible, tuple(first.exchangers), self._load),
            (taken, tuple(first.tanks), self._tank),
            (f"CIRCULATORS, {flow_unit}", tuple(first.circulators), flow),
        )
        for title, keys, cell in parts:
            yield from self._bands(title, keys, cell)

    def _load(self, row: CallRow, key: str) -> str:
        load = row.sources.get(key) or row.exchangers[key]
        if not load.running:
            return RESTS
        share = load.share
        mark = self.marks.at(row.case, key, what="duty_w")
        return mark + self.bare(load.duty) + (f" {100 * share:.0f}%" if share is not None else "")

    def _tank(self, row: CallRow, key: str) -> str:
        share = row.duty_shares.get(key)
        heat = row.tanks[key]
        shown = self.bare(abs(heat)) if abs(heat) > 0.5 else self.dot
        lasts = "" if not share else f" {100 * share:.0f}% of time" if share <= 1.0 else " too little"
        return self.marks.at(row.case, key) + ("-" if heat < -0.5 else "") + shown + lasts

    def _bands(self, title: str, keys: Sequence[str], cell: Callable[[CallRow, str], str]) -> Iterator[str]:
        room = max(1, (WIDTH - 4) // 12)
        for start in range(0, len(keys), room):
            band = keys[start : start + room]
            rows = [("no", *band)]
            rows += [(str(self.number[row.name]), *(cell(row, key) for key in band)) for row in self.rows]
            yield title if not start else f"{title} (continued)"
            yield from _table(rows, right=range(1, len(band) + 1))
            yield ""

    def worst(self) -> Iterator[str]:
        rows = []
        for n, worst in enumerate(self.sheet.worst):
            value = units.show(worst.value, worst.dimension, self.system) if worst.dimension else ""
            if worst.what == "power":
                value = f"{worst.value:.0f} W"
            name = f"{worst.at} {worst.words}".strip()
            rows.append((f"{_letter(n)}  {name}", value, f"no {self.number[worst.case]}: {worst.case}"))
        if rows:
            yield "WORST"
            yield from _table([("", "", ""), *rows], right=(1,))[1:]
            yield ""

    def outlets(self) -> Iterator[str]:
        if not self.sheet.rows[0].outlets:
            return
        yield "RECEPTACLES, at their worst combination"
        for place, outlet in enumerate(self.sheet.rows[0].outlets):
            row = max(self.sheet.rows, key=lambda r: (_grave(r, place), -len(r.on)))
            load = row.outlets[place]
            yield from hanging(f"{outlet.at}: {load.words()} (no {self.number[row.name]}: {row.name})")
            for plugged in load.feeds:
                way = f" through {', '.join(plugged.through)}" if plugged.through else ""
                amps = "current not known" if plugged.amps is None else plugged.amps.shown("us")
                yield f"    {plugged.at}{way}: {amps}{'' if plugged.runs else ', off then'}"
            if not load.feeds:
                yield "    feeds nothing that is drawn"
        yield ""

    def one_fewer(self, fewer: Sequence[OneUnitOut]) -> Iterator[str]:
        if not fewer:
            return
        yield "ONE HEATER FEWER"
        for group in fewer:
            share = group.share
            said = "no case says how many hours it lasts"
            if share is not None:
                hours = sum(case.hours or 0.0 for case in group.cases)
                kept = float(share.value) * hours
                said = (
                    f"would carry {100 * float(share.value):.1f} % of the hours ({kept:.0f} of {hours:.0f} h)"
                )
            yield from hanging(f"{', '.join(group.units)} without {group.without}: {said}")
            rows: list[tuple[str, ...]] = [("case", "hours", "heat", "with one fewer", "short", "then", "")]
            for case in group.cases:
                verdict = "carried" if case.carries else "not carried" if case.settled else "not solved"
                figures = [self.power(w) for w in (case.heat, case.heat_fewer, case.short, case.short_fewer)]
                rows.append((escaped(case.case), f"{case.hours or 0:.0f}", *figures, verdict))
            yield from (f"    {line}" for line in _table(rows, right=range(1, 6)))
        yield ""

    def energy(self, energy: Energy) -> Iterator[str]:
        if energy.cases:
            yield f"ENERGY OF A YEAR, kWh, in the {energy.hours:.0f} h the cases cover"
            heads = ("", *(escaped(case.case)[:16] for case in energy.cases), "year")
            rows = [heads]
            for words, sums in (
                ("heat", energy.heat),
                ("fuel", energy.fuel),
                ("electricity", energy.electricity),
            ):
                for key, total in sums.items():
                    each = [_kwh(getattr(case, words).get(key)) for case in energy.cases]
                    rows.append((f"{words} of {key}", *each, _kwh(total)))
                if not sums:
                    continue
                whole = sum(float(w.value) for w in sums.values())
                rows.append((f"all {words}", *[""] * len(energy.cases), f"{whole / 3.6e6:,.0f}"))
            yield from _table(rows, right=range(1, len(heads)))
        for line in energy.missing:
            yield from hanging(f"missing: {line}")
        yield ""

    def part_load(self, parts: Sequence[PartLoad]) -> Iterator[str]:
        for part in parts:
            yield f"{part.circulator} AT PART LOAD, from {part.case}"
            heads = ("load", "outdoors", "flow", "speed", "supply", "return", "needed", "delivered")
            rows: list[tuple[str, ...]] = [heads]
            for p in part.points:
                warm = [units.show(t, "temperature", self.system) for t in (p.outdoor, p.supply, p.back)]
                heat = [self.power(w) for w in (p.wanted, p.delivered)]
                flow = units.show(p.flow, "flow", self.system)
                share, speed = f"{100 * p.share:.0f} %", f"{100 * p.speed:.0f} %"
                rows.append((share, warm[0], flow, speed, *warm[1:], *heat))
            yield from _table(rows, right=range(8))
            for sentence in sentences(self.plant, part, self.system):
                yield from hanging(sentence)
            yield ""


def _kwh(working: object) -> str:
    value = getattr(working, "value", None)
    return "?" if value is None else f"{float(value) / 3.6e6:,.0f}"


def _grave(row: CallRow, place: int) -> tuple[int, float]:
    order = ("idle", "within", "unknown", "over 80 %", "over rating")
    load = row.outlets[place]
    return order.index(load.verdict), float(load.amps.value)


def _letter(n: int) -> str:
    """a … z, then aa, ab …"""
    return chr(97 + n) if n < 26 else _letter(n // 26 - 1) + chr(97 + n % 26)


def _table(rows: Sequence[Sequence[str]], right: Sequence[int] = ()) -> list[str]:
    """Rows in columns; a last cell too long for the page goes on below itself."""
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    out = []
    for row in rows:
        cells = [
            cell.rjust(w) if k in right else cell.ljust(w)
            for k, (cell, w) in enumerate(zip(row, widths, strict=True))
        ]
        out.append(escaped("  ".join(cells).rstrip()))
    return out
