"""A twin of every kind, declared in full under another name: all commands answer as for the original."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from itertools import zip_longest
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtWidgets import QApplication

from app.paper import command as paper
from core.commands import call_sheet, size, solve
from core.vocabulary import KINDS, Trait
from tests.plants.edits import file_of
from tests.support.kinds import END, also, declared_again

FOLDER = Path(__file__).parents[2] / "sample_plants"
FILES = {path.name: path for path in (*FOLDER.glob("*.plant.json"), file_of("two_heater_clinic"))}
SAMPLES = sorted(FILES)
# Emitters, sources, stores and valves: of each there is one in some sample.
ASKED_FOR = (
    *(Trait.GIVES_HEAT, Trait.MAKES_HEAT, Trait.STORES_HEAT, Trait.PARTS_FLOWS, Trait.EXCHANGES_HEAT),
    *(Trait.HAND_VALVE, Trait.BALANCES, Trait.OPENS_BY_SIGNAL, Trait.OPENS_BY_PRESSURE, Trait.MIXES),
    *(Trait.CHECKS, Trait.STOPS_BACKFLOW, Trait.FILLS, Trait.HOLDS_OUTLET_PRESSURE, Trait.RELIEVES),
)


def read(name: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads(FILES[name].read_text(encoding="utf-8"))
    return data


def answers(path: Path, capsys: pytest.CaptureFixture[str]) -> Iterator[tuple[str, str]]:
    """What each command says of a file, by its name; the sheet as drawn."""
    file = str(path)
    for name, run, argv in (
        ("solve", solve.run, [file, "--all-cases", "--json"]),
        ("size", size.run, [file, "--json"]),
        ("call-sheet", call_sheet.run, [file, "--json"]),
    ):
        run(argv)
        yield name, capsys.readouterr().out
    sheet = path.with_suffix(".svg")
    paper.run([file, "-o", str(sheet)])
    capsys.readouterr()
    yield "sheet", "".join(one.read_text(encoding="utf-8") for one in sorted(path.parent.glob("*.svg")))


def test_every_emitter_source_store_and_valve_is_in_some_sample() -> None:
    there = {item["kind"] for name in SAMPLES for item in read(name)["items"]}
    wanted = {kind.name for kind in KINDS.values() if kind.has(*ASKED_FOR)}
    assert wanted <= there


@pytest.mark.parametrize("name", SAMPLES)
def test_a_sample_of_twins_has_the_answers_of_the_sample(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], qapp: QApplication
) -> None:
    data = read(name)
    found: list[Mapping[str, str]] = []
    with also([declared_again(kind) for kind in KINDS.values()]):
        for end in ("", END):
            items = [{**item, "kind": item["kind"] + end} for item in data["items"]]
            path = tmp_path / name  # the same for both, as the sheet names its file
            path.write_text(json.dumps({**data, "items": items}), encoding="utf-8")
            found.append(dict(answers(path, capsys)))
    for asked, said in found[0].items():
        assert said, asked
        lines = found[1][asked].replace(END, "").splitlines()
        unlike = [pair for pair in zip_longest(said.splitlines(), lines) if pair[0] != pair[1]]
        assert unlike == [], asked
