"""What is done at once to the selected things, without a gesture: turned, aligned, deleted, copied."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import Qt

from app.board.board_widget import BoardWidget
from app.gestures.base import ARROWS, FAR
from app.gestures.bend import bends_with
from app.gestures.insert import against, in_line
from app.gestures.select import loose, mirrored, named, pipe_beneath, turned
from app.gestures.touch import join_touching
from core.diagram import arrange, symbols
from core.diagram.geometry import length, level, segments
from core.diagram.symbols import port_place
from core.errors import Refusal
from core.files import clip
from core.plant import edits, gather, texts
from core.plant.changes import Change, ReplaceItem, ReplacePipe
from core.plant.excerpt import Excerpt, excerpt
from core.plant.model import Plant, PortRef


class Selected:
    """The selection of a board's document, and what can be done with it."""

    def __init__(self, board: BoardWidget) -> None:
        self.board = board
        self._nudges = 0

    @property
    def ids(self) -> frozenset[str]:
        return self.board.document.selection

    def items(self) -> frozenset[str]:
        return self.ids & self.board.document.plant.items.keys()

    def movable(self) -> frozenset[str]:
        """Items and texts."""
        plant = self.board.document.plant
        return self.items() | {texts.id_of(number) for number in texts.numbers(plant, self.ids)}

    def break_run(self) -> None:
        """Arrow keys from now on are another step of undo."""
        self._nudges += 1

    # ---- choosing -------------------------------------------------------------------

    def choose_connected(self) -> None:
        self.board.document.select(gather.connected(self.board.document.plant, self.ids) | self.ids)

    def choose_system(self) -> None:
        plant = self.board.document.plant
        systems = gather.systems_of(plant, self.ids)
        if not systems:
            self.board.say("No pipe is selected, nor an item with one: no system to select")
            return
        self.board.document.select(gather.of_systems(plant, systems) | self.ids)
        self.board.say(f"{len(self.ids)} things of {', '.join(sorted(systems))} selected")

    def choose_kind(self) -> None:
        self.board.document.select(gather.alike(self.board.document.plant, self.ids) | self.ids)

    # ---- changing -------------------------------------------------------------------

    def turn(self) -> None:
        items = self.movable()
        if items:
            self.do(f"Turn {named(items)}", lambda plant: turned(plant, items))

    def mirror(self) -> None:
        items = self.movable()
        if items:
            self.do(f"Mirror {named(items)}", lambda plant: mirrored(plant, items))

    def turn_round(self) -> None:
        """The other way in its line."""
        items = self.items()
        if len(items) == 1:
            name = next(iter(items))
            self.do(f"Turn {name} round", lambda plant: edits.turn_round(plant, name))

    def unpin(self) -> None:
        """Pipes find their own way again."""
        chosen = self.ids & self.board.document.plant.pipes.keys()

        def make(plant: Plant) -> list[Change]:
            bent = [plant.pipes[name] for name in chosen if plant.pipes[name].via]
            return [ReplacePipe(replace(pipe, via=())) for pipe in bent]

        self.do("Forget pinned bends", make)

    def delete(self, word: str = "Delete") -> None:
        chosen = self.ids
        if chosen:
            words = named(chosen) if len(chosen) == 1 else f"{len(chosen)} things"
            self.do(f"{word} {words}", lambda plant: edits.delete(plant, chosen))

    def join(self) -> None:
        """What letting go with the mouse does: see `_joined`."""
        items = self.items()
        draft, said = self._joined(items)
        if not said:
            self.board.say(f"{named(items)}: nothing there to join to")
        elif self.board.commit(f"Join {named(items)}", draft.changes):
            self.board.say(". ".join(said))

    def _joined(self, items: frozenset[str]) -> tuple[edits.Draft, list[str]]:
        """A loose valve in the pipe it lies on, free ports joined to what they lie on; and that in words."""
        draft = edits.Draft(self.board.document.plant)
        said: list[str] = []
        one = loose(draft.plant, items)
        beneath = None
        if one is not None:
            beneath = pipe_beneath(one, self.board.scene.lines_without(one.id))
        if one is not None and beneath is not None:
            on, line = beneath
            draft.do(*in_line(draft.plant, one, on, line, against(one, on.way)))
            said.append(f"{one.id} put in line")
        return draft, [*said, *join_touching(self.board, draft, items)]

    def align(self, side: arrange.Side) -> None:
        items = self.items()
        self.do(f"Align {named(items)}", lambda plant: arrange.align(plant, items, side))

    def distribute(self, across: bool) -> None:
        items = self.items()
        if len(items) < 3:
            self.board.say("Three items at least can be spread evenly")
            return
        self.do(f"Distribute {named(items)}", lambda plant: arrange.distribute(plant, items, across))

    def stage(self, stage: str) -> None:
        """How far the work on all of them is."""
        chosen = self.ids

        def make(plant: Plant) -> list[Change]:
            items = [plant.items[name] for name in plant.items if name in chosen]
            pipes = [plant.pipes[name] for name in plant.pipes if name in chosen]
            return [
                *(ReplaceItem(replace(item, stage=stage)) for item in items if item.stage != stage),
                *(ReplacePipe(replace(pipe, stage=stage)) for pipe in pipes if pipe.stage != stage),
            ]

        things = named(chosen) if len(chosen) == 1 else f"{len(chosen)} things"
        self.do(f"Stage of {things}: {stage.replace('_', ' ')}", make)

    def nudge(self, key: Qt.Key, shift: bool) -> None:
        (dx, dy), times = ARROWS[key], FAR if shift else 1
        items = self.movable()
        pipes = self.ids & self.board.document.plant.pipes.keys()
        if not items and len(pipes) == 1:
            self._bend(next(iter(pipes)), (dx * times, dy * times))
            return
        if not items:
            self.board.view.pan(round(-dx * 4 * times), round(-dy * 4 * times))
            return
        words, run = f"Move {named(items)}", f"nudge {self._nudges}"
        self.do(words, lambda plant: edits.move(plant, items, dx * times, dy * times), run)
        box = self.board.scene.box_round(next(iter(items)))
        if box is not None:
            self.board.reveal(box.centre)
        if said := self._joined(items)[1]:
            lies = said[0].replace("joined to", "only lies on").replace("put in line", "only lies on a pipe")
            self.board.say(f"Not joined: {lies}. J joins it")

    def _bend(self, name: str, by: tuple[float, float]) -> None:
        """The longest run across the arrow's way, aside."""
        line = self.board.scene.line(name)
        runs = segments(line)
        across = [number for number, run in enumerate(runs) if level(run) == bool(by[1])]
        if not across:
            self.board.say(f"{name} has no run that could move that way")
            return
        longest = max(across, key=lambda number: (length(runs[number]), -number))
        pipe = self.board.document.plant.pipes[name]

        def make(plant: Plant) -> list[Change]:
            via = bends_with(plant, pipe.start, pipe.end, line, pipe.via, longest, by[0] or by[1])
            return [ReplacePipe(replace(pipe, via=via))]

        self.do(f"Bend {name}", make, f"nudge {self._nudges}")

    def do(self, words: str, make: Callable[[Plant], list[Change]], run: str = "") -> None:
        try:
            changes = make(self.board.document.plant)
        except Refusal as refusal:
            self.board.refuse(str(refusal))
            return
        self.board.commit(words, changes, run)

    # ---- copying --------------------------------------------------------------------

    def excerpt(self, title: str = "") -> Excerpt | None:
        """The selected things as a plant of their own; None where nothing is selected."""
        plant = self.board.document.plant

        def where(ref: PortRef) -> tuple[float, float]:
            return port_place(plant.items[ref.item], ref.port)

        part = excerpt(plant, self.ids, where, texts.numbers(plant, self.ids), title)
        return part if part.plant.items or part.plant.texts else None

    def copied(self) -> str:
        """The selected things as text for the clipboard; empty where nothing is selected."""
        part = self.excerpt()
        return "" if part is None else clip.to_text(part)

    def beside(self, part: Excerpt) -> tuple[float, float]:
        """Where a duplicate first lies: the nearest free room below or right of what it came from."""
        x, y = part.middle
        taken = [symbols.box(item) for item in self.board.document.plant.items.values()]
        own = [symbols.box(item).grown(10.0) for item in part.plant.items.values()]
        for step in range(4, 60):
            for dx, dy in ((0.0, 10.0 * step), (10.0 * step, 0.0)):
                if not any(box.moved(dx, dy).overlaps(other) for box in own for other in taken):
                    return x + dx, y + dy
        return x + 40.0, y + 40.0
