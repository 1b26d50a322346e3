"""What is said of a run in time as rows to edit, and of its profiles; `rows` says what a row is. No widgets.

A change of what is run takes the kept answers of the run away: they are of other settings.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from core import units
from core.errors import Refusal
from core.forms.in_units import other_units
from core.forms.rows import Row, Section
from core.plant.changes import Change, SetPlant
from core.plant.model import Item, Plant
from core.plant.reference_rules import is_room, may_draw, may_start
from core.plant.run_rules import PRICED, read_profile
from core.vocabulary import spellings

LIMITS = {  # words, dimension ("" a plain number), hint
    "longest_call": ("Longest call", "time", "The longest that anything may call without a break: 8 h."),
    "starts_per_hour": ("Starts an hour", "", "The most that any heater or pump may start: 6."),
    "shortest_run": ("Shortest run", "time", "The least that any heater or pump shall run at a time: 5 min."),
    "room_short": ("Rooms short", "", "The most that a room may lack, in K·h."),
    "tap_short": ("Taps short", "", "The most that a tap may lack, in K·min."),
    "wait": ("Wait at taps", "time", "The longest that anybody shall wait: 60 s."),
}
AS_CASE = "as in the case"


def run_of(plant: Plant, name: str) -> Mapping[str, Any]:
    """A run as the file has it; of a name that only a case has, what a run of that case would be."""
    known = next((run for run in plant.runs if run["name"] == name), None)
    if known is not None:
        return known
    return {"name": name, **({"case": name} if any(case.name == name for case in plant.cases) else {})}


def with_run_as(plant: Plant, name: str, raw: Mapping[str, Any]) -> list[Change]:
    """Put a run in the place of that of a name, or behind all others."""
    runs = list(plant.runs)
    number = next((n for n, run in enumerate(runs) if run["name"] == name), len(runs))
    runs[number : number + 1] = [dict(raw)]
    return [SetPlant({"runs": tuple(runs)})]


def run_sections(plant: Plant, name: str) -> list[Section]:
    """Everything that a run says, then each profile."""
    flows, powers = (
        tuple((one, one) for one in plant.profiles if read_profile(plant.profiles[one]).dimension == sort)
        for sort in ("flow", "power")
    )
    items = [item for item in plant.items.values() if item.stays]
    draws = [_part(name, "draws", item, ((AS_CASE, ""), *flows), "flow") for item in items if may_draw(item)]
    gains = [
        _part(name, "gains", item, (("as drawn", ""), *powers), "heat") for item in items if is_room(item)
    ]
    sections = [
        Section("", _head(plant, name)),
        Section("What each tap draws", tuple(draws)),
        Section("Gains of rooms", tuple(gains)),
        Section(
            "Temperatures at the start", tuple(_start(name, i) for i in items if may_start(i)), folded=True
        ),
        Section("Prices", tuple(_number(name, "prices", k, k.title(), _PRICE) for k in PRICED), folded=True),
        Section("Limits a sweep judges by", tuple(_limit(name, key) for key in LIMITS), folded=True),
    ]
    sections += [Section(f"Profile {one}", profile_rows(one)) for one in plant.profiles]
    return [section for section in sections if section.rows]


_PRICE = "In your money for a kWh; empty: no cost is told."


def _row(
    name: str,
    key: str,
    words: str,
    read: Callable[[Mapping[str, Any]], str],
    write: Callable[[dict[str, Any], str], None],
    hint: str = "",
    **more: Any,
) -> Row:
    """A row that changes a run: `write` gets a copy of it and the typed text."""

    def changes(plant: Plant, text: str) -> list[Change]:
        fresh = dict(run_of(plant, name))
        write(fresh, text.strip())
        if fresh["name"] == name:
            fresh.pop("summary", None)
        return with_run_as(plant, name, fresh)

    return Row(key, words, lambda plant: read(run_of(plant, name)), changes, hint=hint, **more)


def _put(raw: dict[str, Any], key: str, value: Any) -> None:
    if value in ("", None, {}):
        raw.pop(key, None)
    else:
        raw[key] = value


def _head(plant: Plant, name: str) -> tuple[Row, ...]:
    cases = tuple((case.name, case.name) for case in plant.cases)
    first = plant.solve_cases[0].name

    def named(raw: dict[str, Any], text: str) -> None:
        if not text:
            raise Refusal("", "nothing", "a name")
        raw["name"] = text

    def lasting(raw: dict[str, Any], text: str) -> None:
        _put(raw, "hours", units.parse_number(text) if text else "")

    def cased(raw: dict[str, Any], text: str) -> None:
        _put(raw, "case", text)

    rows = [
        _row(name, "name", "Name", lambda raw: str(raw["name"]), named, "Name of the run."),
        _row(name, "hours", "Hours", lambda raw: f"{raw.get('hours', 24):g}", lasting,
             "How long it is; a week is 168.", dimensions=("number",), empty="24"),
        *(_weather(name, key) for key in ("low", "high", "file")),
    ]  # fmt: skip
    if cases:
        row = _row(name, "case", "Case", lambda raw: str(raw.get("case", first)), cased,
                   "Its signals, sets and season.", shape="choice", choices=cases)  # fmt: skip
        rows.insert(1, row)
    return tuple(rows)


def _weather(name: str, key: str) -> Row:
    def read(raw: Mapping[str, Any]) -> str:
        return spellings.readable(str((raw.get("weather") or {}).get(key, "")))

    def write(raw: dict[str, Any], text: str) -> None:
        before = raw.get("weather") or {}
        if key == "file":
            _put(raw, "weather", {"file": text} if text else {} if "file" in before else before)
        elif not text:
            _put(raw, "weather", before if "file" in before else {})
        else:
            t = spellings.quantity(text, "temperature")
            wave = {k: v for k, v in before.items() if k != "file"}
            _put(raw, "weather", {"low": t, "high": t, **wave, key: t})

    words, hint, empty = {
        "low": ("Weather, low", "Coldest of each day's wave. Empty: outdoors stays as in the case.", AS_CASE),
        "high": ("Weather, high", "Warmest of each day's wave, at 15:00.", AS_CASE),
        "file": (
            "Weather file",
            "A CSV with time and outdoor_c or outdoor_f, beside the plant's file.",
            "none",
        ),
    }[key]
    if key == "file":
        return _row(name, "weather.file", words, read, write, hint, empty=empty)
    more: dict[str, Any] = {"beside": lambda text: other_units(text, "temperature")}
    return _row(
        name, f"weather.{key}", words, read, write, hint, empty=empty, dimensions=("temperature",), **more
    )


def _part(name: str, key: str, item: Item, choices: tuple[tuple[str, str], ...], sort: str) -> Row:
    def read(raw: Mapping[str, Any]) -> str:
        return str(raw.get(key, {}).get(item.id, ""))

    def write(raw: dict[str, Any], text: str) -> None:
        kept = {k: v for k, v in raw.get(key, {}).items() if k != item.id}
        _put(raw, key, {**kept, **({item.id: text} if text else {})})

    hint = f"A profile of {sort}s; add one below."
    return _row(name, f"{key}.{item.id}", item.id, read, write, hint, shape="choice", choices=choices)


def _start(name: str, item: Item) -> Row:
    def read(raw: Mapping[str, Any]) -> str:
        return spellings.readable(str(raw.get("start", {}).get(item.id, "")))

    def write(raw: dict[str, Any], text: str) -> None:
        kept = {k: v for k, v in raw.get("start", {}).items() if k != item.id}
        value = {item.id: spellings.quantity(text, "temperature")} if text else {}
        _put(raw, "start", {**kept, **value})

    hint = "Else at its stat's set temperature, or as it is wanted, or as warm as indoors."
    return _row(name, f"start.{item.id}", item.id, read, write, hint, dimensions=("temperature",),
                beside=lambda text: other_units(text, "temperature"))  # fmt: skip


def _number(name: str, group: str, key: str, words: str, hint: str) -> Row:
    def read(raw: Mapping[str, Any]) -> str:
        value = raw.get(group, {}).get(key)
        return "" if value is None else f"{value:g}" if isinstance(value, float | int) else str(value)

    def write(raw: dict[str, Any], text: str) -> None:
        kept = {k: v for k, v in raw.get(group, {}).items() if k != key}
        _put(raw, group, {**kept, **({key: units.parse_number(text)} if text else {})})

    return _row(name, f"{group}.{key}", words, read, write, hint, dimensions=("number",))


def _limit(name: str, key: str) -> Row:
    words, dimension, hint = LIMITS[key]
    row = _number(name, "limits", key, words, hint)
    if not dimension:
        return row

    def read(raw: Mapping[str, Any]) -> str:
        return spellings.readable(str(raw.get("limits", {}).get(key, "")))

    def write(raw: dict[str, Any], text: str) -> None:
        kept = {k: v for k, v in raw.get("limits", {}).items() if k != key}
        _put(raw, "limits", {**kept, **({key: spellings.quantity(text, dimension)} if text else {})})

    return _row(name, f"limits.{key}", words, read, write, hint, dimensions=(dimension,), usual="1 min")


# ---- profiles ------------------------------------------------------------------------


def profile_rows(name: str) -> tuple[Row, ...]:
    """Name, repetition and points of a profile."""

    def of(plant: Plant) -> Mapping[str, Any]:
        found: Mapping[str, Any] = plant.profiles[name]
        return found

    def rename(plant: Plant, text: str) -> list[Change]:
        return renamed_profile(plant, name, text.strip())

    def repeat(plant: Plant, text: str) -> list[Change]:
        points = of(plant)["points"]
        if text == "day":
            points = [
                [str(at).split()[-1], value] for at, value in points if str(at).split()[0] in ("mon", at)
            ]
        else:
            points = [[f"mon {at}" if " " not in str(at) else at, value] for at, value in points]
        return with_profile(plant, name, {"points": points, "repeat": text})

    def write(plant: Plant, text: str) -> list[Change]:
        return with_profile(plant, name, {**of(plant), "points": read_points(text)})

    hint = "The first at 00:00. Each holds until the next. In a week with the day: mon 06:30."
    return (
        Row(f"profile.{name}.name", "Name", lambda _plant: name, rename, hint="Empty: the profile goes."),
        Row(f"profile.{name}.repeat", "Repeats", lambda plant: str(of(plant).get("repeat", "day")), repeat,
            "choice", (("every day", "day"), ("every week", "week"))),
        Row(f"profile.{name}.points", "Points", lambda plant: points_text(of(plant)), write, "lines",
            hint=hint),
    )  # fmt: skip


def points_text(raw: Mapping[str, Any]) -> str:
    """The points of a profile, one a line."""
    return "\n".join(f"{at} {spellings.readable(str(value))}" for at, value in raw["points"])


def read_points(text: str) -> list[list[str]]:
    """The points of a profile from lines.

    Raises
    ------
    Refusal
        A line without a time and a quantity
    """
    points = []
    for line in filter(None, map(str.strip, text.splitlines())):
        words = line.split()
        many = 1 if ":" in words[0] else 2
        if len(words) < many + 1:
            raise Refusal("", f'"{line}"', "a time and a flow or heat, such as 06:30 2 gpm")
        points.append(
            [" ".join(words[:many]).lower(), spellings.quantity(" ".join(words[many:]), "flow", "power")]
        )
    return points


def with_profile(plant: Plant, name: str, raw: Mapping[str, Any]) -> list[Change]:
    """Put a profile in the place of that of a name, or behind all others."""
    return [SetPlant({"profiles": {**plant.profiles, name: dict(raw)}})]


def new_profile(plant: Plant) -> list[Change]:
    """A profile of a flow that is to be changed: half an hour each morning."""
    number = next(n for n in range(1, 1000) if f"profile {n}" not in plant.profiles)
    none, some = ("0 L/min", "6 L/min") if plant.units == "si" else ("0 gpm", "1.5 gpm")
    points = [["00:00", none], ["06:30", some], ["07:00", none]]
    return with_profile(plant, f"profile {number}", {"points": points})


def renamed_profile(plant: Plant, name: str, fresh: str) -> list[Change]:
    """Give a profile another name, in all runs; without a name it goes.

    Raises
    ------
    Refusal
        A name that another profile has
    """
    if fresh != name and fresh in plant.profiles:
        raise Refusal("", f'"{fresh}"', "a name that no other profile has")
    profiles = {
        (fresh if key == name else key): raw for key, raw in plant.profiles.items() if fresh or key != name
    }
    runs = []
    for run in plant.runs:
        moved = dict(run)
        for key in ("draws", "gains"):
            if key in run:
                of = {at: fresh if one == name else one for at, one in run[key].items()}
                _put(moved, key, {at: one for at, one in of.items() if one})
        runs.append(moved)
    return [SetPlant({"runs": tuple(runs), "profiles": profiles})]


def copied_run(plant: Plant, name: str) -> tuple[str, list[Change]]:
    """A run like that of a name, behind all others; its name, and the change."""
    taken = {run["name"] for run in plant.runs} | {case.name for case in plant.cases}
    fresh = next(f"{name} {n}" for n in range(2, 1000) if f"{name} {n}" not in taken)
    raw = {key: value for key, value in run_of(plant, name).items() if key != "summary"}
    return fresh, [SetPlant({"runs": (*plant.runs, {**raw, "name": fresh})})]


def without_run(plant: Plant, name: str) -> list[Change]:
    """The plant without a run."""
    return [SetPlant({"runs": tuple(run for run in plant.runs if run["name"] != name)})]
