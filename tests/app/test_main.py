"""The dispatcher's promises that no command can break: no traceback, no noise at a closed pipe."""

from pathlib import Path

import pytest

from app import crash, main
from core.errors import Refusal


def failing(error: BaseException):
    def dispatch(words: list[str]) -> int:
        raise error

    return dispatch


def test_an_unforeseen_error_is_one_line_and_the_details_are_kept(monkeypatch, capsys, tmp_path: Path):
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    monkeypatch.setattr(main, "dispatch", failing(KeyError("L-1")))
    assert main.main(["solve"]) == 2
    out, err = capsys.readouterr()
    (details,) = (tmp_path / "wetside").glob("crash-*.txt")
    line = "wetside: the program failed in a way it did not foresee (KeyError: 'L-1')."
    assert (out, err) == ("", f"{line} The details are in {details}\n")
    report = details.read_text(encoding="utf-8")
    assert "Traceback" in report
    assert "PySide6_Essentials: " in report
    assert "numpy: " in report
    assert "fault: KeyError" in (tmp_path / "wetside" / "log.txt").read_text(encoding="utf-8")


def test_a_crash_report_goes_to_the_temporary_folder_where_there_is_no_other(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    there = tmp_path / "there"
    there.mkdir()
    (tmp_path / "file").write_text("", encoding="utf-8")
    monkeypatch.setattr("tempfile.tempdir", str(there))
    file = crash.report(ValueError("no"), tmp_path / "file" / "below")
    assert Path(file).parent == there


def test_the_log_stays_small(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(crash, "MOST", 100)
    for number in range(20):
        crash.note(f"line {number}", tmp_path)
    assert (tmp_path / "log.txt").stat().st_size < 200
    assert (tmp_path / "log.old.txt").exists()


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
