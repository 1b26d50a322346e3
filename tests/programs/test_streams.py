"""What `wetside` does when nobody reads on, or when the terminal knows few characters."""

import subprocess
from importlib import metadata
from pathlib import Path

import pytest

from tests.programs.conftest import SCRIPT, Run


def test_a_reader_that_has_gone_is_one_plain_line(folder: Path):
    process = subprocess.Popen(
        [str(SCRIPT), "kinds", "--json"], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    said = process.stderr.read()
    process.stderr.close()
    assert process.wait(timeout=60) == 2
    assert said == b"wetside: whoever read standard output has gone; expected one that takes all.\n"


@pytest.mark.parametrize("words", [("kinds", "--json"), ("--help",), ("--version",)])
@pytest.mark.parametrize(("to", "says"), [(">/dev/full", "is full"), (">&-", "is closed")])
def test_a_full_or_closed_standard_output_is_one_plain_line(folder: Path, words, to: str, says: str):
    done = subprocess.run(
        ["sh", "-c", f'"$0" "$@" {to}', str(SCRIPT), *words], cwd=folder, capture_output=True, timeout=60
    )
    assert done.returncode == 2
    assert done.stderr.count(b"\n") == 1
    assert says in done.stderr.decode()


def test_the_version_is_told(wetside: Run):
    done = wetside("--version")
    assert (done.returncode, done.stdout) == (0, f"wetside {metadata.version('wetside')}\n")


def test_a_terminal_with_few_characters_gets_escapes(wetside: Run):
    done = wetside("solve", "potting_shed.plant.json", PYTHONIOENCODING="ascii")
    assert done.returncode == 0
    assert done.stderr == ""
    assert done.stdout.isascii()
