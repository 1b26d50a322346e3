"""The particulars: what is asked first, what is folded, and what each port is joined to."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QToolButton

from app.panels.joined import joined_rows
from core.forms.rows import item_sections
from core.plant.model import Item, Plant, PortRef
from core.vocabulary import KINDS, Kind
from core.vocabulary.port_words import spoken_place, spoken_port
from tests.app.pencil import LEFT, Pencil, type_words


def fold(pencil: Pencil, title: str) -> QToolButton:
    panel = pencil.window.particulars
    return next(one for one in panel.findChildren(QToolButton) if one.isVisible() and one.text() == title)


def test_a_boiler_asks_what_it_must_and_folds_the_rest(pencil: Pencil) -> None:
    pencil.place("boiler", (500, 400))
    panel = pencil.window.particulars
    assert panel.keys() == ["id", "label", "capacity", "set_temperature", "condensing", "run_when"]
    QTest.mouseClick(fold(pencil, "More"), LEFT)
    assert {"efficiency", "min_output", "height", "note", "stage"} <= set(panel.keys())
    assert "low_water_cutoff" not in set(panel.keys())


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.name)
def test_what_a_kind_holds_essential_is_its_own_and_is_asked_once(kind: Kind) -> None:
    assert set(kind.essential) <= kind.properties.keys()
    assert not any(kind.properties[name].safety for name in kind.essential)
    plant = Plant(items={"X-1": Item("X-1", kind.name, (0, 0))})
    asked = [row.key for section in item_sections(plant, plant.items["X-1"]) for row in section.rows]
    single = {"port_heights"} if len(plant.items["X-1"].ports) < 2 else set()  # its own height says it all
    assert sorted(asked) == sorted([*(kind.properties.keys() - single), "label", "note", "stage"])


@pytest.mark.parametrize("units", ["us", "si"])
def test_no_form_speaks_the_file_s_words(units: str) -> None:
    found = []
    for kind in KINDS.values():
        plant = Plant(items={"X-1": Item("X-1", kind.name, (0, 0))}, units=units)
        for section in item_sections(plant, plant.items["X-1"]):
            for row in section.rows:
                heads = [column.name + column.example for column in row.table.columns] if row.table else []
                picks = [words for words, _ in row.choices]
                said = " ".join([row.name, row.empty, row.hint, *heads, *picks])
                tokens = ("_", "degF", "degC", "true", "e+")
                found += [f"{kind.name} {row.key}: {said}" for token in tokens if token in said]
    assert found == []


def test_a_long_remark_does_not_make_the_form_wider_than_its_panel(pencil: Pencil) -> None:
    room = pencil.place("room", (500, 400))
    window = pencil.window
    field = window.particulars.field("loss")
    field.editor.put("18,000 Btu/h")
    field.commit()
    QApplication.processEvents()
    inner = window.particulars._scroll.widget()
    assert inner.minimumSizeHint().width() <= window.particulars._scroll.viewport().width()
    assert "18,000 Btu/h" in field.remark
    assert room in window.document.plant.items


def test_names_of_ports_are_spoken_and_no_two_of_a_kind_are_alike() -> None:
    assert [spoken_port(port) for port in ("a_in", "b_out", "ab", "coil_in", "hot", "at", "upper_tap")] == [
        "A in", "B out", "AB", "coil in", "hot", "", "upper tap",
    ]  # fmt: skip
    assert (spoken_place("T-1", "coil_out"), spoken_place("J-1", "at")) == ("T-1 coil out", "J-1")
    for kind in KINDS.values():
        assert len({spoken_port(port) for port in kind.ports}) == len(kind.ports)


def test_an_exchanger_tells_what_each_port_is_joined_to_and_a_click_goes_there(pencil: Pencil) -> None:
    exchanger = pencil.place("exchanger", (300, 400))
    tank = pencil.place("expansion_tank", (700, 300))
    pencil.drag(pencil.port(exchanger, "b_in"), pencil.port(tank, "at"))
    window = pencil.window
    (pipe,) = window.document.plant.pipes
    window.document.select([exchanger])
    QApplication.processEvents()
    assert joined_rows(window.document.plant, window.document.plant.items[exchanger]) == [
        ("A in", "open", ""),
        ("A out", "open", ""),
        ("B in", f"{pipe} to {tank}", pipe),
        ("B out", "open", ""),
    ]
    texts = [one.text() for one in window.particulars.findChildren(QLabel) if one.isVisible()]
    assert {"Joined to", "A in", "B in"} <= set(texts)
    assert not any("_" in text for text in texts)
    QTest.mouseClick(fold(pencil, f"{pipe} to {tank}"), LEFT)
    assert window.document.selection == {pipe}


def test_a_joint_between_two_pipes_is_passed_and_one_among_three_is_named(pencil: Pencil) -> None:
    valve = pencil.place("mixing_valve", (300, 400))
    joint = pencil.place("joint", (600, 200))
    main = pencil.place("cold_main", (800, 200))
    pencil.drag(pencil.port(valve, "cold"), pencil.port(joint, "at"))
    pencil.drag(pencil.port(joint, "at"), pencil.port(main, "at"))
    plant = pencil.window.document.plant
    (pipe,) = plant.pipes_at[PortRef(valve, "cold")]
    assert ("cold", f"{pipe} to {main}", pipe) in joined_rows(plant, plant.items[valve])
    other = pencil.place("cold_main", (600, 600))
    pencil.drag(pencil.port(other, "at"), pencil.port(joint, "at"))
    plant = pencil.window.document.plant
    assert ("cold", f"{pipe} to {joint}", pipe) in joined_rows(plant, plant.items[valve])


def test_heights_and_fittings_are_typed_in_words(pencil: Pencil) -> None:
    exchanger = pencil.place("exchanger", (300, 400))
    window = pencil.window
    field = window.particulars.field("port_heights")
    field.editor.put("B in: 4 ft")
    field.commit()
    assert field.error == ""
    assert window.document.plant.items[exchanger].props["port_heights"] == {"b_in": "4 ft"}
    assert field.editor.text_now() == "B in: 4 ft"
    tank = pencil.place("expansion_tank", (700, 300))
    pencil.drag(pencil.port(exchanger, "b_in"), pencil.port(tank, "at"))
    (pipe,) = window.document.plant.pipes
    window.document.select([pipe])
    field = window.particulars.field("fittings")
    field.editor.setFocus()
    type_words(field.editor.rows[0][0], "elbow 90")
    QTest.keyClick(field.editor.rows[0][0], Qt.Key.Key_Tab)
    type_words(field.editor.rows[0][1], "2")
    QTest.keyClick(field.editor.rows[0][1], Qt.Key.Key_Return)
    assert window.document.plant.pipes[pipe].fittings == {"elbow_90": 2}
    assert field.editor.text_now() == "90° elbow, standard: 2"
