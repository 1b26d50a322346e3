"""Whether signals can ever stand so that something holds: logic over every combination, nothing solved."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from core.controls.signals import Signals
from core.plant.model import Item, Plant
from core.vocabulary import Trait, signal_names

DEEPEST = 20  # signals that feed signals; deeper ones count as free


class Possible:
    """The signals of a plant, each free to be on or off as far as what feeds it allows."""

    def __init__(self, plant: Plant) -> None:
        self.signals = Signals(plant)

    def running(self, item: Item) -> Any:
        """The expression that holds while an item runs, in signals that nothing else switches."""
        parts = [item.si.get("run_when"), item.si.get("powered_by")]
        return {"all": [self._own(part, 0) for part in parts if part is not None]}

    def _own(self, expression: Any, depth: int) -> Any:
        """An expression in which each signal that another switches or feeds is put by those."""
        if isinstance(expression, str):
            item = self.signals.items.get(expression)
            if item is None or expression in self.signals.dead:
                return False
            if item.has(Trait.FEEDS_POWER) and item.si.get("switched_by") is None and item.si.get("on"):
                return True  # a plain feed: no control switches it
            switched, fed = item.si.get("switched_by"), item.si.get("powered_by")
            own = expression if switched is None or depth > DEEPEST else self._own(switched, depth + 1)
            if fed is None or isinstance(fed, bool) or depth > DEEPEST:
                return False if fed is False else own
            return {"all": [own, self._own(fed, depth + 1)]}
        if isinstance(expression, Mapping):
            return {word: self._own(part, depth) for word, part in expression.items()}
        if isinstance(expression, (list, tuple)):
            return [self._own(part, depth) for part in expression]
        return expression

    def when(self, true: Any, *false: Any) -> dict[str, bool] | None:
        """A state of some signals in which one expression holds and others do not; None where there is none.

        Parameters
        ----------
        true : expression
            As of `running`
        *false : expression

        Returns
        -------
        dict or None
            Only the signals that had to be said, by name
        """
        wanted = {"all": [true, *({"not": one} for one in false)]}
        found = _assigned(wanted, list(dict.fromkeys(signal_names(wanted))), {})
        for name in list(found or ()):
            fewer = {key: state for key, state in (found or {}).items() if key != name}
            if value(wanted, fewer):
                found = fewer
        return found


def _assigned(wanted: Any, names: list[str], said: dict[str, bool]) -> dict[str, bool] | None:
    known = value(wanted, said)
    if known is not None or not names:
        return dict(said) if known else None
    for state in (True, False):
        found = _assigned(wanted, names[1:], {**said, names[0]: state})
        if found is not None:
            return found
    return None


def value(expression: Any, said: Mapping[str, bool]) -> bool | None:
    """Whether an expression holds; None where that hangs on signals that are not said.

    Examples
    --------
    >>> value({"any": ["A", "B"]}, {"A": True}), value({"all": ["A", "B"]}, {"A": True})
    (True, None)
    """
    if expression is None or isinstance(expression, bool):
        return expression is not False
    if isinstance(expression, str):
        return said.get(expression)
    if isinstance(expression, (list, tuple)):
        return _any([value(part, said) for part in expression])
    (word, part), *_ = expression.items()
    if word == "not":
        inner = value(part, said)
        return None if inner is None else not inner
    parts = [value(one, said) for one in (part if isinstance(part, (list, tuple)) else [part])]
    if word == "any":
        return _any(parts)
    return False if False in parts else None if None in parts else True


def _any(parts: list[bool | None]) -> bool | None:
    return True if True in parts else None if None in parts else False
