"""The recipe "Add a kind" of DEVELOPERS.md carried out: a new emitter, in the places it names alone."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtWidgets import QApplication

import icons
from app.paper import command as paper
from core.commands import call_sheet, check_file, kinds, second_pump, size, solve
from core.errors import Refusal
from core.vocabulary import KINDS, Kind, Schedule, Trait
from core.vocabulary.entry import INLINE, USING, kind_of
from core.vocabulary.heat_roles import Gives, HeatEmitter
from core.vocabulary.properties import ROOM_TEMPERATURE, SERVES, WATER_CONTENT, drops, quantity
from core.vocabulary.traits import Report
from core.vocabulary.waterways import Straight
from tests.support.kinds import also

ROOT = Path(__file__).parents[2]
SAMPLE = ROOT / "sample_plants" / "orchard_packhouse.plant.json"
NEW, LIKE = "wall_panel", "fan_coil"
DRAWN = f"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="-32 -22 64 44" data-kind="{NEW}" data-grid="10"
 data-ports="in:-30,0;out:30,0"><title>wall panel</title><g>
<polyline data-port="in" points="-20,0 -30,0"/><polyline data-port="out" points="20,0 30,0"/>
<rect class="body" x="-20" y="-15" width="40" height="30"/></g></svg>
"""


def wall_panel() -> Kind:
    """Step 1 of the recipe."""
    return kind_of(
        NEW,
        "wall panel",
        USING,
        INLINE,
        "Gives heat to a room from its wall.",
        (
            quantity("ua", "heat_per_kelvin", "Heat to the room per degree.", typical="60 Btu/h/degF"),
            quantity("load", "power", "Heat wanted of it.", typical="9 kBtu/h"),
            SERVES,
            ROOM_TEMPERATURE,
            drops(),
            WATER_CONTENT,
        ),
        prefix="WP",
        traits=(Trait.GIVES_HEAT, Trait.HEATS_ROOM, Trait.CLOSED_CIRCUIT),
        waterway=Straight(),
        heat=HeatEmitter(Gives.AS_WANTED),
        report=Report.EMITTER,
        content="water_content",
        schedule=Schedule.CIRCUITS,
    )


@pytest.fixture
def added(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """The new kind in the table and its drawing in icons/: steps 1 and 2. A folder to write to."""
    drawings = tmp_path / "icons"
    shutil.copytree(Path(icons.__file__).parent, drawings)
    (drawings / f"{NEW}.svg").write_text(DRAWN, encoding="utf-8")
    monkeypatch.setattr(icons, "__file__", str(drawings / "__init__.py"))
    with also([wall_panel()]):
        yield tmp_path


def sample(folder: Path, kind: str) -> Path:
    """The packhouse with all its fan coils of some kind."""
    data: dict[str, Any] = json.loads(SAMPLE.read_text(encoding="utf-8"))
    items = [{**item, "kind": kind} if item["kind"] == LIKE else item for item in data["items"]]
    path = folder / SAMPLE.name
    path.write_text(json.dumps({**data, "items": items}), encoding="utf-8")
    return path


def test_the_recipe_names_places_that_are_there() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    recipe = text.partition("## Add a kind\n")[2].partition("\n## ")[0]
    places = re.findall(r"`([\w/]+(?:\.py|/))`", recipe)
    assert {"core/vocabulary/", "icons/", "tests/core/vocabulary/test_table.py"} <= set(places)
    assert [place for place in places if not (ROOT / place).exists()] == []


def test_every_command_takes_a_new_emitter_for_an_emitter(
    added: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """All fan coils of a sample are wall panels: the same flows, heats, sizes and calls."""
    for command, more in (
        (solve, ["--all-cases", "--json"]),
        (size, ["--json"]),
        (call_sheet, ["--json"]),
        (second_pump, ["--json"]),
    ):
        said = []
        for kind in (LIKE, NEW):
            path = sample(added, kind)
            command.run([str(path), *more])
            said.append(json.loads(capsys.readouterr().out.replace(NEW, LIKE)))
        assert said[0] == said[1], command.__name__


def test_the_table_of_kinds_tells_of_it(added: Path, capsys: pytest.CaptureFixture[str]) -> None:
    kinds.run(["--json"])
    told = json.loads(capsys.readouterr().out)["kinds"][NEW]
    assert told["title"] == "wall panel"
    assert Trait.GIVES_HEAT.value in told["traits"]
    assert "delivered_w" in told["figures"]
    kinds.run([])
    assert "wall_panel (wall panel); ports: in, out" in capsys.readouterr().out


def test_its_file_is_checked_like_any_other(added: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert check_file.run([str(sample(added, NEW))]) == 0
    path = sample(added, NEW)
    path.write_text(path.read_text(encoding="utf-8").replace('"ua"', '"area"'), encoding="utf-8")
    with pytest.raises(Refusal, match="wall_panel"):
        check_file.run([str(path)])


def test_the_sheet_draws_and_lists_it(
    added: Path, capsys: pytest.CaptureFixture[str], qapp: QApplication
) -> None:
    sheet = added / "sheet.svg"
    paper.run([str(sample(added, NEW)), "-o", str(sheet)])
    drawn = "".join(one.read_text(encoding="utf-8") for one in added.glob("*.svg"))
    assert "wall panel" in drawn
    assert "fan coil" not in drawn
    assert KINDS[NEW].title in drawn
