"""Which words `wetside` takes, and what it says to the others."""

from pathlib import Path

import pytest

from app.main import COMMANDS, NOT_BUILT, USAGE
from tests.programs.conftest import Run


def test_help_tells_the_commands(wetside: Run):
    done = wetside("--help")
    assert (done.returncode, done.stdout, done.stderr) == (0, USAGE, "")


@pytest.mark.parametrize("command", ["kinds", "check-file", "solve", "print"])
def test_each_command_has_help(wetside: Run, command: str):
    done = wetside(command, "--help")
    assert (done.returncode, done.stderr) == (0, "")
    assert f"wetside {command}" in done.stdout


@pytest.mark.parametrize("command", NOT_BUILT)
def test_what_is_not_built_says_so_in_one_line(wetside: Run, command: str):
    done = wetside(command, "kennel_clinic.plant.json", "--json")
    assert (done.returncode, done.stdout) == (2, "")
    built = ", ".join(COMMANDS)
    assert done.stderr == f"wetside: `wetside {command}` is not built yet; built so far: {built}.\n"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["slove", "x"], "found 'slove'; expected {plant}. Did you mean `solve`?"),
        (["qqq"], "found 'qqq'; expected {plant}. Try `wetside --help`."),
        (["x\n\u202e"], "found 'x\\n\\u202e'; expected {plant}. Try `wetside --help`."),
        (
            ["potting_shed"],
            "found 'potting_shed'; expected {plant}. Did you mean `potting_shed.plant.json`?",
        ),
        (
            ["drawings"],
            "drawings: found a folder; expected {plant}. Did you mean `drawings/hut.plant.json`?",
        ),
        (["--fast"], "found option --fast; expected {plant}. Try `wetside --help`."),
        (
            ["potting_shed.plant.json", "--json"],
            "found '--json' after potting_shed.plant.json; expected the file alone. Try {solve}.",
        ),
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_line(wetside: Run, folder: Path, words: list[str], said: str):
    (folder / "drawings").mkdir()
    (folder / "drawings" / "hut.plant.json").touch()
    done = wetside(*words)
    line = said.format(plant="a command or a plant file", solve="`wetside solve --help`")
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"wetside: {line}\n")


def test_a_window_without_file_and_display_says_what_it_needs(wetside: Run):
    done = wetside()
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("wetside: A window needs a display, and there is none here")
    assert done.stderr.count("\n") == 1
