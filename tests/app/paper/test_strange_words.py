"""Whatever a stranger wrote into a plant file stands on every paper as plain text, clear of everything."""

from __future__ import annotations

import csv
import io
import itertools
import json
import shutil
import subprocess
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from PySide6.QtWidgets import QApplication

from app.main import dispatch
from tests.app.paper.test_pdf_text import faults
from tests.plants.edits import SAMPLES

STRANGE = [
    "<b>bold</b><script>alert(1)</script>", "=cmd|' /C calc'!A0", "+1+1", "@SUM(A1)", "-2+3",
    "\x07\x1b[31mred\x00", "\u202eevil\u202c", "W" * 300, "one\ntwo\r\nthree", "%s %d %(x)s {0}",
    "&lt;&amp;&#65;&nbsp;", "]]>--><!-- x", "a\tb", "'\"`", "{{7*7}}$(x)", "words that go on " * 18,
]  # fmt: skip
PAPERS = {
    "drawing.pdf": ["print", "--all-cases", "--curves"],
    "drawing.svg": ["print"],
    "report.pdf": ["report"],
    "start-up.pdf": ["start-up"],
    "service.pdf": ["service"],
    "wiring.pdf": ["wiring"],
    "card.pdf": ["shut-off"],
    "takeoff.csv": ["takeoff"],
    "takeoff.xlsx": ["takeoff"],
    "handbook.html": ["handbook"],
}


@pytest.fixture(scope="module")
def strange_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A sample with such words wherever a file may hold words, as long as they may be there."""
    words = itertools.cycle(STRANGE)
    data: dict[str, Any] = json.loads((SAMPLES / "potting_shed.plant.json").read_text(encoding="utf-8"))
    data["title"] = next(words)[:200]
    for thing in (*data["items"], *data["pipes"]):
        thing["label"], thing["note"] = next(words)[:200], next(words)
    names = {case["name"]: f"{next(words)[:190]} {n}" for n, case in enumerate(data["cases"])}
    for case in data["cases"]:
        case["name"] = names[case["name"]]
    for run in data.get("runs", ()):
        run["name"], run["case"] = next(words)[:200], names[run["case"]]
    data["sheet"] = {
        key: next(words)[:60] for key in ("number", "owner", "drawn_by", "checked_by", "approved_by", "date")
    }
    data["sheet"]["revisions"] = [[word[:60] for word in STRANGE[:3]]]
    data["texts"] = [{"at": [100, 600 + 30 * n], "text": word} for n, word in enumerate(STRANGE)]
    entry = {"at": ["P-1"], "date": "2030-01-01", "choice": next(words), "because": next(words)}
    data["logbook"] = [{"id": f"D-{n}", **entry, "weighed": [word]} for n, word in enumerate(STRANGE, 1)]
    file = tmp_path_factory.mktemp("strange") / "strange.plant.json"
    file.write_text(json.dumps(data), encoding="utf-8")
    return file


@pytest.mark.parametrize("paper", PAPERS)
def test_strange_words_stand_as_plain_text(
    qapp: QApplication, strange_file: Path, tmp_path: Path, paper: str
) -> None:
    command, *more = PAPERS[paper]
    out, kind = tmp_path / paper, paper.rpartition(".")[2]
    given = {"shut-off": ["P-1"]}.get(command, [])
    to = {"csv": "--csv", "xlsx": "--xlsx"}.get(kind, "-o")
    assert dispatch([command, str(strange_file), *given, *more, to, str(out)]) in (0, 1)
    {"pdf": _pdf, "svg": _svg, "csv": _csv, "xlsx": _xlsx, "html": _html}[kind](out)


def _no_control(text: str) -> None:
    assert [char for char in set(text) - {"\n", "\f"} if not char.isprintable()] == []


def _pdf(out: Path) -> None:
    if not shutil.which("pdftotext"):
        pytest.skip("needs pdftotext (poppler)")
    assert faults(out) == []
    done = subprocess.run(["pdftotext", str(out), "-"], check=True, capture_output=True, text=True)
    _no_control(done.stdout)
    assert any(word in done.stdout for word in ("<b>bold", "=cmd", "%s %d", "@SUM", "{{7*7}}"))


def _svg(out: Path) -> None:
    tree = ElementTree.parse(out)
    assert not any("script" in element.tag for element in tree.iter())
    texts = [element.text or "" for element in tree.iter() if element.tag.endswith("text")]
    assert any("<b>bold" in text for text in texts)
    _no_control("".join(texts))


def _csv(out: Path) -> None:
    text = out.read_text(encoding="utf-8-sig")
    _no_control(text.replace("\r\n", "\n"))
    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    assert cells
    assert not [cell for cell in cells if cell.startswith(tuple("=+-@|%"))]


def _xlsx(out: Path) -> None:
    from openpyxl import load_workbook

    cells = [cell for row in load_workbook(out).active.iter_rows() for cell in row]
    assert cells
    assert "f" not in {cell.data_type for cell in cells}, "no formula"
    _no_control("".join(str(cell.value) for cell in cells))


def _html(out: Path) -> None:
    page = out.read_text(encoding="utf-8")
    _no_control(page)
    assert page.count("<script") == 1, "the page's own"
    assert "<b>bold" not in page
    assert "&lt;b&gt;bold" in page
