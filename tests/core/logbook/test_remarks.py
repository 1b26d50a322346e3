"""Remarks: kept in the file, taken as text at their place, shown on the page that is sent round."""

from __future__ import annotations

import json

import pytest

from core.commands import main
from core.errors import Refusal
from core.files import read
from core.files.write import dumps
from core.logbook.remarks import from_csv, remarks, taken
from core.plant.changes import apply
from core.plant.edits import rename
from tests.plants.edits import SAMPLES

SHED = SAMPLES / "potting_shed.plant.json"
TEXT = "at,text,by\nP-1,Why here?,a neighbor\n"


def test_they_are_kept_in_the_file_and_follow_a_renamed_tag():
    plant = read.load(str(SHED))
    plant = apply(plant, [taken(plant, from_csv(TEXT))])
    again = read.from_data(json.loads(dumps(plant)))
    assert remarks(again) == remarks(plant)
    moved = apply(again, rename(again, "P-1", "P-9"))
    assert [one.at for one in remarks(moved)] == ["P-9"]


@pytest.mark.parametrize(
    ("text", "place"), [("", "line 1"), ("at,words\n", "line 1"), ("at,text\nP-1,\n", "line 2")]
)
def test_text_that_is_no_list_of_remarks_is_refused_at_its_line(text, place):
    with pytest.raises(Refusal) as refused:
        from_csv(text)
    assert refused.value.path == place


def test_a_remark_on_what_is_not_there_is_refused():
    with pytest.raises(Refusal):
        taken(read.load(str(SHED)), from_csv("at,text\nQ-99,Why?\n"))


def test_the_command_takes_and_shows_them(tmp_path, capsys):
    text, new = tmp_path / "remarks.csv", tmp_path / "new.plant.json"
    text.write_text(TEXT)
    assert main(["remarks", str(SHED), "--take", str(text), "-o", str(new)]) == 0
    assert main(["remarks", str(SHED)]) == 0
    capsys.readouterr()
    assert main(["remarks", str(new), "--json"]) == 1
    (one,) = json.loads(capsys.readouterr().out)["remarks"]
    assert (one["at"], one["number"], one["answer"]) == ("P-1", 1, None)
