"""Symbols and lines as they are painted: fills, upright letters, weights, fonts."""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from importlib import resources
from itertools import combinations

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QApplication

from app import pens, symbols
from app.pens import DARK, LIGHT, PRINT, Palette
from core.diagram.drawing import drawing, of_size
from core.diagram.marks import Arrow, Letter
from core.diagram.pipes import PipePicture
from core.diagram.states import State
from core.plant.model import Item
from core.vocabulary import KINDS

SIDE = 160


def _painted(item: Item, state: State = State.PLAIN, palette: Palette = PRINT, **weights: float) -> QImage:
    image = QImage(SIDE, SIDE, QImage.Format.Format_RGB32)
    image.fill(palette.board)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(SIDE / 2, SIDE / 2)
    symbols.paint_symbol(painter, item, state, palette, weights)
    painter.end()
    return image


def _ink(image: QImage, x0: float, y0: float, x1: float, y1: float) -> float:
    """Share of ink in a box about the middle."""
    dark = total = 0
    for x in range(round(SIDE / 2 + x0), round(SIDE / 2 + x1)):
        for y in range(round(SIDE / 2 + y0), round(SIDE / 2 + y1)):
            dark += image.pixelColor(x, y).lightness() < 128
            total += 1
    return dark / total


@pytest.mark.parametrize("kind", list(KINDS))
def test_every_kind_paints_within_its_box(qapp: QApplication, kind: str) -> None:
    from core.diagram.symbols import box

    for turn in (0, 90, 180, 270):
        item = Item("X-1", kind, (0.0, 0.0), turn)  # type: ignore[arg-type]
        image, area = _painted(item), box(item)
        marks = [
            (x - SIDE / 2, y - SIDE / 2)
            for x in range(0, SIDE, 1)
            for y in range(0, SIDE, 1)
            if image.pixelColor(x, y).lightness() < 128
        ]
        assert marks
        assert min(x for x, _ in marks) >= area.x0 - 2
        assert max(x for x, _ in marks) <= area.x1 + 2
        assert min(y for _, y in marks) >= area.y0 - 2
        assert max(y for _, y in marks) <= area.y1 + 2


def test_fill_tells_the_state_without_colour(qapp: QApplication) -> None:
    pump, valve = Item("P-1", "circulator", (0.0, 0.0)), Item("V-1", "shutoff", (0.0, 0.0))
    assert _ink(_painted(pump, State.RUNS), -4, -4, 4, 4) > 0.95
    assert _ink(_painted(pump, State.RESTS), -4, -4, 4, 4) < 0.05
    assert _ink(_painted(valve, State.SHUT), -12, -5, -9, 5) > 0.9
    assert _ink(_painted(valve, State.OPEN), -12, -5, -9, 5) < 0.1


def test_letters_stay_upright_and_unmirrored(qapp: QApplication) -> None:
    plain = _painted(Item("G", "gauge", (0.0, 0.0)))
    for turn, flip, (dx, dy) in ((90, False, (6, 6)), (180, True, (0, 12)), (0, True, (0, 0))):
        turned = _painted(Item("G", "gauge", (0.0, 0.0), turn, flip))  # type: ignore[arg-type]
        same = sum(
            plain.pixelColor(x, y).lightness() // 128 == turned.pixelColor(x + dx, y + dy).lightness() // 128
            for x in range(SIDE // 2 - 6, SIDE // 2 + 7)
            for y in range(SIDE // 2 - 13, SIDE // 2 + 2)
        )
        assert same > 0.97 * 13 * 15


def test_a_stub_takes_the_weight_of_its_pipe(qapp: QApplication) -> None:
    item = Item("P-1", "circulator", (0.0, 0.0))
    thin, thick = _painted(item), _painted(item, out=8.0)
    assert _ink(thin, 17, -4, 20, 4) < 0.4
    assert _ink(thick, 17, -4, 20, 4) > 0.9
    assert _ink(thick, -20, -4, -17, 4) < 0.4


def test_icons_show_ink_at_the_smallest_size(qapp: QApplication) -> None:
    for kind in KINDS:
        picture = symbols.icon(kind, LIGHT, 16).pixmap(16, 16).toImage()
        dark = sum(picture.pixelColor(x, y).alpha() > 100 for x in range(16) for y in range(16))
        assert dark > 8, kind


def test_palettes_read_in_black_and_white() -> None:
    def luminance(colour: QColor) -> float:
        parts = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
                 for c in (colour.redF(), colour.greenF(), colour.blueF())]  # fmt: skip
        return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]

    for palette in (LIGHT, DARK, PRINT):
        for role, least in (("ink", 12.0), ("soft", 5.5), ("edge", 3.0), ("accent", 4.5)):
            a, b = sorted((luminance(getattr(palette, role)), luminance(palette.board)))
            assert (b + 0.05) / (a + 0.05) >= least, role


def _pipe_image(picture: PipePicture) -> QImage:
    image = QImage(SIDE, SIDE, QImage.Format.Format_RGB32)
    image.fill(PRINT.board)
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(SIDE / 2, SIDE / 2)
    pens.paint_pipe(painter, picture, PRINT)
    painter.end()
    return image


LINE = ((-70.0, 0.0), (70.0, 0.0))


def test_lines_show_flow_by_weight_and_still_water_by_dashes(qapp: QApplication) -> None:
    whole = _pipe_image(PipePicture("L", LINE, (), 4.0, False, (), ()))
    assert _ink(whole, -60, -2, 60, 2) > 0.95
    dashed = _pipe_image(PipePicture("L", LINE, (), 2.0, True, (), ()))
    assert 0.4 < _ink(dashed, -60, -1, 60, 1) < 0.75


def test_an_arrow_points_with_the_flow(qapp: QApplication) -> None:
    for way in (1.0, -1.0):
        arrow = Arrow((0.0, 0.0), (way, 0.0), 8.0, 6.0)
        image = _pipe_image(PipePicture("L", LINE, (), 1.4, False, (arrow,), ()))
        left, right = _ink(image, -7, -5, -4, 5), _ink(image, 4, -5, 7, 5)
        assert (left > right) == (way > 0)


def test_a_hop_bows_to_the_right_whichever_way_the_line_runs(qapp: QApplication) -> None:
    for line in (((0.0, -60.0), (0.0, 60.0)), ((0.0, 60.0), (0.0, -60.0))):
        image = _pipe_image(PipePicture("L", line, ((0.0, 0.0),), 2.0, False, (), ()))
        assert _ink(image, 4, -2, 8, 2) > 0.3
        assert _ink(image, -8, -2, -3, 2) == 0


def test_a_letter_stands_in_a_gap_of_the_line(qapp: QApplication) -> None:
    letter = Letter((0.0, 0.0), "P")
    image = _pipe_image(PipePicture("L", LINE, (), 2.0, False, (), (letter,)))
    assert _ink(image, -3, -5, 4, 5) > 0.15
    assert _ink(image, letter.box.x0 + 1, -1, letter.box.x0 + 3, 1) == 0


def test_bundled_fonts_are_known_and_small(qapp: QApplication) -> None:
    assert {pens.PANEL_FONT, pens.BOARD_FONT} <= set(pens.register_fonts())
    fonts = resources.files("icons").joinpath("fonts")
    for entry in fonts.iterdir():
        assert len(entry.read_bytes()) < 2**20
    assert "Bitstream" in fonts.joinpath("LICENCE.txt").read_text(encoding="utf-8")
    assert pens.text_width("H-1", 20.0) == pytest.approx(2 * pens.text_width("H-1", 10.0))


def test_drawings_are_plain_line_work() -> None:
    for kind in KINDS:
        root = ElementTree.fromstring(resources.files("icons").joinpath(f"{kind}.svg").read_text("utf-8"))
        assert root.get("data-kind") == kind
        tags = {element.tag.split("}")[1] for element in root.iter()}
        assert tags <= {"svg", "title", "g", "polyline", "polygon", "path", "rect", "circle"}


def test_kinds_are_fitted_into_their_place(qapp: QApplication) -> None:
    image = QImage(SIDE, SIDE, QImage.Format.Format_RGB32)
    image.fill(PRINT.board)
    painter = QPainter(image)
    painter.translate(SIDE / 2, SIDE / 2)
    symbols.paint_kind(painter, "tank", QRectF(-11, -11, 22, 22), PRINT)
    painter.end()
    assert _ink(image, -12, -12, 12, 12) > 0.05
    assert _ink(image, -40, -40, -12, 40) == 0


def test_no_two_kinds_look_alike_at_the_smallest_size(qapp: QApplication) -> None:
    """Sixteen pixels a side: ink of four of them tells any two kinds apart, as a letter does."""
    grey: dict[str, list[int]] = {}
    for kind in KINDS:
        image = QImage(16, 16, QImage.Format.Format_Grayscale8)
        image.fill(255)
        painter = QPainter(image)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        symbols.paint_kind(painter, kind, QRectF(0.5, 0.5, 15, 15), PRINT)
        painter.end()
        grey[kind] = [image.pixelColor(x, y).lightness() for y in range(16) for x in range(16)]
    close = [
        (one, other)
        for one, other in combinations(KINDS, 2)
        if sum(abs(a - b) for a, b in zip(grey[one], grey[other], strict=True)) < 4 * 255
    ]
    assert close == []


def test_small_pictures_have_strokes_of_their_own(qapp: QApplication) -> None:
    for kind in ("mixing_valve", "relief_valve", "purge_set", "backflow_preventer", "coil_tank", "exchanger"):
        parts = drawing(kind).parts
        assert any(part.small for part in parts)
        assert of_size(parts, small=True) != of_size(parts, small=False)
        assert not any(part.small for part in of_size(parts, small=False))
