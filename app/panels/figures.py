"""All solved figures of an item or pipe as words, read off the solution alone.

Hover card and particulars show them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Literal

from core import units
from core.diagram.annotations import pipe_text
from core.diagram.states import still
from core.media.tubes import spoken
from core.vocabulary import KINDS
from core.vocabulary.port_words import spoken_place

if TYPE_CHECKING:
    from core.diagram.states import SolvedCase
    from core.figures import Value
    from core.plant.model import Item, Pipe, Plant
    from core.vocabulary.figures import Figure

Rows = list[tuple[str, str]]
Card = tuple[str, str, Rows]
"""Title, remark beside it, rows."""
Keyed = list[tuple[str, str, str]]
"""Words, figure, and the figure's key in the solution (empty where it has none)."""
CELSIUS = 273.15

_SHARES = ("speed", "effectiveness", "hot_share", "duty_share")


def display(plant: Plant) -> Literal["us", "si"]:
    return "si" if plant.units == "si" else "us"


def pipe_rows(plant: Plant, pipe: Pipe, solution: SolvedCase | None) -> Rows:
    """Words and figures of `pipe_figures`."""
    return [(word, figure) for word, figure, _ in pipe_figures(plant, pipe, solution)]


def item_rows(plant: Plant, item: Item, solution: SolvedCase | None) -> Rows:
    """Words and figures of `item_figures`."""
    return [(word, figure) for word, figure, _ in item_figures(plant, item, solution)]


def pipe_figures(plant: Plant, pipe: Pipe, solution: SolvedCase | None) -> Keyed:
    """Figures of a pipe, in the direction of the water: `in` is where it enters."""
    figures = solution.pipes.get(pipe.id) if solution is not None else None
    if figures is None:
        return []
    forward = figures.flow_m3_s >= 0
    rows: Keyed = []
    if still(solution, pipe.id):
        rows.append(("water", "no flow", ""))
    else:
        end = pipe.end if forward else pipe.start
        rows.append(("runs to", spoken_place(end.item, end.port), ""))
    loss = pipe_text(pipe.id, solution, ["head_loss"], display(plant), plant)
    from core.vocabulary.figures import PIPE_FIGURES  # 1 ms of start-up, as in `Kind.figures`

    known = {figure.key: figure for figure in PIPE_FIGURES}
    values = figures.as_data()
    for key in _in_flow_order(values, forward):
        value = values[key]
        shown = abs(value) if key in ("flow_m3_s", "velocity_m_s", "drop_pa") else value
        label = key if forward else _swapped(key)
        words, text = figure_words(plant, known[label], shown)
        rows.append((words, solution.mark(pipe.id, key) + text if solution else text, key))
        if key == "drop_pa" and loss and not still(solution, pipe.id):
            rows.append(("head loss", loss[0], key))
    return rows


def item_figures(plant: Plant, item: Item, solution: SolvedCase | None) -> Keyed:
    """Figures of an item in the order the solution gives them."""
    figures = solution.items.get(item.id) if solution is not None else None
    known = {figure.key: figure for figure in item.kind_info.figures}
    values = {} if figures is None else figures.as_data()
    if solution is None:
        return []
    rows = ((key, *figure_words(plant, known[key], value)) for key, value in values.items())
    return [(words, solution.mark(item.id, key) + text, key) for key, words, text in rows]


def card(
    plant: Plant,
    solution: SolvedCase | None,
    name: str,
    zone: str,
    found: Sequence[tuple[str, str]] = (),
) -> Card:
    """All that hovering shows of an item or pipe; `found` are rows of what the review says of it."""
    if name in plant.items:
        return name, remark(plant, name, zone), [*item_rows(plant, plant.items[name], solution), *found]
    if name in plant.pipes:
        return name, remark(plant, name, zone), [*pipe_rows(plant, plant.pipes[name], solution), *found]
    return name, "", []


def remark(plant: Plant, name: str, zone: str) -> str:
    """What stands beside the title: kind, system, tube, stage, zone."""
    if name in plant.items:
        words = [KINDS[plant.items[name].kind].title]
    else:
        pipe = plant.pipes[name]
        words = [pipe.system]
        if pipe.tube is not None and "material" in pipe.tube:
            words.append(spoken(pipe.tube["material"], str(pipe.tube.get("size", ""))))
    thing = plant.items[name] if name in plant.items else plant.pipes[name]
    if thing.stage != "drawn":
        words.append(thing.stage.replace("_", "-" if thing.stage == "dry_fitted" else " "))
    if zone:
        words.append(f"at {zone}")
    return ", ".join(word for word in words if word)


def _in_flow_order(figures: Mapping[str, Any], forward: bool) -> list[str]:
    """Backward flow: the end at `to` is where the water enters, so it comes first."""
    if forward:
        return list(figures)
    return [_swapped(key) if _swapped(key) in figures else key for key in figures]


def _swapped(key: str) -> str:
    if "_in_" in key:
        return key.replace("_in_", "_out_")
    return key.replace("_out_", "_in_")


def figure_words(plant: Plant, figure: Figure, value: Value) -> tuple[str, str]:
    """What a figure is called and its value in the plant's units."""
    key, words, dimension, _ = figure
    words = re.sub(r"^(a|b|ab) ", lambda letter: letter[0].upper(), words)
    if isinstance(value, bool):
        return words, "yes" if value else "no"
    if dimension:
        shift = CELSIUS if dimension == "temperature" else 0.0
        digits = 2 if key == "drop_pa" and display(plant) == "us" else None
        return words, units.show(value + shift, dimension, display(plant), digits=digits)
    if key in _SHARES:
        return words, f"{100 * value:.0f} %"
    return words, f"{value:,.0f}" if key == "reynolds" else f"{value:.4g}"
