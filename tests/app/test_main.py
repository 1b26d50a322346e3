"""The dispatcher's promises that no command can break: no traceback, no noise at a closed pipe."""

from pathlib import Path

import pytest

from app import main
from core.errors import Refusal


def failing(error: BaseException):
    def dispatch(words: list[str]) -> int:
        raise error

    return dispatch


def test_an_unforeseen_error_is_one_line_and_the_details_are_kept(monkeypatch, capsys, tmp_path: Path):
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setattr(main, "dispatch", failing(KeyError("L-1")))
    assert main.main(["solve"]) == 2
    out, err = capsys.readouterr()
    (details,) = tmp_path.glob("wetside-*.txt")
    line = "wetside: the program failed in a way it did not foresee (KeyError: 'L-1')."
    assert (out, err) == ("", f"{line} The details are in {details}\n")
    assert "Traceback" in details.read_text(encoding="utf-8")


def test_a_refusal_is_its_own_line(monkeypatch, capsys):
    refusal = Refusal("items[0].at", "[1]", "two numbers", file="shed.plant.json")
    monkeypatch.setattr(main, "dispatch", failing(refusal))
    assert main.main(["solve"]) == 2
    assert capsys.readouterr().err == f"{refusal}\n"


@pytest.mark.parametrize(("error", "code"), [(KeyboardInterrupt(), 130)])
def test_an_interrupt_is_quiet(monkeypatch, capsys, error: BaseException, code: int):
    monkeypatch.setattr(main, "dispatch", failing(error))
    assert main.main([]) == code
    assert capsys.readouterr() == ("", "")


def test_no_word_is_both_built_and_to_come():
    assert not set(main.COMMANDS) & set(main.NOT_BUILT)
    for command in main.COMMANDS:
        assert f"wetside {command} " in main.USAGE
