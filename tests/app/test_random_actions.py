"""A hand that does anything at random: after each action the plant is valid and the board shows it.

Some 200 actions in the ordinary run; WETSIDE_RANDOM_STEPS=20000 in the long one. The seed is fixed.
"""

from __future__ import annotations

import os
import random
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.assemblies import WORD
from app.board.pointer import Place
from app.document import empty_plant
from core.diagram.symbols import port_place
from core.files.read import load
from core.files.write import dumps
from core.plant.model import Plant, PortRef
from core.plant.validity import check
from core.vocabulary import KINDS
from core.vocabulary.document import STAGES
from tests.app.pencil import CTRL, NONE, SHIFT, Pencil

STEPS = int(os.environ.get("WETSIDE_RANDOM_STEPS", "200"))
SEED = 20260411
MOST_ITEMS = 12
KEYS = tuple(KINDS)
ARROWS = (Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down)


class Monkey:
    """One seeded hand on one window."""

    def __init__(self, pencil: Pencil, folder: Path, seed: int) -> None:
        self.pencil, self.window = pencil, pencil.window
        self.document = pencil.window.document
        self.chance = random.Random(seed)
        self.folder = folder
        self.start = self.document.plant
        self.done: list[str] = []

    # ---- what it can do -------------------------------------------------------------

    def insert(self) -> None:
        self.pencil.take(self.chance.choice(KEYS))
        if self.chance.random() < 0.5:
            self.pencil.key(self.chance.choice(("r", "m")))
        self.pencil.click(self.place())
        self.pencil.key(Qt.Key.Key_Escape)

    def connect(self) -> None:
        free = self.free_ports()
        if not free:
            return
        end = self.chance.choice([self.chance.choice(free), self.on_something(), self.place()])
        self.pencil.drag(self.chance.choice(free), end, self.chance.choice((NONE, NONE, CTRL)))
        self.pencil.key(Qt.Key.Key_Escape)

    def move(self) -> None:
        self.pencil.drag(self.on_something(), self.place())
        self.pencil.key(Qt.Key.Key_Escape)

    def nudge(self) -> None:
        self.choose()
        self.pencil.key(*self.chance.choices(ARROWS, k=3), held=self.chance.choice((NONE, SHIFT)))

    def change(self) -> None:
        """Turn, mirror, align, stage: what a selection can have done to it."""
        self.choose()
        names = (
            "turn", "mirror", "turn_round", "unpin", "align_left", "align_middle", "spread_across",
            f"stage_{self.chance.choice(STAGES)}", "select_connected", "select_system", "select_kind",
        )  # fmt: skip
        self.window.actions_[self.chance.choice(names)].trigger()

    def delete(self) -> None:
        self.choose()
        self.pencil.key(Qt.Key.Key_Delete)

    def copy(self) -> None:
        self.choose()
        self.pencil.key(self.chance.choice(("c", "c", "x")), held=CTRL)

    def paste(self) -> None:
        self.pencil.key("v", held=CTRL)
        if self.window.hand.gesture is None:
            return
        self.pencil.click(self.place())
        self.pencil.key(Qt.Key.Key_Escape)

    def duplicate(self) -> None:
        self.choose()
        self.pencil.key("d", held=CTRL)
        self.pencil.key(self.chance.choice(("r", "m")), Qt.Key.Key_Return, Qt.Key.Key_Escape)

    def assembly(self) -> None:
        key = self.chance.choice(("zone", "fill_set", "pump_pair", "expansion_set"))
        self.window.commands.lay_assembly(f"{WORD}{key}")
        self.pencil.click(self.chance.choice((self.place(), self.on_something())))
        self.pencil.key(Qt.Key.Key_Escape)

    def write(self) -> None:
        self.pencil.key("t")
        self.pencil.drag(self.on_something(), self.place())
        asking = self.pencil.board.asking
        if asking.isVisible():
            QTest.keyClicks(asking.field, f"text {len(self.done)}")
            QTest.keyClick(asking.field, Qt.Key.Key_Return)
        self.pencil.key(Qt.Key.Key_Escape)

    def undo(self) -> None:
        for _ in range(self.chance.randint(1, 5)):
            self.window.actions_["undo"].trigger()

    def redo(self) -> None:
        for _ in range(self.chance.randint(1, 5)):
            self.window.actions_["redo"].trigger()

    def save(self) -> None:
        assert self.window.files.save_to(self.folder / "any.plant.json")
        assert load(self.folder / "any.plant.json") == self.document.plant

    def load(self) -> None:
        """What was saved is opened again; its history begins anew."""
        file = self.folder / "any.plant.json"
        if file.is_file():
            self.document.replace(load(file), file)
            self.start = self.document.plant

    def all_the_way(self) -> None:
        """Undo to the start gives what it began with, redo gives the end."""
        plant, steps = self.document.plant, self.document.stack.index()
        while self.document.stack.canUndo():
            self.document.stack.undo()
        assert dumps(self.document.plant) == dumps(self.start)
        self.assert_shown()
        while self.document.stack.index() < steps:
            self.document.stack.redo()
        assert self.document.plant == plant

    # ---- where ----------------------------------------------------------------------

    def place(self) -> Place:
        return 10.0 * self.chance.randint(22, 98), 10.0 * self.chance.randint(14, 66)

    def free_ports(self) -> list[Place]:
        plant = self.document.plant
        return [
            port_place(item, port)
            for item in plant.items.values()
            for port in item.ports
            if not plant.pipes_at.get(PortRef(item.id, port)) and self.in_sight(port_place(item, port))
        ]

    def in_sight(self, place: Place) -> bool:
        return 200 < place[0] < 1000 and 120 < place[1] < 680

    def on_something(self) -> Place:
        places = [item.at for item in self.document.plant.items.values()]
        places += [
            ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
            for line in self.pencil.board.scene.lines.values()
            for a, b in pairwise(line)
        ]
        places = [place for place in places if self.in_sight(place)]
        return self.chance.choice(places) if places else self.place()

    def choose(self) -> None:
        plant = self.document.plant
        names = [*plant.items, *plant.pipes, *(f"text {number}" for number in range(len(plant.texts)))]
        self.document.select(self.chance.sample(names, min(len(names), self.chance.randint(1, 6))))

    # ---- and after each of it -------------------------------------------------------

    def step(self) -> None:
        actions: list[tuple[int, Callable[[], None]]] = [
            (6, self.insert), (8, self.connect), (5, self.move), (4, self.nudge), (4, self.change),
            (2, self.delete), (2, self.copy), (2, self.paste), (1, self.duplicate), (1, self.assembly),
            (1, self.write), (3, self.undo), (2, self.redo), (1, self.save),
        ]  # fmt: skip
        if len(self.document.plant.items) > MOST_ITEMS:
            actions += [(12, self.delete)]
        weights, choices = [w for w, _ in actions], [act for _, act in actions]
        act = self.chance.choices(choices, weights)[0]
        if self.chance.random() < 0.01:
            act = self.load
        self.done.append(act.__name__)
        act()
        assert self.window.hand.gesture is None, self.tail()
        faults = [str(fault) for fault in check(self.document.plant)]
        assert not faults, f"{self.tail()}: {faults[0]}"
        self.assert_shown()

    def tail(self) -> str:
        return f"after {len(self.done)} actions, the last {self.done[-6:]}"

    def assert_shown(self) -> None:
        """The board holds the document, no more and no less."""
        plant, scene = self.document.plant, self.pencil.board.scene
        assert scene.plant is plant, self.tail()
        assert {name: graphic.item for name, graphic in scene.symbols.items()} == dict(plant.items), (
            self.tail()
        )
        assert scene.pipes.keys() == plant.pipes.keys(), self.tail()
        assert len(scene.texts) == len(plant.texts), self.tail()
        for name, pipe in plant.pipes.items():
            picture = scene.pipes[name].picture
            assert picture is not None
            ends = [port_place(plant.items[end.item], end.port) for end in (pipe.start, pipe.end)]
            assert [picture.line[0], picture.line[-1]] == ends, f"{self.tail()}: {name}"
        assert self.document.selection <= {
            *plant.items, *plant.pipes, *(f"text {number}" for number in range(len(plant.texts)))
        }, self.tail()  # fmt: skip


def test_anything_at_random_keeps_every_law(pencil: Pencil, tmp_path: Path) -> None:
    pencil.window.assemblies.read()
    pencil.window.show_panel("particulars", False)  # its forms are tested elsewhere, and cost half the time
    monkey = Monkey(pencil, tmp_path, SEED)
    assert monkey.start == empty_plant()
    for number in range(STEPS):
        monkey.step()
        if number % 200 == 199:
            monkey.all_the_way()
            QApplication.processEvents()
    monkey.all_the_way()
    used = set(monkey.done)
    assert {"insert", "connect", "move", "delete", "paste", "undo", "redo", "save"} <= used
    assert isinstance(monkey.document.plant, Plant)
