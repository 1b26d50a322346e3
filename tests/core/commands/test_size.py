"""`wetside size`: one sentence an answer, tables, workings told once, JSON, exit codes."""

import json

import pytest

from core.commands.size import run
from core.errors import Refusal
from tests.plants.edits import SAMPLES

SHED = str(SAMPLES / "potting_shed.plant.json")


def test_every_answer_is_a_sentence_under_its_heading(capsys):
    assert run([SHED]) in (0, 1)
    out = capsys.readouterr().out
    for heading in ("DESIGN FLOW", "TUBE", "CIRCULATOR", "SUCTION PRESSURE", "BALANCE VALVE"):
        assert f"\n{heading}\n" in out
    assert "invented curve, not a product" in out
    assert "local code" in out
    assert "L-1, L-2, L-3" in out  # pipes that say the same are told together


def test_ids_restrict_and_show_the_table(capsys):
    assert run([SHED, "L-1"]) == 0
    out = capsys.readouterr().out
    assert "DESIGN FLOW" not in out
    assert "    →  1/2 in Type L copper" in out
    assert "    –  3/8 in Type L copper" in out
    sentences = [line for line in out.splitlines() if not line.startswith(" ")]
    assert max(map(len, sentences)) <= 110


def test_the_working_ends_at_what_was_typed_and_tells_no_branch_twice(capsys):
    assert run([SHED, "L-1", "--working"]) == 0
    out = capsys.readouterr().out
    assert "load of FC-1: Φ = 4.6 kBtu/h (typed 4.6 kBtu/h)" in out
    assert "as above" in out
    assert out.count("Re = ρ · v · d / μ") == 1


def test_json_is_si_with_options_props_and_working(capsys):
    run([SHED, "L-1", "P-1", "--json"])
    sized = json.loads(capsys.readouterr().out)["sized"]
    assert {one["at"] for one in sized} == {"L-1", "P-1"}
    tube = next(one for one in sized if one["what"] == "tube")
    assert set(tube) >= {"at", "what", "value", "unit", "options", "working"}
    assert tube["value"] == pytest.approx(0.545 * 0.0254, rel=1e-3)
    chosen = next(option for option in tube["options"] if option["name"] == tube["chosen"])
    assert chosen["props"] == {"tube": {"material": "copper_l", "size": "1/2 in"}}
    assert chosen["velocity_m_s"] == pytest.approx(tube["working"]["inputs"][0]["inputs"][4]["value"])
    head = next(one for one in sized if one["what"] == "circulator")
    assert head["unit"] == "m"
    assert head["working"]["inputs"]


def test_an_unknown_id_is_refused_with_the_nearest():
    with pytest.raises(Refusal) as refused:
        run([SHED, "L-100"])
    assert "nearest is L-1" in str(refused.value)


def test_what_lacks_something_asks_for_attention(tmp_path, capsys):
    data = json.loads((SAMPLES / "potting_shed.plant.json").read_text(encoding="utf-8"))
    circuit = next(item for item in data["items"] if item["id"] == "FC-2")
    for key in ("load", "serves", "output_per_degree", "area"):
        circuit["props"].pop(key)
    file = tmp_path / "schuppen ä.plant.json"
    file.write_text(json.dumps(data), encoding="utf-8")
    assert run([str(file), "FC-2", "L-1"]) == 1
    out = capsys.readouterr().out
    assert "FC-2: props.load is not given, so its design flow cannot be found" in out
    assert "L-1: " in out
