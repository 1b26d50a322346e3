"""`wetside print`: files of each format, and one plain line for everything else."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import pytest
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from app.paper import print_plant
from app.paper.command import run
from core.diagram.runs import run_tags
from core.errors import Refusal
from core.files.read import load
from core.vocabulary import Trait
from tests.core.diagram.demo import demo_plant, demo_solution

SHED = Path(__file__).parents[3] / "sample_plants" / "potting_shed.plant.json"
needs_poppler = pytest.mark.skipif(
    not shutil.which("pdftotext"), reason="needs pdftotext and pdffonts (poppler)"
)


def _tool(*words: str) -> str:
    return subprocess.run(words, check=True, capture_output=True, text=True).stdout


@needs_poppler
def test_pdf_text_stays_text(qapp: QApplication, tmp_path: Path) -> None:
    plant = demo_plant()
    out = tmp_path / "Ünder a roof.pdf"
    assert print_plant(plant, demo_solution(), out, "a3", date="1 Jan 2030") == [out]
    words = set(_tool("pdftotext", "-layout", str(out), "-").split())
    tags = {item.id for item in plant.items.values() if not item.has(Trait.JOINS)}
    assert tags | set(run_tags(plant).values()) <= words
    assert {"Demonstration", "CAUTION", "LEGEND", "scalds;", "licensed"} <= words
    assert not re.search("[ﬀ-ﬆ]", " ".join(words)), "no ligatures"
    info = _tool("pdfinfo", str(out))
    assert "1190.55 x 841.89" in info or "1191 x 842" in info
    assert not [line for line in _tool("pdfimages", "-list", str(out)).splitlines()[2:] if line], (
        "vector only"
    )


@needs_poppler
def test_each_sheet_size_is_a_page_of_that_size(qapp: QApplication, tmp_path: Path) -> None:
    for name, size in (("tabloid", "1224 x 792"), ("letter", "792 x 612"), ("a4", "842 x 595")):
        out = tmp_path / f"{name}.pdf"
        print_plant(demo_plant(), demo_solution(), out, name)
        found = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", _tool("pdfinfo", str(out)))
        assert found
        assert f"{float(found[1]):.0f} x {float(found[2]):.0f}" == size


def test_svg_is_whole_has_text_and_escapes_what_was_typed(qapp: QApplication, tmp_path: Path) -> None:
    from dataclasses import replace

    plant = replace(demo_plant(), title='Beds & <barns> "A"')
    files = print_plant(plant, demo_solution(), tmp_path / "out.svg", "a3")
    assert len(files) > 1
    assert files[1].name == "out-2.svg"
    root = ElementTree.fromstring(files[0].read_bytes())
    assert (root.get("width"), root.get("height")) == ("420mm", "297mm")
    texts = {"".join(e.itertext()).strip() for e in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"P-1", "HX-1", "CAUTION", 'Beds & <barns> "A"'} <= texts


def test_png_is_a_picture_of_the_sheet(qapp: QApplication, tmp_path: Path) -> None:
    out = tmp_path / "out.png"
    print_plant(demo_plant(), demo_solution(), out, "a3")
    image = QImage(str(out))
    assert image.width() / image.height() == pytest.approx(420 / 297, abs=1e-3)
    assert image.pixelColor(2, 2).name() == "#ffffff"


def test_print_keeps_the_old_file_where_it_fails(qapp: QApplication, tmp_path: Path) -> None:
    out = tmp_path / "old.pdf"
    out.write_bytes(b"old")
    with pytest.raises(Refusal):
        print_plant(demo_plant(), demo_solution(), out, "b17")
    assert out.read_bytes() == b"old"
    print_plant(demo_plant(), demo_solution(), out)
    assert out.read_bytes().startswith(b"%PDF")
    assert [path.name for path in tmp_path.iterdir()] == ["old.pdf"], "nothing is left beside it"


def test_command_prints_a_file(
    qapp: QApplication, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "shed.pdf"
    assert run([str(SHED), "-o", str(out)]) == 0
    assert capsys.readouterr().out == f"{out}\n"
    assert out.read_bytes().startswith(b"%PDF")
    name = load(SHED).solve_cases[-1].name
    assert (
        run([str(SHED), "-o", str(tmp_path / "last.svg"), "--case", name, "--sheet", "A2", "--units", "si"])
        == 0
    )
    assert name in (tmp_path / "last.svg").read_text(encoding="utf-8")


def test_cases_stand_side_by_side_when_asked(
    qapp: QApplication, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([str(SHED), "-o", str(tmp_path / "all.svg"), "--all-cases"]) == 0
    text = "".join(path.read_text() for path in tmp_path.glob("all*.svg"))
    assert "FOUND IN EACH CASE" in text
    assert all(case.name in text for case in load(SHED).solve_cases)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["-o", "out.docx"], "ending in .pdf, .svg, .png"),
        (["-o", "x.plant.json"], "never overwritten"),
        (["-o", "no/such/out.pdf"], "folder that exists"),
        (["-o", "out.pdf", "--sheet", "b17"], "one of a4, a3"),
        (["-o", "out.pdf", "--case", "Monsoon"], "expected one of "),
        (["-o", "out.pdf", "--colour"], "unrecognized arguments"),
        ([], "required"),
    ],
)
def test_refusals_are_one_plain_line(
    qapp: QApplication,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    words: list[str],
    says: str,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run([str(SHED), *words]) == 2
    streams = capsys.readouterr()
    assert streams.out == ""
    assert streams.err.count("\n") == 1
    assert says in streams.err
    assert list(tmp_path.iterdir()) == []


def test_a_spoiled_plant_is_refused_with_its_place(
    qapp: QApplication, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data = json.loads(SHED.read_text(encoding="utf-8"))
    data["items"][0]["kind"] = "boyler"
    bad = tmp_path / "bad.plant.json"
    bad.write_text(json.dumps(data), encoding="utf-8")
    assert run([str(bad), "-o", str(tmp_path / "out.pdf")]) == 2
    assert "items[0].kind" in capsys.readouterr().err
    assert not (tmp_path / "out.pdf").exists()


def test_a_link_to_the_plant_is_not_overwritten(
    qapp: QApplication, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plant = tmp_path / "my.plant.json"
    plant.write_bytes(SHED.read_bytes())
    link = tmp_path / "out.pdf"
    link.symlink_to(plant)
    assert run([str(plant), "-o", str(link)]) == 2
    assert "never overwritten" in capsys.readouterr().err
    assert plant.read_bytes() == SHED.read_bytes()


def test_a_further_sheet_takes_no_file_s_place_that_nobody_named(
    qapp: QApplication, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = tmp_path / "plan-2.svg"
    kept.write_text("mine", encoding="utf-8")
    with pytest.raises(Refusal, match=r"plan-2\.svg already there"):
        print_plant(demo_plant(), demo_solution(), tmp_path / "plan.svg")
    assert [one.name for one in tmp_path.iterdir()] == ["plan-2.svg"]
    assert kept.read_text(encoding="utf-8") == "mine"


def test_a_link_that_was_named_stays_a_link(qapp: QApplication, tmp_path: Path) -> None:
    real, link = tmp_path / "real.pdf", tmp_path / "out.pdf"
    real.write_bytes(b"old")
    link.symlink_to(real)
    print_plant(demo_plant(), demo_solution(), link)
    assert link.is_symlink()
    assert real.read_bytes().startswith(b"%PDF")


def test_a_name_too_long_is_refused_in_one_line(
    qapp: QApplication, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run([str(SHED), "-o", str(tmp_path / ("x" * 300 + ".pdf"))]) == 2
    said = capsys.readouterr().err
    assert "the name is too long" in said
    assert said.count("\n") == 1
