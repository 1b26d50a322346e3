"""The commands that print the table of kinds and check a file."""

import json

import pytest

from core import commands
from core.errors import WetsideError
from core.files.migrate.from_1 import CHANGED
from core.files.save import save
from core.plant.model import Plant
from core.vocabulary import KINDS


def test_kinds_as_text_names_every_kind_port_and_property(capsys):
    assert commands.main(["kinds"]) == 0
    text = capsys.readouterr().out
    for kind in KINDS.values():
        assert f"\n{kind.name} (" in text
        assert kind.help in " ".join(text.split())
        for name in (*kind.ports, *kind.properties):
            assert name in text
    for words in ("default 0.2", "0.5 mm to 2 m", "copper_l", "elbow_90", "delta_degF", "or unknown"):
        assert words in text
    assert max(map(len, text.splitlines())) <= 112


def test_kinds_as_data(capsys):
    assert commands.main(["kinds", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert set(data["kinds"]) == set(KINDS)
    size = data["kinds"]["shutoff"]["properties"]["size"]
    assert (size["dimension"], size["range"]) == ("length", ["0.5 mm", "2 m"])
    assert data["kinds"]["circulator"]["properties"]["min_speed"]["default"] == 0.2
    assert data["kinds"]["exchanger"]["ports"] == ["a_in", "a_out", "b_in", "b_out"]
    for kind in data["kinds"].values():
        assert all(prop["meaning"] for prop in kind["properties"].values())


def test_a_good_file_is_counted_in_one_line(tmp_path, capsys):
    path = tmp_path / "shed.plant.json"
    save(Plant(title="Sh\u202eed"), path)
    assert commands.main(["check-file", str(path)]) == 0
    line = capsys.readouterr().out
    assert line == f'{path}: "Sh\\u202eed", version 2: 0 items, 0 pipes, 0 systems, 0 cases\n'


@pytest.mark.parametrize(
    "words", [["check-file"], ["check-file", "a", "b"], ["kinds", "--jso"], ["kinds", "x"]]
)
def test_wrong_words_are_refused_in_one_line(words):
    with pytest.raises(WetsideError) as caught:
        commands.main(words)
    assert str(caught.value).isprintable()
    assert "wetside" in str(caught.value)


def test_other_words_are_not_ours():
    assert commands.main(["print"]) is None
    assert commands.main([]) is None


@pytest.mark.parametrize(
    ("command", "option", "ending"), [("simulate", "--csv", "csv"), ("handbook", "-o", "html")]
)
def test_no_output_is_written_through_a_link_to_a_plant_file(tmp_path, command, option, ending):
    path = tmp_path / "a.plant.json"
    save(Plant(title="kept"), path)
    before = path.read_bytes()
    link = tmp_path / f"out.{ending}"
    link.symlink_to(path)
    with pytest.raises(WetsideError, match="never overwritten"):
        commands.main([command, str(path), option, str(link)])
    assert path.read_bytes() == before


def test_a_file_of_version_1_is_said_to_be_one_and_that_meanings_changed(tmp_path, capsys):
    path = tmp_path / "a.plant.json"
    path.write_text('{"format": "wetside-plant", "version": 1}', encoding="utf-8")
    assert commands.main(["check-file", str(path)]) == 0
    told = capsys.readouterr().out
    assert "version 1: 0 items" in told
    assert " ".join(CHANGED.split()) in " ".join(told.split())
    assert commands.main(["tidy", str(path), "-o", str(tmp_path / "b.plant.json")]) == 0
    assert "figures may differ" in capsys.readouterr().out
    path.write_text('{"format": "wetside-plant", "version": 3}', encoding="utf-8")
    with pytest.raises(WetsideError, match="at most 2"):
        commands.main(["check-file", str(path)])
