"""Workings set as tables: numbers that come about in the same way stand under one formula, each number once.

A number that is made for one other alone stands in that one's row. Where it is used again, its row is named.
Made for paper; the tree itself is `core.working`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from core.plant.model import Plant
from core.working import Display, Working, typeset

Key = tuple[str, object, str]
SHARE = 0.5  # of the numbers of a kind that one other kind must use for them to stand in its rows
SUMS = "sums"
FROM = "from"
MARKS = {"practice": "ᵖ", "memory": "ᵐ"}
MARKS_SAID = "ᵖ common practice, no source; ᵐ from memory"
MANY = 4  # rows that say the same say it once, above them


@dataclass
class Row:
    """One number with what it was made from: cells by column, and what is said of it alone."""

    number: int
    words: str
    result: str
    cells: dict[str, str] = field(default_factory=dict)
    note: str = ""


@dataclass
class Sheet:
    """Numbers that come about alike."""

    title: str
    formulas: list[str] = field(default_factory=list)
    legend: dict[str, str] = field(default_factory=dict)
    said: list[str] = field(default_factory=list)
    sources: list[str] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)


def key_of(working: Working) -> Key:
    """Names a number: what it is, its value, its formula."""
    return working.words, working.value, working.formula


class Workings:
    """All numbers behind some answers, arranged.

    Parameters
    ----------
    plant : Plant
    roots : iterable of Working
    display : "us" or "si"

    Attributes
    ----------
    sheets : list of Sheet
        In the order in which their first number is wanted
    number : dict
        The row of each number
    """

    def __init__(self, plant: Plant, roots: Iterable[Working], display: Display) -> None:
        self.display = display
        ids = sorted([*plant.items, *plant.pipes], key=len, reverse=True)
        tubes = r"\d[\d/ .x-]*(?:in|mm)?\b"
        self._ids = re.compile("|".join([*(rf"(?<![\w.-]){re.escape(i)}(?![\w-])" for i in ids), tubes]))
        self._symbols = re.compile(
            "_(?:" + "|".join(re.escape(re.sub(r"\W", "_", i)) for i in ids or ["-"]) + r")\b"
        )
        self._named = re.compile("|".join(rf"(?<![\w.-]){re.escape(i)}(?![\w-])" for i in ids) or "$^")
        self._cases = [case.name for case in plant.solve_cases]
        self.nodes: dict[Key, Working] = {}
        self.users: dict[Key, list[Key]] = {}
        self._roots: set[Key] = set()
        self._templates: dict[Key, str] = {}
        for root in roots:
            if root.inputs:
                self._roots.add(key_of(root))
                self._gather(root)
        self._home = self._homes()
        self.number: dict[Key, int] = {}
        self.sheets = self._arranged()

    def _gather(self, working: Working) -> None:
        key = key_of(working)
        if key in self.nodes:
            return
        self.nodes[key] = working
        for part in working.inputs:
            if part.inputs:
                self._gather(part)
                self.users.setdefault(key_of(part), []).append(key)

    def _parts(self, node: Working) -> list[tuple[str, Working]]:
        """What a number was made from, each as it was first met, with its symbol here."""
        return [
            (part.symbol, self.nodes.get(key_of(part), part) if part.inputs else part) for part in node.inputs
        ]

    def general(self, words: str) -> str:
        """Words without ids, sizes and cases."""
        for case in self._cases:
            words = words.replace(case, "·")
        return self._ids.sub("·", words)

    def _names(self, words: str) -> bool:
        """Whether words name an item or pipe."""
        return self._named.search(words) is not None

    def template(self, working: Working) -> str:
        """Names all numbers that come about alike."""
        key = key_of(working)
        if key not in self._templates:
            self._templates[key] = self._template(working)
        return self._templates[key]

    def _template(self, working: Working) -> str:
        if not working.formula:
            return "how " + re.sub(r"[\d.,]+", "·", self.general(working.how))[:40]
        formula = self._symbols.sub("_·", working.formula)
        return SUMS if "_·" in formula else formula

    def _homes(self) -> dict[str, str]:
        """For each kind of number the kind in whose rows it stands, itself where it has rows of its own."""
        kinds: dict[str, list[Key]] = {}
        for key, node in self.nodes.items():
            kinds.setdefault(self.template(node), []).append(key)
        kind_of = {key: kind for kind, keys in kinds.items() for key in keys}
        home: dict[str, str] = {}
        for kind, keys in kinds.items():
            counts: dict[str, int] = {}
            for key in keys:
                for user in {kind_of[user] for user in self.users.get(key, ())}:
                    counts[user] = counts.get(user, 0) + 1
            best = max(counts, key=lambda user: counts[user], default=kind)
            whole = sum(1 for key in keys if key in self._roots)
            sums = SUMS in (kind, best)
            home[kind] = kind if sums or whole or counts.get(best, 0) < SHARE * len(keys) else best
        return {kind: kind if _circles(home, kind) else home[kind] for kind in kinds}

    def _arranged(self) -> list[Sheet]:
        """Rows by kind, numbered as they are printed; users first, so that a number is taken into "
        "their rows."""
        mains: dict[str, list[Key]] = {}
        taken: dict[Key, Key] = {}
        for key in sorted(self.nodes, key=lambda key: not self._own_rows(key)):
            if key not in taken:
                mains.setdefault(self.template(self.nodes[key]), []).append(key)
                self._take(self.nodes[key], key, taken)
        order = [key for keys in mains.values() for key in keys]
        place = {key: number for number, key in enumerate(order, start=1)}
        self.number = {key: place[main] for key, main in taken.items()}
        return [self._sheet([self.nodes[key] for key in keys]) for keys in mains.values()]

    def _own_rows(self, key: Key) -> bool:
        kind = self.template(self.nodes[key])
        return self._home[kind] == kind

    def _sheet(self, nodes: Sequence[Working]) -> Sheet:
        sums = self.template(nodes[0]) == SUMS
        sheet = Sheet("sums, and figures taken as they are" if sums else self.general(nodes[0].words))
        noted: list[list[str]] = []
        for node in nodes:
            row = Row(self.number[key_of(node)], node.words, node.shown(self.display))
            notes: list[str] = []
            self._cells(sheet, row, node, notes, set())
            noted.append(list(dict.fromkeys(notes)))
            sheet.rows.append(row)
        common = self._common(noted)
        sheet.said[:0] = [text for text in common if text]
        for row, texts in zip(sheet.rows, noted, strict=True):
            row.note = "; ".join(text for text in texts if self.general(text) not in common)
        return sheet

    def _common(self, noted: Sequence[Sequence[str]]) -> dict[str, str]:
        """Remarks that many rows share, by their general words; those that differ in bare figures are one."""
        found: dict[str, list[str]] = {}
        for texts in noted:
            for text in texts:
                found.setdefault(self.general(text), []).append(text)
        out = {}
        for general, texts in found.items():
            if len(texts) < MANY or any(name in texts[0] for name in self._cases) or self._names(texts[0]):
                continue
            out[general] = texts[0] if len(set(texts)) == 1 else ""  # a figure said in another unit
        return out

    def _take(self, node: Working, main: Key, taken: dict[Key, Key]) -> None:
        """A number into a row, with those that are made for its kind alone."""
        taken[key_of(node)] = main
        kind = self.template(node)
        for _, part in self._parts(node):
            other = self.template(part) if part.inputs else kind
            if other != kind and self._home[other] == kind and key_of(part) not in taken:
                self._take(part, main, taken)

    def _cells(self, sheet: Sheet, row: Row, node: Working, notes: list[str], seen: set[Key]) -> None:
        """Cells of a number and of those that stand in its row."""
        seen.add(key_of(node))
        self._say(sheet, row, node, notes)
        if self.template(node) == SUMS or len(node.inputs) > 9:
            row.cells[FROM] = self._put_in(node)
            return
        shown = node.shown(self.display)
        if all(not part.inputs and part.shown(self.display) == shown for part in node.inputs):
            return  # the mean of equals
        for symbol, part in self._parts(node):
            inside = (
                bool(part.inputs) and self.number[key_of(part)] == row.number and key_of(part) not in seen
            )
            name = self._symbols.sub("", symbol)
            value = part.shown(self.display) + MARKS.get(part.origin, "")
            if part.inputs and not inside and key_of(part) not in seen:
                value += f" [{self.number[key_of(part)]}]"
            column = name
            while column in row.cells and row.cells[column].split(" [")[0] != value.split(" [")[0]:
                column += "′"
            if column not in row.cells:
                row.cells[column] = value
                sheet.legend.setdefault(column, self._meaning(part))
            if inside:
                self._cells(sheet, row, part, notes, seen)

    def _say(self, sheet: Sheet, row: Row, node: Working, notes: list[str]) -> None:
        """Formula, remarks and source of a number, for the head of its table or its row."""
        if node.formula and self.template(node) != SUMS:
            symbol, formula = (self._symbols.sub("", each) for each in (node.symbol, typeset(node.formula)))
            _once(sheet.formulas, f"{symbol} = {formula}")
        if node.how and not node.how.startswith("table of"):
            notes.append(node.how)
        if node.holds:
            _once(sheet.said, f"holds for {node.holds}")
        if node.within is False:
            notes.append("outside the range it holds for")
        if node.source:
            _once(sheet.sources, node.source)

    def _put_in(self, node: Working) -> str:
        parts = []
        for symbol, part in self._parts(node):
            ref = f" [{self.number[key_of(part)]}]" if part.inputs else ""
            parts.append((symbol, part.shown(self.display) + MARKS.get(part.origin, "") + ref))
        values = dict(parts)
        if not node.formula:
            return "; ".join(f"{self._symbols.sub('', symbol)} {value}" for symbol, value in parts)
        return re.sub(r"[^\W\d]\w*", lambda m: values.get(m.group(), m.group()), typeset(node.formula))

    def _meaning(self, part: Working) -> str:
        words = self.general(part.words)
        origin = {"typed": "typed", "default": "default", "solved": "solved"}.get(part.origin, "")
        return f"{words} ({origin})" if origin and not part.inputs else words


def _circles(home: dict[str, str], kind: str) -> bool:
    """Whether following the homes from a kind comes back to it."""
    at = home[kind]
    for _ in range(len(home)):
        if at == kind:
            return True
        if home[at] == at:
            return False
        at = home[at]
    return True


def _once(texts: list[str], text: str) -> None:
    if text not in texts:
        texts.append(text)
