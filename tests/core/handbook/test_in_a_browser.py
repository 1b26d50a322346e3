"""The handbook in a real browser: taps, keys, what is kept, a stranger's file, phone and desktop, dark."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from core.files import read
from core.handbook.gather import gathered
from core.handbook.page import page
from core.logbook.remarks import from_csv as remarks_from
from core.readings.text import from_csv, taken
from tests.plants.edits import SAMPLES
from tests.support import browser as browsers

pytestmark = pytest.mark.skipif(browsers.found() is None, reason="no chromium on this machine")

HOSTILE = (
    '</script><script>window.pwned=1</script><img src=x onerror="window.pwned=2">" onload="window.pwned=3'
)


@pytest.fixture(scope="module")
def contents():
    return gathered(read.load(str(SAMPLES / "potting_shed.plant.json")))


@pytest.fixture(scope="module")
def shed(contents, tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "shed.html"
    path.write_text(page(contents), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def chromium(tmp_path_factory):
    browser = browsers.Browser(tmp_path_factory.mktemp("profile"))
    yield browser
    browser.close()


def shown_card(chromium):
    return chromium.value("[...document.querySelectorAll('.card.shown')].map(e => e.id)")


def test_a_tap_shows_the_card_and_its_plan_lights_the_valves(chromium, contents, shed):
    chromium.screen(1280, 900)
    chromium.open(shed)
    plan = next(plan for plan in contents.plans.values() if plan.possible and plan.close)
    assert chromium.value(
        "[...document.querySelectorAll('.card')].every(e => getComputedStyle(e).display === 'none')"
    )
    chromium.tap(f'.part[data-id="{plan.target}"] .touch')
    assert shown_card(chromium) == [f"card-{plan.target}"]
    chromium.tap(".card.shown details[data-lights] summary")
    chromium.until("document.querySelector('.part.lit') !== null")
    lit = chromium.value("[...document.querySelectorAll('.part.lit')].map(e => e.dataset.id)")
    assert sorted(lit) == sorted(plan.close)


def test_by_keyboard_alone(chromium, contents, shed):
    chromium.open(shed)
    first = next(iter(contents.plant.items))
    chromium.value(f"document.querySelector('.part[data-id=\"{first}\"]').focus()")
    chromium.key("Enter", 13)
    assert shown_card(chromium) == [f"card-{first}"]
    before = chromium.value("document.getElementById('drawing').getAttribute('viewBox')")
    chromium.value(f"document.querySelector('.part[data-id=\"{first}\"]').focus()")
    chromium.key("ArrowRight", 39)
    assert chromium.value("document.getElementById('drawing').getAttribute('viewBox')") != before


def test_a_screen_reader_hears_names(chromium, contents, shed):
    chromium.open(shed)
    chromium.call("Accessibility.enable")
    nodes = chromium.call("Accessibility.getFullAXTree")["nodes"]
    buttons = {
        n["name"]["value"] for n in nodes if n.get("role", {}).get("value") == "button" and n.get("name")
    }
    for item in contents.plant.items.values():
        assert any(name.startswith(f"{item.id}, {item.kind_info.title}") for name in buttons), item.id


def test_what_is_typed_is_kept_and_leaves_as_text_that_the_window_takes(chromium, contents, shed):
    chromium.open(shed)
    where = json.dumps("input[data-at]")
    chromium.value(
        f"(() => {{ const f = document.querySelector({where}); f.value = '12.5'; "
        "f.dispatchEvent(new Event('input')); document.getElementById('day').value = '2026-03-01'; })()"
    )
    chromium.open(shed)
    assert chromium.value(f"document.querySelector({where}).value") == "12.5"
    chromium.tap("#export")
    text = chromium.value("document.getElementById('exported').value")
    (one,) = taken(contents.plant, from_csv(text)).values["readings"]
    assert one["value"].startswith("12.5 ")


def test_a_ticked_line_stays_ticked(chromium, shed):
    chromium.open(shed)
    ticked = "document.querySelectorAll('.list input[type=checkbox]')[2]"
    chromium.value(f"{ticked}.click()")
    chromium.open(shed)
    assert chromium.value(f"{ticked}.checked")
    assert not chromium.value("document.querySelectorAll('.list input[type=checkbox]')[3].checked")


def test_a_reviewer_taps_a_part_writes_a_remark_and_sends_the_text(chromium, contents, tmp_path):
    path = tmp_path / "round.html"
    path.write_text(page(replace(contents, for_review=True)), encoding="utf-8")
    chromium.screen(1280, 900)
    chromium.open(path)
    first = next(iter(contents.plant.items))
    chromium.tap(f'.part[data-id="{first}"] .touch')
    chromium.value("document.getElementById('remark').value = 'Is this the right, \\'large\\' size?'")
    chromium.tap("#remark-add")
    chromium.tap("#remark-export")
    found = remarks_from(chromium.value("document.getElementById('remark-out').value"))
    assert [(one["at"], one["text"]) for one in found] == [(first, "Is this the right, 'large' size?")]
    chromium.open(path)
    assert chromium.value("document.querySelectorAll('#remark-list li').length") == 1


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize(("width", "height"), [(390, 844), (1280, 900)])
def test_nothing_is_wider_than_the_screen(chromium, shed, width, height, dark):
    chromium.screen(width, height, dark)
    chromium.open(shed)
    assert chromium.value("document.documentElement.scrollWidth") <= width
    ground = chromium.value("getComputedStyle(document.body).backgroundColor")
    assert (ground == "rgb(255, 255, 255)") != dark


def test_a_strangers_file_puts_in_no_script_and_asks_for_nothing(chromium, contents, tmp_path):
    plant = contents.plant
    items = {key: replace(item, label=HOSTILE, note=HOSTILE) for key, item in plant.items.items()}
    spoiled = replace(plant, title=HOSTILE, items=items, logbook=({"id": "D-1", "because": HOSTILE},))
    path = tmp_path / "hostile.html"
    path.write_text(page(replace(contents, plant=spoiled)), encoding="utf-8")
    chromium.screen(1280, 900)
    chromium.open(path)
    chromium.until("document.readyState === 'complete'")
    assert chromium.value("typeof window.pwned") == "undefined"
    assert chromium.value("document.querySelectorAll('script').length") == 1
    assert chromium.value("document.querySelectorAll('img').length") == 0
    outside = [url for url in chromium.requests if not url.startswith("data:")]  # a date field's own picture
    assert outside == [path.as_uri()]
    refused = [e for e in chromium.events if e.get("method") == "Log.entryAdded"]
    assert not refused, refused


def test_even_injected_script_would_not_run(chromium, shed, tmp_path):
    path = tmp_path / "injected.html"
    text = shed.read_text(encoding="utf-8")
    path.write_text(text.replace("</body>", "<script>window.pwned = 1</script></body>"), encoding="utf-8")
    chromium.open(path)
    assert chromium.value("typeof window.pwned") == "undefined"


def test_it_is_small(shed):
    assert shed.stat().st_size < 2e6
