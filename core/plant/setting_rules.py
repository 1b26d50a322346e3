"""What site, systems and cases must be by themselves. Not for the items that cases name."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from core.errors import Refusal, value_text
from core.plant.model import Case, System
from core.vocabulary import Property, to_si
from core.vocabulary.document import CASE, SITE, SYSTEM
from core.vocabulary.values import LONGEST_LABEL, read_list, read_name, read_object, read_text, under

SHEET = ("number", "drawn_by", "checked_by", "approved_by", "owner", "date", "revisions")


def check_site(site: Mapping[str, Any], path: str = "site") -> None:
    """Refuse a site with an unknown key or a value out of this world."""
    for key, value in read_object(site, path, SITE).items():
        to_si(SITE[key], value, under(path, key))


def check_system(system: System, path: str = "") -> None:
    """Refuse a system that cannot be taken as it is."""
    read_name(system.name, path)
    _check(system, SYSTEM, path)


def check_case(case: Case, path: str = "") -> None:
    """Refuse a case with an unreadable value; which items it names is not judged here."""
    if not read_text(case.name, under(path, "name"), LONGEST_LABEL).strip():
        raise Refusal(under(path, "name"), value_text(case.name), "a name")
    read_text(case.note, under(path, "note"))
    _check(case, CASE, path)
    if case.start and case.lasts is None:
        raise Refusal(
            under(path, "lasts"), "nothing", 'how long the case lasts, such as "90 min", beside start'
        )


def _check(of: object, table: Mapping[str, Property], path: str) -> None:
    """Refuse values that their properties cannot take; what is None is not said."""
    for name, prop in table.items():
        if (raw := getattr(of, name)) is not None:
            to_si(prop, raw, under(path, name))


def check_sheet(sheet: Any, path: str = "sheet") -> None:
    """Refuse a title block with an unknown key, or with anything but plain texts."""
    for key, value in read_object(sheet, path, SHEET).items():
        place = under(path, key)
        if key != "revisions":
            read_text(value, place, LONGEST_LABEL)
            continue
        for number, row in enumerate(read_list(value, place, of="revisions [number, date, text]")):
            if not isinstance(row, (list, tuple)) or len(row) != 3:
                raise Refusal(f"{place}[{number}]", value_text(row), "a revision [number, date, text]")
            for column, one in enumerate(row):
                read_text(one, f"{place}[{number}][{column}]", LONGEST_LABEL)
