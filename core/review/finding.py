"""What a rule is, what it finds, and a finding as shown: at its place, with figures, reason and cure."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from core.review.study import Study

FIGURES = "#"  # parts a key from the figures after it
EITHER = re.compile(r"\{([^{}|]+)\|([^{}|]+)\}")  # a figure in SI and in US units


def in_units(text: str, system: str) -> str:
    """Words with figures as a plant is shown in: of each `{SI|US}` the one."""
    return EITHER.sub(r"\1" if system == "si" else r"\2", text)


class Severity(StrEnum):
    """How much a finding matters, the gravest first."""

    STOP = "stop"  # someone can be hurt, or a code forbids it
    MEND = "mend"  # it will not work, or a safety part is not known to be right
    CONSIDER = "consider"  # it works badly, or could be better

    @property
    def rank(self) -> int:
        """0 for the gravest."""
        return list(Severity).index(self)


@dataclass(frozen=True)
class Figure:
    """A figure that made a rule speak.

    Attributes
    ----------
    what : str
        A key such as "return_c"; it tells the same figure again in a later review
    value : float
        In base SI, temperatures in [degC] where the key ends so
    worse : {1, -1}
        Which way is worse: 1 where a greater value is
    """

    what: str
    value: float
    worse: int = 1


@dataclass(frozen=True)
class Found:
    """What a rule yields: the place and the words; the rule knows all else.

    Attributes
    ----------
    at : tuple of str
        Ids: first the item or pipe at fault, or, where something is missing, the item it should protect
    text : str
        One or two plain sentences, with the figures
    figures : tuple of Figure
    case : str
        Name of the case it was seen in, "" where it holds in every case
    severity : Severity or None
        Where it is not the rule's own
    guess : bool
        Whether it rests on a guess (a length that nobody typed)
    cure : str
        Where it is not the rule's own
    """

    at: tuple[str, ...]
    text: str
    figures: tuple[Figure, ...] = ()
    case: str = ""
    severity: Severity | None = None
    guess: bool = False
    cure: str = ""


Find = Callable[["Study"], Iterator[Found]]


@dataclass(frozen=True)
class Rule:
    """One rule of the review.

    Attributes
    ----------
    id : str
        Plain words joined by hyphens, our own
    title : str
        A few words, as a heading
    severity : Severity
    reason : str
        Why it matters, in plain words; figures as `{60 °C|140 °F}`, also in `cure` and `ask`
    source : str
        Where it is published, or 'common practice, no source'; 'from memory' where it is
    cure : str
        What would cure it
    find : callable
        Study -> findings
    origin : str or None
        Id in the list of rules that outside checks know, None where the rule is not among them
    ask : str
        Of a rule of safety: what to ask the authority or a licensed trade
    solved : bool
        Whether it reads solved cases; else only what is drawn and typed
    insert : str
        A key of `core.review.parts.CURES` where a cure can be put in by one step, else ""
    """

    id: str
    title: str
    severity: Severity
    reason: str
    source: str
    cure: str
    find: Find
    origin: str | None = None
    ask: str = ""
    solved: bool = False
    insert: str = ""

    def in_units(self, system: str) -> Rule:
        """The rule with its own figures as a plant is shown in.

        What its source says stays in the units of the source.
        """
        reason, cure, ask = (in_units(words, system) for words in (self.reason, self.cure, self.ask))
        return replace(self, reason=reason, cure=cure, ask=ask)


def registrar(rules: list[Rule]) -> Callable[..., Callable[[Find], Find]]:
    """A decorator that makes a rule of a function and adds it to a module's list.

    Parameters
    ----------
    rules : list of Rule
        The module's own; `core.review.rules` joins them

    Examples
    --------
    >>> RULES: list[Rule] = []
    >>> rule = registrar(RULES)
    >>> @rule("nothing-drawn", "Nothing drawn", Severity.CONSIDER, "why", "source", "Draw.")
    ... def nothing_drawn(study):
    ...     if not study.plant.items:
    ...         yield Found(("",), "Nothing is drawn yet.")
    >>> RULES[0].id
    'nothing-drawn'
    """

    def rule(
        name: str, title: str, severity: Severity, reason: str, source: str, cure: str, **more: Any
    ) -> Callable[[Find], Find]:
        def register(find: Find) -> Find:
            rules.append(Rule(name, title, severity, reason, source, cure, find, **more))
            return find

        return register

    return rule


@dataclass(frozen=True)
class Acceptance:
    """That a finding was let stand: why, by whom, checked with whom, when."""

    because: str
    by: str = ""
    checked_with: str = ""
    date: str = ""

    def as_data(self) -> dict[str, str]:
        """Plain data for --json."""
        return {
            "because": self.because,
            "by": self.by,
            "checked_with": self.checked_with,
            "date": self.date,
        }


@dataclass(frozen=True)
class Finding:
    """A finding of the punch list.

    Attributes
    ----------
    rule : Rule
    found : Found
    accepted : Acceptance or None
        None also where it was accepted once and has become worse since
    reopened : str
        Why an acceptance no longer counts, "" where none was given or it counts
    """

    rule: Rule
    found: Found
    accepted: Acceptance | None = None
    reopened: str = ""

    @property
    def severity(self) -> Severity:
        """How much it matters."""
        return self.found.severity or self.rule.severity

    @property
    def at(self) -> tuple[str, ...]:
        """Where, ids."""
        return self.found.at

    @property
    def key(self) -> str:
        """Names the finding from one review to the next: rule and first place."""
        return key_of(self.rule.id, self.found.at)

    @property
    def full_key(self) -> str:
        """The key with the figures seen now, so that a record made of it alone tells when they worsen."""
        seen = ",".join(f"{one.what}={one.value:.4g}" for one in self.found.figures)
        return f"{self.key}{FIGURES}{seen}" if seen else self.key

    @property
    def cure(self) -> str:
        """What would cure it."""
        return self.found.cure or self.rule.cure

    @property
    def text(self) -> str:
        """What is said of it."""
        return self.found.text

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "rule": self.rule.id,
            "from": self.rule.origin,
            "severity": self.severity.value,
            "key": self.full_key,
            "at": list(self.at),
            "case": self.found.case or None,
            "text": self.text,
            "title": self.rule.title,
            "reason": self.rule.reason,
            "source": self.rule.source,
            "cure": self.cure,
            "ask": self.rule.ask or None,
            "guess": self.found.guess,
            "figures": {figure.what: figure.value for figure in self.found.figures},
            "accepted": None if self.accepted is None else self.accepted.as_data(),
            "reopened": self.reopened or None,
        }


def plain_key(key: str) -> str:
    """A key without the figures that may follow it."""
    return key.partition(FIGURES)[0]


def figures_of(record: Mapping[str, Any]) -> dict[str, float]:
    """Figures of an accepted finding when it was accepted: listed by themselves, else those in its key."""
    if "figures" in record:
        return {what: float(value) for what, value in record["figures"].items()}
    found = {}
    for part in str(record["key"]).partition(FIGURES)[2].split(","):
        what, _, value = part.partition("=")
        try:
            found[what] = float(value)
        except ValueError:
            continue
    return found


def key_of(rule: str, at: tuple[str, ...]) -> str:
    """The key of a finding."""
    return f"{rule}@{at[0] if at else ''}"
