"""What records must be: texts on the board, logbook, readings, accepted findings. Kept as typed.

Ids in logbook and readings may name what is no longer there: records outlive items.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from core import units
from core.errors import Refusal, value_text
from core.vocabulary.values import (
    LONGEST_LABEL,
    read_choice,
    read_list,
    read_name,
    read_number,
    read_object,
    read_quantity,
    read_text,
)

_LOGBOOK = ("id", "at", "date", "choice", "weighed", "figures", "because", "follows", "within")
_FIGURE = ("path", "value", "unit", "case")
_READING = ("date", "case", "at", "what", "value", "error")
MEASURED = ("temperature", "pressure", "flow")
_REMARK = ("id", "at", "text", "by", "date", "answer", "answered")
_ACCEPTED = ("key", "because", "by", "checked_with", "date", "at", "figures")


def check_text(raw: Any, path: str = "") -> None:
    """A text on the board: {at, text, lead_to}."""
    given = read_object(raw, path, ("at", "text", "lead_to"), ("at", "text"))
    _place(given["at"], f"{path}.at")
    read_text(given["text"], f"{path}.text")
    lead = given.get("lead_to")
    if isinstance(lead, (list, tuple)):
        _place(lead, f"{path}.lead_to")
    elif lead is not None:
        read_name(lead, f"{path}.lead_to")


def _place(raw: Any, path: str) -> None:
    if not isinstance(raw, (list, tuple)) or len(raw) != 2:
        raise Refusal(path, value_text(raw), "a place [x, y]")
    for number, one in enumerate(raw):
        read_number(one, f"{path}[{number}]", -1e6, 1e6)


def check_logbook(raw: Any, path: str = "") -> None:
    """A decision: {id, at, date, choice, weighed, figures, because, follows, within}."""
    given = read_object(raw, path, _LOGBOOK, ("id",))
    read_name(given["id"], f"{path}.id")
    if "at" in given:
        _ids(given["at"], f"{path}.at")
    for key in ("date", "choice", "because"):
        read_text(given.get(key, ""), f"{path}.{key}")
    _texts(given.get("weighed", []), f"{path}.weighed")
    if "follows" in given:
        read_name(given["follows"], f"{path}.follows")
    if "within" in given:
        read_number(given["within"], f"{path}.within", 0.0, 10.0)
    for number, one in enumerate(read_list(given.get("figures", []), f"{path}.figures", of="figures")):
        place = f"{path}.figures[{number}]"
        figure = read_object(one, place, _FIGURE, ("path", "value"))
        for key in ("path", "unit", "case"):
            read_text(figure.get(key, ""), f"{place}.{key}", LONGEST_LABEL)
        if isinstance(figure["value"], str):
            read_text(figure["value"], f"{place}.value", LONGEST_LABEL)
        elif not isinstance(figure["value"], bool):
            read_number(figure["value"], f"{place}.value")


def _ids(raw: Any, path: str) -> None:
    """An id, or a list of ids; they may name what is no longer there."""
    if isinstance(raw, (list, tuple)):
        for number, one in enumerate(read_list(raw, path, of="ids")):
            read_name(one, f"{path}[{number}]")
        return
    read_name(raw, path)


def _texts(raw: Any, path: str) -> None:
    if isinstance(raw, (list, tuple)):
        for number, one in enumerate(read_list(raw, path, of="texts")):
            read_text(one, f"{path}[{number}]")
        return
    read_text(raw, path)


def check_reading(raw: Any, path: str = "") -> None:
    """What a gauge said: {date, case, at, what, value, error}."""
    given = read_object(raw, path, _READING, ("at", "value"))
    _ids(given["at"], f"{path}.at")
    for key in ("date", "case"):
        read_text(given.get(key, ""), f"{path}.{key}", LONGEST_LABEL)
    read_measured(given, path)


def read_measured(given: Mapping[str, Any], path: str) -> tuple[str, float, float | None]:
    """What a reading measures, its value [K, Pa gauge or m^3/s] and its stated error in the same unit."""
    if given.get("what"):
        what = read_choice(given["what"], MEASURED, f"{path}.what")
        value = read_quantity(given["value"], what, f"{path}.value")
    else:
        what, value = _told_by(given["value"], f"{path}.value")
    if "error" not in given:
        return what, value, None
    dimension = "temperature_difference" if what == "temperature" else what
    error = read_quantity(given["error"], dimension, f"{path}.error")
    if error <= 0.0:
        raise Refusal(f"{path}.error", value_text(given["error"]), "more than nothing")
    return what, value, error


def _told_by(raw: Any, path: str) -> tuple[str, float]:
    """What a value measures, by its unit, and the value in base SI."""
    if not isinstance(raw, str):
        raise Refusal(path, value_text(raw), 'a number with its unit such as "14 psi"')
    try:
        units.split_quantity(raw)
    except Refusal as refusal:
        raise refusal.located(path) from None
    for what in MEASURED:
        try:
            return what, units.parse(raw, what)
        except Refusal:
            continue
    raise Refusal(path, value_text(raw), "a temperature, a pressure or a flow with its unit")


def check_accepted(raw: Any, path: str = "") -> None:
    """A finding let stand: {key, because, by, checked_with, date, at, figures}.

    `at` and `figures` are what it named and how bad it was when it was accepted.
    """
    given = read_object(raw, path, _ACCEPTED, ("key",))
    for key in ("key", "because", "by", "date"):
        read_text(given.get(key, ""), f"{path}.{key}")
    _texts(given.get("checked_with", ""), f"{path}.checked_with")
    if "at" in given:
        _ids(given["at"], f"{path}.at")
    figures = given.get("figures", {})
    if not isinstance(figures, dict):
        raise Refusal(f"{path}.figures", value_text(figures), "an object of numbers")
    for key, value in figures.items():
        read_number(value, f"{path}.figures.{key}")


def check_remark(raw: Any, path: str = "") -> None:
    """What a reviewer wrote: {id, at, text, by, date, answer, answered}; `at` is an id, or absent."""
    given = read_object(raw, path, _REMARK, ("id", "text"))
    read_name(given["id"], f"{path}.id")
    if given.get("at"):
        _ids(given["at"], f"{path}.at")
    for key in ("text", "by", "date", "answer", "answered"):
        read_text(given.get(key, ""), f"{path}.{key}")
