"""`wetside call-sheet`: text no wider than a page, JSON that is plain SI, exit codes."""

import json
import re

import pytest

from core.commands.call_sheet import run
from core.errors import Refusal
from tests.plants.edits import SAMPLES
from tests.support.calling import two_zones


@pytest.fixture
def zones(tmp_path):
    def write(board):
        file = tmp_path / "Zwei Kreise ä.plant.json"
        file.write_text(json.dumps(board.data()), encoding="utf-8")
        return str(file)

    return write


def test_text_names_who_runs_the_worst_and_the_outlets(zones, capsys):
    assert run([zones(two_zones())]) == 0
    out = capsys.readouterr().out
    assert re.search(r"^P-2 +circulator +TH-2 +AQ-9$", out, re.M)
    assert "most heat at once" in out
    assert "OU-1: carries 2.5 A, within 80 % of its 15 A (12.0 A)" in out
    assert "    P-2 through AQ-9, OU-2: 1.0 A" in out
    assert "licensed electrician" in out
    assert max(map(len, out.splitlines())) <= 110


def test_no_line_is_wider_than_a_page(capsys):
    assert run([str(SAMPLES / "school_annex.plant.json"), "--case", "Mild day"]) == 0
    out = capsys.readouterr().out
    assert "all else as in Mild day" in out
    assert max(map(len, out.splitlines())) <= 120


def test_an_overloaded_outlet_asks_for_attention(zones, capsys):
    board = two_zones()
    board.items["OU-2"]["props"]["rating"] = "1 A"
    assert run([zones(board)]) == 1
    assert "OU-2: carries 1.0 A, more than 80 % of its 1 A (0.8 A)" in capsys.readouterr().out


def test_json_is_the_same_in_si(zones, capsys):
    assert run([zones(two_zones()), "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert [row["case"] for row in data["combinations"]] == ["none", "TH-1", "TH-2", "TH-1 + TH-2"]
    both = data["combinations"][3]
    assert both["heat_w"] == pytest.approx(15e3, rel=1e-6)
    assert both["outlets"]["OU-1"]["amps_a"] == pytest.approx(2.5)
    assert data["energy"]["year"]["heat"]["B-1"]["value_j"] == pytest.approx(33e6 * 3.6e3, rel=1e-6)
    assert data["one_fewer"] == []


def test_an_unknown_case_is_refused_with_the_known_ones(zones):
    with pytest.raises(Refusal, match="one of Design, Mild"):
        run([zones(two_zones()), "--case", "Midl"])
