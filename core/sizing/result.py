"""What sizing hands out: a size or a judgement, the options weighed, and the working of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from core.working import Working


@dataclass(frozen=True)
class Option:
    """One way it could be done.

    Attributes
    ----------
    name : str
        What would be taken, e.g. "1 in Type L copper"
    figures : dict
        SI numbers, the unit in the key as in the solver's figures, e.g. velocity_m_s
    serves : bool
        Whether it meets every limit
    verdict : str
        In a few words: what it meets or breaks
    props : dict or None
        Properties (of the item or pipe `Sized.at`) that accepting it would set, as a plant file has them;
        None where accepting means more than that, or nothing
    working : Working or None
    limits : dict
        Limits of some of the figures, by the same keys
    """

    name: str
    figures: Mapping[str, float] = field(default_factory=dict)
    serves: bool = True
    verdict: str = ""
    props: Mapping[str, Any] | None = None
    working: Working | None = None
    limits: Mapping[str, float] = field(default_factory=dict)

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        data: dict[str, Any] = {"name": self.name, **self.figures, "serves": self.serves}
        if self.verdict:
            data["verdict"] = self.verdict
        if self.props is not None:
            data["props"] = dict(self.props)
        if self.working is not None:
            data["working"] = self.working.as_data()
        return data


@dataclass(frozen=True)
class Sized:
    """One size or judgement.

    Attributes
    ----------
    at : str
        Id of the item or pipe
    what : str
        Short key: design_flow, tube, circulator, expansion_tank, relief_valve, …
    words : str
        The answer as one sentence, figures in the plant's own units
    value : float, str or None
        In SI; None where it cannot be sized, `missing` then says why
    unit : str
        Suffix as in the solver's keys: m3_s, m, pa, w, m3, …; empty for text
    dimension : str
        Dimension for display
    case : str
        The case or call that decided, where one did
    chosen : str
        Name of the option proposed, or empty
    missing : tuple of str
        Exactly what is lacking, and where
    cautions : tuple of str
        What could hurt, and who decides
    fails : bool
        Whether what is drawn is too small, too high or not protected: the command then ends with 1
    """

    at: str
    what: str
    words: str
    value: float | str | None
    unit: str = ""
    dimension: str = ""
    case: str = ""
    options: tuple[Option, ...] = ()
    chosen: str = ""
    working: Working | None = None
    missing: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    fails: bool = False

    def as_data(self) -> dict[str, Any]:
        """Plain data for --json."""
        return {
            "at": self.at,
            "what": self.what,
            "words": self.words,
            "value": self.value,
            "unit": self.unit,
            "case": self.case,
            "chosen": self.chosen,
            "options": [option.as_data() for option in self.options],
            "working": self.working.as_data() if self.working is not None else {},
            "missing": list(self.missing),
            "cautions": list(self.cautions),
        }
