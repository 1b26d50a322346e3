"""The particulars of the sheet itself, shown when nothing is selected: title, site, the case, the systems.

No widgets; see `rows` for what a row is.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from core.errors import Refusal
from core.forms import typed
from core.forms.case_set_rows import (
    out_table,
    out_text,
    read_out,
    read_set,
    read_start,
    set_table,
    set_text,
    start_text,
)
from core.forms.in_units import in_system, other_units
from core.forms.rows import Row, Section, Shape
from core.forms.tables import Column, Table, pairs_table
from core.plant import systems
from core.plant.changes import Change, SetPlant
from core.plant.model import Case, Plant, System
from core.units import parse_number
from core.vocabulary import CaseSets, Trait, spellings
from core.vocabulary.document import FLUIDS, SITE, SNOW
from core.vocabulary.examples import example

_CUSTOM = {name: name for name in ("density", "viscosity", "heat_capacity", "conductivity")}
"""What a custom fluid is asked, and the dimension of each."""
USES = (("Closed", "closed"), ("Potable", "potable"))
_SITE_WORDS = {
    "outdoor_design": "Outdoors",
    "cold_water": "Cold water",
    "indoor": "Indoors",
    "altitude": "Altitude",
    "snowfall": "Snowfall",
    "snow_temperature": "Air in snowfall",
    "snow_dew_point": "Dew point in snowfall",
    "snow_wind": "Wind in snowfall",
}
# Defaults of the site in US and SI; written out, since the window shows before a unit can be converted.
_SITE_EMPTY = {
    "outdoor_design": ("14 °F", "-10 °C"),
    "cold_water": ("50 °F", "10 °C"),
    "indoor": ("68 °F", "20 °C"),
    "altitude": ("0 ft", "0 m"),
    **dict.fromkeys(SNOW, ("", "")),
}


def sheet_sections(plant: Plant, case: str) -> list[Section]:
    """Everything that is said of the plant as a whole."""
    head = (
        Row("title", "Title", lambda p: p.title, lambda p, t: [SetPlant({"title": t.strip()})],
            hint="Name of the plant."),
        Row("revision", "Revision", lambda p: p.revision, lambda p, t: [SetPlant({"revision": t.strip()})],
            hint="Letter or number of the drawing, for the title block."),
        *(_site_row(key, plant.units) for key in _SITE_WORDS if key not in SNOW or _melts(plant)),
    )  # fmt: skip
    sections = [Section("", head)]
    shown = next((each for each in plant.solve_cases if each.name == case), None)
    if shown is not None and plant.cases:
        sections.append(Section(f"Case {case}", case_rows(plant, case)))
    sections += [Section(f"System {name}", system_rows(name)) for name in plant.systems]
    return sections


def _melts(plant: Plant) -> bool:
    """Whether the snow of the site matters: a melt circuit is drawn, or something is said of the snow."""
    drawn = any(item.has(Trait.MELTS_SNOW) for item in plant.items.values())
    return drawn or any(key in plant.site for key in SNOW)


def _site_row(key: str, system: str) -> Row:
    dimension = SITE[key].dimension or ""

    def write(plant: Plant, text: str) -> list[Change]:
        site = {other: value for other, value in plant.site.items() if other != key}
        if text.strip():
            site[key] = spellings.quantity(text.strip(), dimension)
        return [SetPlant({"site": site})]

    return Row(
        key,
        _SITE_WORDS[key],
        lambda plant: spellings.readable(str(plant.site.get(key, ""))),
        write,
        beside=lambda text: other_units(text, dimension),
        hint=SITE[key].help,
        dimensions=(dimension,) if dimension else (),
        empty=_SITE_EMPTY[key][system == "si"],
    )


# ---- cases -------------------------------------------------------------------------


def _case_of(plant: Plant, name: str) -> Case:
    found = next((case for case in plant.cases if case.name == name), None)
    if found is None:  # renamed while a field waited with an error
        raise Refusal("", f'"{name}"', "the name of a case")
    return found


def _case_row(
    case: str,
    key: str,
    words: str,
    read: Callable[[Plant, Case], str],
    write: Callable[[Plant, Case, str], Case],
    hint: str,
    table: Table | None = None,
) -> Row:
    return Row(
        f"case.{key}",
        words,
        lambda plant: read(plant, _case_of(plant, case)) if any(c.name == case for c in plant.cases) else "",
        lambda plant, text: replace_case(plant, case, write(plant, _case_of(plant, case), text)),
        hint=hint,
        table=table,
    )


def case_rows(plant: Plant, name: str) -> tuple[Row, ...]:
    """What one case fixes: weather, signals, draws, tanks, what is otherwise in it, how long it lasts."""

    def row(
        key: str, words: str, read: Callable[[Case], str], write: Callable[[Case, str], Case], hint: str,
        table: Table | None = None,
    ) -> Row:  # fmt: skip
        return _case_row(name, key, words, lambda _p, c: read(c), lambda _p, c, t: write(c, t), hint, table)

    def shown(text: str, dimension: str) -> str:
        return in_system(example(text, plant.units), dimension, plant.units)

    signals = [item.id for item in plant.items.values() if item.has(Trait.SIGNALS)]
    fixtures = [item.id for item in plant.items.values() if item.has(Trait.DRAWS_WATER)]
    tanks = [i.id for i in plant.items.values() if i.kind_info.cases_set is CaseSets.TEMPERATURE]
    taps = {tank: [f"{tank} {tap}" for tap in plant.items[tank].ports] for tank in tanks}
    tapped = [place for tank in tanks for place in (tank, *taps[tank])]
    state = Column("State", choices=("on", "off"), closed=True)
    flow = Column("Flow", ("flow",), shown("2 gpm", "flow"))
    warm = Column("Temperature", ("temperature",), shown("118 degF", "temperature"))
    starting = [*(item.id for item in plant.items.values() if item.has(Trait.ROOM)), *tanks]
    return (
        row("name", "Name", lambda c: c.name, lambda c, t: replace(c, name=t.strip()),
            "Name of the case."),
        replace(
            row("outdoor", "Outdoors", lambda c: spellings.readable(c.outdoor or ""),
                lambda c, t: replace(c, outdoor=spellings.quantity(t.strip(), "temperature") or None),
                "Outdoor temperature."),
            beside=lambda text: other_units(text, "temperature"), dimensions=("temperature",),
        ),
        row("signals", "Signals", lambda c: _flags(c.signals),
            lambda c, t: replace(c, signals=_read_flags(t)),
            "What calls and what does not; what is left out follows what it senses.",
            table=pairs_table("Signal", state, signals, "signal")),
        row("draws", "Draws", lambda c: typed.pairs_text(c.draws),
            lambda c, t: replace(c, draws=_read_draws(t)),
            "Which fixtures draw, and how much.",
            table=pairs_table("Fixture", flow, fixtures, "draw")),
        row("tanks", "Tanks", lambda c: _tanks(c.tanks), lambda c, t: replace(c, tanks=_read_tanks(t)),
            "Temperature of a tank's water, or at its taps, where the case begins.",
            table=pairs_table("Tank, or its tap", warm, tapped, "tank")),
        _case_row(name, "set", "Only in this case", set_text, read_set,
            "What is otherwise here.",
            set_table(plant)),
        _case_row(name, "out", "Out of service", lambda _plant, c: out_text(c), read_out,
            "What no water passes in this case.", out_table(plant)),
        replace(
            row("lasts", "Lasts", lambda c: spellings.readable(c.lasts or ""),
                lambda c, t: replace(c, lasts=spellings.quantity(t.strip(), "time") or None),
                "Such as 90 min: rooms and tanks are shown as they are by then. Empty: as they end up."),
            dimensions=("time",),
        ),
        row("start", "Starts at", start_text, read_start,
            "Beside Lasts: rooms and tanks as they are at first.",
            table=pairs_table("Room or tank", warm, starting, "start")),
        row("season", "Season", lambda c: c.season, lambda c, t: replace(c, season=t.strip()),
            "Such as winter."),
        row("hours", "Hours a year", lambda c: "" if c.hours_per_year is None else f"{c.hours_per_year:g}",
            lambda c, t: replace(c, hours_per_year=_hours(t)), "How long the case lasts in a year."),
    )  # fmt: skip


def replace_case(plant: Plant, name: str, case: Case) -> list[Change]:
    """The change that puts a case in the place of the one of a name."""
    runs = tuple({**run, "case": case.name} if run.get("case") == name else run for run in plant.runs)
    cases = tuple(case if each.name == name else each for each in plant.cases)
    return [SetPlant({"cases": cases} if runs == plant.runs else {"cases": cases, "runs": runs})]


def add_case(plant: Plant, like: str) -> tuple[list[Change], str]:
    """A copy of a case under a fresh name; the first case written down starts from the implied one."""
    model = next((case for case in plant.solve_cases if case.name == like), plant.solve_cases[0])
    taken = {case.name for case in plant.cases}
    stem = "Case" if not plant.cases else f"{model.name} copy"
    name = next(n for n in (stem, *(f"{stem} {i}" for i in range(2, 1000))) if n not in taken)
    return [SetPlant({"cases": (*plant.cases, replace(model, name=name))})], name


def delete_case(plant: Plant, name: str) -> list[Change]:
    """Without a case; its runs then go by the first one."""
    runs = tuple({k: v for k, v in run.items() if (k, v) != ("case", name)} for run in plant.runs)
    cases = tuple(case for case in plant.cases if case.name != name)
    return [SetPlant({"cases": cases} if runs == plant.runs else {"cases": cases, "runs": runs})]


def _flags(signals: Mapping[str, bool]) -> str:
    return "\n".join(f"{name}: {'on' if on else 'off'}" for name, on in signals.items())


def _read_flags(text: str) -> dict[str, bool]:
    words = {"on": True, "off": False, "true": True, "false": False, "yes": True, "no": False}
    out: dict[str, bool] = {}
    for name, word in typed.pairs_from_text(text).items():
        if word.lower() not in words:
            raise Refusal("", f'"{word}"', "on or off", f"Such as {name}: on.")
        out[name] = words[word.lower()]
    return out


def _read_draws(text: str) -> dict[str, str]:
    return {name: spellings.quantity(flow, "flow") for name, flow in typed.pairs_from_text(text).items()}


def _tanks(tanks: Mapping[str, Any]) -> str:
    lines: list[str] = []
    for name, state in tanks.items():
        if isinstance(state, Mapping):
            lines += [f"{name} {tap}: {spellings.readable(str(value))}" for tap, value in state.items()]
        else:
            lines.append(f"{name}: {spellings.readable(str(state))}")
    return "\n".join(lines)


def _read_tanks(text: str) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, said in typed.pairs_from_text(text).items():
        value = spellings.quantity(said, "temperature")
        name, _, tap = key.partition(" ")
        if not tap:
            out[name] = value
        elif isinstance(out.setdefault(name, {}), dict):
            out[name][tap.strip()] = value
        else:
            raise Refusal("", f'"{key}"', "one temperature for the tank, or one for each tap")
    return out


def _hours(text: str) -> float | None:
    return parse_number(text) if text.strip() else None


# ---- systems -----------------------------------------------------------------------


def system_rows(name: str) -> tuple[Row, ...]:
    """Use, fluid and fill pressure of one body of water."""

    def row(
        key: str, words: str, read: Callable[[System], str],
        write: Callable[[System, str], System], hint: str, shape: Shape = "line",
        choices: tuple[tuple[str, str], ...] = (),
    ) -> Row:  # fmt: skip
        return Row(
            f"system.{name}.{key}",
            words,
            lambda plant: read(plant.systems[name]) if name in plant.systems else "",
            lambda plant, text: systems.put(plant, write(plant.systems[name], text)),
            shape,
            choices,
            hint=hint,
        )

    def fluid(key: str) -> Callable[[System], str]:
        return lambda system: spellings.readable(_plain(system.fluid.get(key, "")))

    def set_fluid(key: str) -> Callable[[System, str], System]:
        def write(system: System, text: str) -> System:
            fresh = {other: value for other, value in system.fluid.items() if other != key}
            if text.strip():
                said = spellings.quantity(text.strip(), _CUSTOM.get(key))
                fresh[key] = _fraction(text) if key == "fraction" else said
            return replace(system, fluid=fresh)

        return write

    kinds = tuple((kind.replace("_", " "), kind) for kind in FLUIDS)
    rows = [
        _named(name),
        row("use", "Use", lambda s: s.use, lambda s, t: replace(s, use=t), "Closed, or water to drink.",
            "choice", USES),
        row("fluid", "Fluid", fluid("kind"), _set_kind, "Ethylene glycol is toxic.", "choice", kinds),
        row("fraction", "Share", fluid("fraction"), set_fluid("fraction"), "Glycol by volume, such as 35 %."),
        replace(
            row("fill", "Fill pressure", lambda s: s.fill_pressure or "",
                lambda s, t: replace(s, fill_pressure=spellings.quantity(t.strip(), "pressure") or None),
                "Standing pressure at the expansion tank."),
            beside=lambda text: other_units(text, "pressure"), dimensions=("pressure",),
        ),
        row("no_flow", "Days without flow",
            lambda s: "" if s.still_ok_days is None else f"{s.still_ok_days:g}",
            lambda s, t: replace(s, still_ok_days=_days(t)), "How long its water may stand; 7 to drink."),
    ]  # fmt: skip
    rows += [
        replace(
            row(
                f"fluid.{key}",
                key.replace("_", " ").capitalize(),
                fluid(key),
                set_fluid(key),
                "Of a custom fluid.",
            )
        )
        for key in _CUSTOM
    ]
    return tuple(rows)


def _days(text: str) -> Any:
    """Days as typed; what is no number is left for the plant to refuse at its place."""
    try:
        return float(text) if text.strip() else None
    except ValueError:
        return text


def _named(name: str) -> Row:
    return Row(
        f"system.{name}.name",
        "Name",
        lambda plant: name if name in plant.systems else "",
        lambda plant, text: systems.rename(plant, name, text.strip()),
        hint="Name of this body of water; its pipes follow.",
    )


def system_wants(row: Row, plant: Plant) -> bool:
    """Whether a system's row has a meaning for its fluid: no share for water, no density for glycol."""
    if not row.key.startswith("system."):
        return True
    _, rest = row.key.split(".", 1)
    name = next((known for known in plant.systems if rest.startswith(f"{known}.")), None)
    if name is None:
        return False
    key, kind = rest[len(name) + 1 :], plant.systems[name].fluid.get("kind", "water")
    if key == "fraction":
        return str(kind).endswith("glycol")
    return kind == "custom" if key.startswith("fluid.") else True


def _set_kind(system: System, kind: str) -> System:
    fresh: dict[str, Any] = {"kind": kind}
    if kind.endswith("glycol"):
        fresh["fraction"] = system.fluid.get("fraction", 0.3)
    elif kind == "custom":
        given = {"density": "998 kg/m3", "viscosity": "1.0 mPa*s", "heat_capacity": "4182 J/kg/K"}
        fresh |= {**given, "conductivity": "0.6 W/m/K"}
    return replace(system, fluid=fresh)


def _fraction(text: str) -> float:
    plain = spellings.quantity(text.strip(), "percent")
    if plain.endswith("percent"):
        return parse_number(plain.removesuffix("percent").strip()) / 100
    return parse_number(plain)


def _plain(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)
