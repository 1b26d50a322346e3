"""The search for lost objects: at rest, never in the middle of work."""

from __future__ import annotations

import gc
import threading
import weakref
from collections.abc import Iterator

import pytest
from PySide6.QtCore import QObject
from pytestqt.qtbot import QtBot

from app.background import Background
from app.document import Document
from app.idle_gc import IdleCollector
from core.plant.model import Plant


@pytest.fixture(autouse=True)
def usual_search() -> Iterator[None]:
    before = gc.get_threshold()
    yield
    gc.set_threshold(*before)
    gc.unfreeze()


class Lost:
    """Something that only holds itself."""

    def __init__(self) -> None:
        self.itself = self


@pytest.fixture
def document(qapp: QObject) -> Document:
    return Document()


@pytest.fixture
def collector(document: Document) -> Iterator[IdleCollector]:
    background = Background()
    made = IdleCollector(document, background, document)
    yield made
    background.stop()


def test_what_is_lost_is_found_at_rest(collector: IdleCollector, qtbot: QtBot) -> None:
    lost = weakref.ref(Lost())
    qtbot.waitUntil(lambda: lost() is None, timeout=10000)
    assert gc.get_freeze_count() > 0


def test_nothing_is_searched_while_work_is_under_way(collector: IdleCollector) -> None:
    go_on = threading.Event()
    collector._background.ask("long", lambda job: go_on.wait(10) and None)
    lost = weakref.ref(Lost())
    collector.clear()
    assert lost() is not None
    go_on.set()


def test_another_plant_lets_all_be_searched_again(collector: IdleCollector, document: Document) -> None:
    collector.clear()
    kept = Lost()
    lost = weakref.ref(kept)
    collector.clear()  # in use now, so not looked through again
    del kept
    collector.clear()
    assert lost() is not None
    document.replace(Plant(), None)
    collector.clear()
    assert lost() is None
