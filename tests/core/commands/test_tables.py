"""The commands that print the table of kinds and check a file."""

import json

import pytest

from core import commands
from core.errors import WetsideError
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
