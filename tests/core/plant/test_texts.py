"""The user's own texts: written, moved, led, taken away; never lost by other edits."""

from __future__ import annotations

from core.plant import edits, texts
from core.plant.changes import apply, fitted, inverses
from core.plant.model import Item, Plant

PUMP = Item("P-1", "circulator", (100.0, 100.0))


def test_texts_are_written_moved_led_and_taken_away() -> None:
    plant = Plant(items={"P-1": PUMP})
    plant = fitted(plant, texts.add(plant, (10.0, 20.0), "by the door", "P-1"))
    plant = fitted(plant, texts.add(plant, (50.0, 60.0), "second"))
    assert plant.texts[0] == {"at": [10.0, 20.0], "text": "by the door", "lead_to": "P-1"}
    plant = fitted(plant, edits.move(plant, ["text 1", "P-1"], 10.0, -20.0))
    assert texts.place_of(plant, 1) == (60.0, 40.0)
    assert plant.items["P-1"].at == (110.0, 80.0)
    assert texts.place_of(plant, 0) == (10.0, 20.0)
    plant = fitted(plant, texts.lead(plant, 1, (0.0, 0.0)))
    assert plant.texts[1]["lead_to"] == [0.0, 0.0]
    plant = fitted(plant, texts.lead(plant, 1, None))
    assert "lead_to" not in plant.texts[1]
    written = fitted(plant, texts.write(plant, 0, "by the stairs"))
    assert written.texts[0]["text"] == "by the stairs"
    assert written.texts[0]["lead_to"] == "P-1"
    gone = texts.write(plant, 0, "  ")
    assert [text["text"] for text in fitted(plant, gone).texts] == ["second"]
    assert apply(fitted(plant, gone), inverses(plant, gone)) == plant


def test_deleting_what_a_text_leads_to_keeps_its_words() -> None:
    plant = Plant(items={"P-1": PUMP})
    plant = fitted(plant, texts.add(plant, (10.0, 20.0), "by the door", "P-1"))
    plant = fitted(plant, edits.delete(plant, ["P-1"]))
    assert plant.texts == ({"at": [10.0, 20.0], "text": "by the door"},)
    assert fitted(plant, edits.delete(plant, ["text 0"])).texts == ()


def test_what_is_no_text_is_none() -> None:
    plant = Plant(items={"P-1": PUMP})
    assert texts.numbers(plant, ["P-1", "text 0", "text", "text -1", "text x"]) == frozenset()
