"""The rows of a pipe in the particulars: its system, tube, length, and what is on it. No widgets."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from core import units
from core.errors import Refusal
from core.forms import typed
from core.forms.guess_text import guess_or, guess_shown
from core.forms.in_units import in_system, other_units
from core.forms.rows import MORE, Row, Section, Shape, stage_row, tubes
from core.forms.tables import Column, pairs_table
from core.media.tubes import spoken as spoken_tube
from core.plant import systems
from core.plant.changes import Change, ReplacePipe
from core.plant.model import Pipe, Plant
from core.vocabulary import spellings


def pipe_sections(plant: Plant, pipe: Pipe) -> list[Section]:
    """System, tube, length and what is on it."""
    name = pipe.id
    low, high, usual = (
        in_system(end, "temperature", plant.units) for end in ("-60 degC", "250 degC", "20 degC")
    )
    around = f"From {low} to {high}; by default the site's indoors. Typical: {usual}."
    rows = (
        _text_row(name, "label", "Label", "A name of your own."),
        _system_row(plant, name),
        replace(_pipe_row(name, "tube", "Tube", _tube_of, _set_tube, "pick", TUBE_HINT), choices=tubes()),
        _text_row(name, "length", "Length", LENGTH_HINT, "length"),
        _fittings_row(name),
    )
    more = (
        replace(_pipe_row(name, "k", "Extra loss K", _k_of, _set_k, hint=K_HINT), dimensions=("number",)),
        *_insulation_rows(name, plant.units == "si"),
        _text_row(name, "around", "Temperature around it", around, "temperature"),
        _text_row(
            name, "straight", "Straight run", "Straight length, for a second pump or a meter.", "length"
        ),
        _joined_row(name),
    )
    note = replace(_text_row(name, "note", "Note", "Anything worth keeping."), shape="lines")
    return [Section("", rows), Section(MORE, (*more, note, stage_row(name)), folded=True)]


NEW_SYSTEM = "+"


def _system_row(plant: Plant, name: str) -> Row:
    def write(plant: Plant, text: str) -> list[Change]:
        if text == NEW_SYSTEM:
            return systems.assign_fresh(plant, name)
        return systems.assign(plant, name, text)

    choices = (*((key, key) for key in plant.systems), ("A new system", NEW_SYSTEM))
    hint = "The body of water it belongs to. All pipes on the same water follow."
    return Row("system", "System", lambda p: p.pipes[name].system, write, "choice", choices, hint=hint)


def _pipe_row(
    name: str,
    key: str,
    words: str,
    read: Callable[[Pipe], str],
    write: Callable[[Pipe, str], Pipe],
    shape: Shape = "line",
    hint: str = "",
) -> Row:
    return Row(
        key,
        words,
        lambda plant: read(plant.pipes[name]),
        lambda plant, text: [ReplacePipe(write(plant.pipes[name], text))],
        shape,
        hint=hint,
    )


def _text_row(name: str, key: str, words: str, hint: str, dimension: str | None = None) -> Row:
    """A field whose absence is None (or the empty text of label and note)."""

    def write(pipe: Pipe, text: str) -> Pipe:
        said = guess_or(text.strip(), lambda plain: spellings.quantity(plain, dimension))
        fresh: dict[str, Any] = {key: said or ("" if key in ("label", "note") else None)}
        return replace(pipe, **fresh)

    row = _pipe_row(name, key, words, lambda pipe: _shown_text(getattr(pipe, key)), write, hint=hint)
    dimensions = (dimension,) if dimension else ()
    return replace(row, beside=lambda text: other_units(text, dimension), dimensions=dimensions)


def _shown_text(raw: str | None) -> str:
    return guess_shown(raw) or spellings.readable(raw or "")


def _tube_of(pipe: Pipe) -> str:
    return typed.tube_text(pipe.tube) if pipe.tube is not None else ""


def _set_tube(pipe: Pipe, text: str) -> Pipe:
    """A size alone is another size of the tube that is there."""
    text = text.strip()
    material = (pipe.tube or {}).get("material")
    if material and re.fullmatch(r"[\d./ ]+(in|mm|\")?", text):
        text = spoken_tube(str(material), text)
    return replace(pipe, tube=typed.tube_from_text(text) if text else None)


LENGTH_HINT = "Developed length, fittings not counted in; 0 or more. Typical: 6 ft."
K_HINT = "Besides the fittings, referred to its bore; 0 or more. Typical: 0."
TUBE_HINT = "Size and material, such as 3/4 in Type L copper or 1/2 in PEX; or bore 20 mm."


def _k_of(pipe: Pipe) -> str:
    return guess_shown(pipe.k) or f"{pipe.k:g}"


def _set_k(pipe: Pipe, text: str) -> Pipe:
    return replace(pipe, k=guess_or(text.strip(), units.parse_number) if text.strip() else 0.0)


def _fittings_row(name: str) -> Row:
    from core.media.fittings import FITTINGS

    known = {fitting.words.casefold(): key for key, fitting in FITTINGS.items()}
    known |= {key.replace("_", " "): key for key in FITTINGS}

    def write(pipe: Pipe, text: str) -> Pipe:
        counts: dict[str, int] = {}
        for place, (word, count) in enumerate(typed.pairs_from_text(text).items()):
            number = units.parse_number(count)
            if not float(number).is_integer():
                raise Refusal(f"[{place}][1]", f'"{count}"', "a whole number of fittings")
            folded = " ".join(word.replace("_", " ").split()).casefold()
            key = known.get(folded)
            if key is None:
                near = [each for each in known if folded and folded in each]
                hint = f"Such as {FITTINGS[known[near[0]]].words}" if near else "Pick one from the list"
                raise Refusal(f"[{place}][0]", f'"{word}"', "a fitting of the list", hint)
            counts[key] = counts.get(key, 0) + int(number)
        return replace(pipe, fittings=counts)

    def read(pipe: Pipe) -> str:
        said = {FITTINGS[key].words if key in FITTINGS else key: n for key, n in pipe.fittings.items()}
        return typed.pairs_text(said)

    row = _pipe_row(name, "fittings", "Fittings", read, write, hint="What the water turns and parts in.")
    count = Column("How many", ("integer",), "2")
    words = [fitting.words for fitting in FITTINGS.values()]
    return replace(row, table=pairs_table("Fitting", count, words, "fitting"))


def _insulation_rows(name: str, si: bool) -> tuple[Row, ...]:
    def part(pipe: Pipe, key: str) -> str:
        return spellings.readable(str((pipe.insulation or {}).get(key, "")))

    def put(pipe: Pipe, key: str, text: str) -> Pipe:
        kept: Mapping[str, Any] = pipe.insulation or {}
        fresh = {other: value for other, value in kept.items() if other != key}
        if text.strip():
            fresh[key] = spellings.quantity(text.strip(), "length" if key == "thickness" else "conductivity")
            if key == "loss":
                fresh = {"loss": fresh[key]}
            else:
                fresh.pop("loss", None)
        return replace(pipe, insulation=fresh or None)

    words = (
        ("thickness", "Insulation", "Thickness. Typical: 1/2 in. Empty: no heat loss is computed.", "length"),
        ("conductivity", "Insulation k-value", "Heat it conducts. Usually 0.040 W/m/K.", None),
        ("loss", "Heat loss", "Heat lost per length and degree, in place of thickness: 0.5 W/m/K.", None),
    )

    def row(key: str, title: str, hint: str, dimension: str | None) -> Row:
        made = _pipe_row(
            name,
            f"insulation.{key}",
            title,
            lambda pipe: part(pipe, key),
            lambda pipe, text: put(pipe, key, text),
            hint=hint,
        )
        usual = {"length": "mm" if si else "in"}.get(dimension or "", "W/m/K")
        dimensions = ("length" if dimension else "conductivity",)
        return replace(
            made, beside=lambda text: other_units(text, dimension), dimensions=dimensions, usual=f"1 {usual}"
        )

    return tuple(row(*each) for each in words)


def _joined_row(name: str) -> Row:
    def write(pipe: Pipe, text: str) -> Pipe:
        if text:
            return replace(pipe, joined=text, tube=None, length=None, fittings={}, k=0.0, insulation=None)
        return replace(pipe, joined="", tube={"material": "copper_l", "size": "3/4 in"}, length="1 ft")

    row = _pipe_row(name, "joined", "Joined", lambda pipe: pipe.joined, write)
    choices = (("By a pipe", ""), ("Flange to flange", "flanged"))
    return replace(row, shape="choice", choices=choices, hint="Flange to flange: no tube between, no loss.")
