"""Which words `wetside` takes, and what it says to the others."""

import pytest

from app.main import NOT_BUILT, USAGE
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
    expected = (
        f"wetside: `wetside {command}` is not built yet; built so far: kinds, check-file, solve, print.\n"
    )
    assert done.stderr == expected


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (
            ("slove", "x"),
            "wetside: found 'slove'; expected a command or a plant file. Did you mean `solve`?\n",
        ),
        (("qqq",), "wetside: found 'qqq'; expected a command or a plant file. Try `wetside --help`.\n"),
        (
            ("--fast",),
            "wetside: found option --fast; expected a command or a plant file. Try `wetside --help`.\n",
        ),
        (
            ("no such.plant.json",),
            "wetside: no such.plant.json: found no such file; expected a plant file.\n",
        ),
        (
            ("kennel_clinic.plant.json", "--json"),
            "wetside: found '--json' after kennel_clinic.plant.json; expected the file alone. "
            "Try `wetside solve --help`.\n",
        ),
    ],
)
def test_what_cannot_be_meant_is_refused_in_one_line(wetside: Run, words: tuple[str, ...], line: str):
    done = wetside(*words)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", line)


def test_a_window_without_file_and_display_says_what_it_needs(wetside: Run):
    done = wetside()
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("wetside: A window needs a display, and there is none here")
    assert done.stderr.count("\n") == 1
