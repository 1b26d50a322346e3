"""Plant files to plants: opens, reads strictly, names the place of whatever cannot be taken.

Not for saving (`write`, `save`), nor for rules over several items, which `core.plant.validity` holds
for every plant, whatever made it.
"""

from __future__ import annotations

import stat
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from core.errors import Refusal, value_text
from core.files import migrate, newer, syntax
from core.files.limits import (
    FARTHEST,
    LARGEST_FILE,
    MOST_BENDS,
    MOST_CASES,
    MOST_ITEMS,
    MOST_PIPES,
    MOST_RECORDS,
    MOST_SYSTEMS,
)
from core.files.migrate import VERSION
from core.files.places import SUFFIX
from core.plant import validity
from core.plant.guesses import PIPE_GUESSES
from core.plant.model import Case, Item, Pipe, Plant, PortRef, System
from core.vocabulary import KINDS
from core.vocabulary.guesses import GUESSABLE, read_guesses
from core.vocabulary.values import is_name, read_list, read_name, read_number, read_object, under

FORMAT = "wetside-plant"
NEWER_HINT = "A newer wetside wrote it; open it with that one"

_TOP = (
    "format",
    "version",
    "title",
    "revision",
    "units",
    "site",
    "systems",
    "items",
    "pipes",
    "cases",
    "curves",
    "texts",
    "logbook",
    "readings",
    "accepted",
    "remarks",
    "sheet",
    "profiles",
    "runs",
)
_ITEM = ("id", "kind", "at", "turn", "flip", "label", "note", "stage", "props")
_PIPE = (
    "id",
    "from",
    "to",
    "system",
    "tube",
    "length",
    "fittings",
    "k",
    "joined",
    "straight",
    "insulation",
    "around",
    "via",
    "label",
    "note",
    "stage",
)
_CASE = (
    *("name", "outdoor", "signals", "draws", "tanks", "season", "hours_per_year", "note"),
    *("set", "lasts", "start"),
)
_Part = TypeVar("_Part")


@dataclass(frozen=True)
class Opened:
    """A plant as read for the window, with what is to be told of its file."""

    plant: Plant
    version: int
    """The file's own; above `VERSION` the plant is only what could be understood of it."""
    notes: tuple[str, ...] = ()
    """What migration did, for the user."""
    left_out: tuple[str, ...] = ()
    """Places of a newer file that this program does not know."""

    @property
    def newer(self) -> bool:
        return self.version > VERSION

    @property
    def older(self) -> bool:
        return self.version < VERSION


def load(path: str | Path) -> Plant:
    """The plant in a file, of this version or an older one.

    Raises
    ------
    Refusal
        One line with file, place, what was found and what was expected
    """
    return loads(bytes_of(Path(path)), file=str(path))


def open_file(path: str | Path) -> Opened:
    """The plant in a file of any version; of a newer one as much as can be understood.

    Raises
    ------
    Refusal
        As `load`
    """
    file = str(path)
    raw = bytes_of(Path(path))
    try:
        data = syntax.parsed(syntax.decoded(raw))
        version = _check_format(data, newest=None)
        if version > VERSION:
            return _understood(data, version)
        current, notes = migrate.migrated(data)
        return Opened(validity.require(_plant(current)), version, notes)
    except Refusal as refusal:
        raise refusal.located(file=file) from None


def _understood(data: Mapping[str, Any], version: int) -> Opened:
    """What is left of newer data when all that this program would refuse is taken out."""
    known = {"": _TOP, "items": _ITEM, "pipes": _PIPE, "cases": _CASE}
    rest, gone = newer.without_unknown({**data, "version": VERSION}, known)
    for _ in range(newer.MOST_LEFT_OUT):
        try:
            return Opened(validity.require(_plant(rest)), version, left_out=tuple(gone))
        except Refusal as refusal:
            rest = newer.without(rest, refusal)
            gone.append(refusal.path)
    raise Refusal("version", f"{version}", f"at most {VERSION}", NEWER_HINT)


def bytes_of(path: Path) -> bytes:
    """What is in a plant file, up to a little more than it may be large."""
    expected = f"a plant file, *{SUFFIX}"
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            raise Refusal("", "a folder", expected, file=str(path))
        if not stat.S_ISREG(mode):
            # A pipe or a device could keep us waiting for ever.
            raise Refusal("", "something that is not a file", expected, file=str(path))
        with path.open("rb") as stream:
            return stream.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        found = "no such file"
    except PermissionError:
        found = "no permission to read it"
    except (OSError, ValueError) as error:
        found = f"it cannot be read ({getattr(error, 'strerror', None) or error})"
    raise Refusal("", found, expected, file=str(path)) from None


def id_at(path: str | Path, part: str, number: int) -> str:
    """Id of an entry of `items` or `pipes` in a file that was refused; empty where it has none."""
    try:
        entry = syntax.parsed(syntax.decoded(bytes_of(Path(path))))[part][number]
        name = entry["id"]
    except (Refusal, KeyError, IndexError, TypeError):
        return ""
    return name if is_name(name) else ""


def loads(text: str | bytes, file: str = "") -> Plant:
    """The plant in a text or in bytes; `file` is named in refusals."""
    try:
        plain = syntax.decoded(text) if isinstance(text, bytes) else text
        data = syntax.parsed(plain)
    except Refusal as refusal:
        raise refusal.located(file=file) from None
    return from_data(data, file)


def from_data(data: Any, file: str = "") -> Plant:
    """The plant in JSON data; `file` is named in refusals."""
    try:
        return validity.require(_plant(data))
    except Refusal as refusal:
        raise refusal.located(file=file) from None


def _plant(data: Any) -> Plant:
    _check_format(data)
    data, _ = migrate.migrated(data)
    given = read_object(data, "", _TOP)
    items = _named(given.get("items", []), "items", MOST_ITEMS, "items", _item)
    pipes = _named(given.get("pipes", []), "pipes", MOST_PIPES, "pipes", _pipe, items)
    return Plant(
        title=given.get("title", ""),
        units=given.get("units", "us"),
        site=read_guesses(given.get("site", {}), "site"),
        systems=_systems(given.get("systems", {})),
        items=items,
        pipes=pipes,
        cases=_cases(given.get("cases", []), items),
        curves=_records(given, "curves"),
        texts=_records(given, "texts"),
        logbook=_records(given, "logbook"),
        readings=_records(given, "readings"),
        accepted=_records(given, "accepted"),
        remarks=_records(given, "remarks"),
        version=VERSION,
        revision=given.get("revision", ""),
        sheet=given.get("sheet", {}),
        profiles=given.get("profiles", {}),
        runs=_records(given, "runs"),
    )


def _check_format(data: Any, newest: int | None = VERSION) -> int:
    """The version of a plant file; one above `newest` is refused."""
    if not isinstance(data, dict):
        raise Refusal("", value_text(data), f'an object {{"format": "{FORMAT}", …}}')
    if data.get("format") != FORMAT:
        found = value_text(data["format"]) if "format" in data else "nothing"
        raise Refusal("format", found, f'"{FORMAT}"', "This is not a plant file" if "format" in data else "")
    version = data.get("version")
    if isinstance(version, bool) or not isinstance(version, int) or version < migrate.oldest():
        raise Refusal("version", value_text(version) if "version" in data else "nothing", f"{VERSION}")
    if newest is not None and version > newest:
        raise Refusal("version", value_text(version), f"at most {newest}", NEWER_HINT)
    return version


def _named(
    raw: Any,
    path: str,
    most: int,
    of: str,
    read: Callable[[Any, str], _Part],
    before: Mapping[str, Any] | None = None,
) -> dict[str, _Part]:
    """Items or pipes by id; ids are unique over both."""
    parts: dict[str, _Part] = {}
    for number, one in enumerate(read_list(raw, path, 0, most, of)):
        place = f"{path}[{number}]"
        part = read(one, place)
        name = part.id  # type: ignore[attr-defined]
        if name in parts or (before is not None and name in before):
            other = (
                f"items[{list(before).index(name)}]"
                if before and name in before
                else _place_of(parts, name, path)
            )
            raise Refusal(
                f"{place}.id", value_text(name), "an id used once over items and pipes", f"{other} has it too"
            )
        parts[name] = part
    return parts


def _place_of(parts: Mapping[str, Any], name: str, path: str) -> str:
    return f"{path}[{list(parts).index(name)}]"


def _item(raw: Any, path: str) -> Item:
    given = read_object(raw, path, _ITEM, ("id", "kind", "at"))
    props = given.get("props", {})
    if not isinstance(props, dict):
        raise Refusal(f"{path}.props", value_text(props), "an object of properties")
    kind = given["kind"]
    return Item(
        id=read_name(given["id"], f"{path}.id"),
        kind=kind,
        at=_point(given["at"], f"{path}.at"),
        turn=given.get("turn", 0),
        flip=given.get("flip", False),
        label=given.get("label", ""),
        note=given.get("note", ""),
        stage=given.get("stage", "drawn"),
        props=_props(kind, props, f"{path}.props"),
    )


def _props(kind: Any, props: Mapping[str, Any], path: str) -> Mapping[str, Any]:
    """Properties with their guesses told apart, where the property is one that can be guessed."""
    known = KINDS[kind].properties if isinstance(kind, str) and kind in KINDS else {}
    return {
        name: read_guesses(raw, under(path, name)) if name in known and known[name].type in GUESSABLE else raw
        for name, raw in props.items()
    }


def _point(raw: Any, path: str) -> tuple[float, float]:
    if not isinstance(raw, (list, tuple)) or len(raw) != 2:
        raise Refusal(path, value_text(raw), "a place [x, y]")
    for number, one in enumerate(raw):
        read_number(one, f"{path}[{number}]", -FARTHEST, FARTHEST)
    return (raw[0], raw[1])


def _port(raw: Any, path: str) -> PortRef:
    if not isinstance(raw, (list, tuple)) or len(raw) != 2:
        raise Refusal(path, value_text(raw), '[item, port] such as ["P-1", "out"]')
    for number, one in enumerate(raw):
        if not is_name(one):
            read_name(one, f"{path}[{number}]")
    return PortRef(*raw)


def _pipe(raw: Any, path: str) -> Pipe:
    given = read_object(raw, path, _PIPE, ("id", "from", "to", "system"))
    _refuse_null(given, path)
    if given.get("joined") == "":
        raise Refusal(f"{path}.joined", '""', '"flanged", or no such key')
    guessable = {key: given[key] for key in PIPE_GUESSES if key in given}
    given = {**given, **{key: read_guesses(raw, f"{path}.{key}") for key, raw in guessable.items()}}
    via = read_list(given.get("via", []), f"{path}.via", 0, MOST_BENDS, "bends [x, y]")
    return Pipe(
        id=read_name(given["id"], f"{path}.id"),
        start=_port(given["from"], f"{path}.from"),
        end=_port(given["to"], f"{path}.to"),
        system=read_name(given["system"], f"{path}.system"),
        tube=given.get("tube"),
        length=given.get("length"),
        fittings=given.get("fittings", {}),
        k=given.get("k", 0.0),
        joined=given.get("joined", ""),
        straight=given.get("straight"),
        insulation=given.get("insulation"),
        around=given.get("around"),
        via=tuple(_point(one, f"{path}.via[{number}]") for number, one in enumerate(via)),
        label=given.get("label", ""),
        note=given.get("note", ""),
        stage=given.get("stage", "drawn"),
    )


def _systems(raw: Any) -> dict[str, System]:
    if not isinstance(raw, dict):
        raise Refusal("systems", value_text(raw), "an object of systems by name")
    if len(raw) > MOST_SYSTEMS:
        raise Refusal("systems", f"{len(raw)} systems", f"at most {MOST_SYSTEMS}")
    systems = {}
    for name, one in raw.items():
        path = under("systems", name)
        given = read_object(one, path, ("use", "fluid", "fill_pressure", "still_ok_days"))
        _refuse_null(given, path)
        systems[name] = System(
            name=read_name(name, path),
            use=given.get("use", "closed"),
            fluid=given.get("fluid", {"kind": "water"}),
            fill_pressure=given.get("fill_pressure"),
            still_ok_days=given.get("still_ok_days"),
        )
    return systems


def _cases(raw: Any, items: Mapping[str, Item]) -> tuple[Case, ...]:
    entries = read_list(raw, "cases", 0, MOST_CASES, "cases")
    return tuple(_case(one, f"cases[{number}]", items) for number, one in enumerate(entries))


def _case_set(raw: Any, path: str, items: Mapping[str, Item]) -> Any:
    """What a case sets, with its guesses told apart; what is no object is left to be refused."""
    if not isinstance(raw, Mapping):
        return raw

    def told(name: str, values: Any) -> Any:
        place = under(path, name)
        if not isinstance(values, Mapping):
            return values
        if name in items:
            return _props(items[name].kind, values, place)
        return {k: read_guesses(v, under(place, k)) if k in PIPE_GUESSES else v for k, v in values.items()}

    return {name: told(name, values) for name, values in raw.items()}


def _case(raw: Any, path: str, items: Mapping[str, Item]) -> Case:
    given = read_object(raw, path, _CASE, ("name",))
    _refuse_null(given, path)
    return Case(
        name=given["name"],
        outdoor=given.get("outdoor"),
        signals=given.get("signals", {}),
        draws=given.get("draws", {}),
        tanks=given.get("tanks", {}),
        season=given.get("season", ""),
        hours_per_year=given.get("hours_per_year"),
        note=given.get("note", ""),
        set=_case_set(given.get("set", {}), f"{path}.set", items),
        lasts=given.get("lasts"),
        start=given.get("start", {}),
    )


def _refuse_null(given: Mapping[str, Any], path: str) -> None:
    """JSON's null would count as absent; a file should not say so by accident."""
    for key, value in given.items():
        if value is None:
            raise Refusal(f"{path}.{key}", "null", f"a value for {key}, or no such key")


def _records(given: Mapping[str, Any], key: str) -> tuple[Mapping[str, Any], ...]:
    entries = read_list(given.get(key, []), key, 0, MOST_RECORDS, "records")
    for number, one in enumerate(entries):
        if not isinstance(one, dict):
            raise Refusal(f"{key}[{number}]", value_text(one), "an object {…}")
    return tuple(entries)
