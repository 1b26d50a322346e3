"""What `wetside` does when nobody reads on, or when the terminal knows few characters."""

import subprocess
from pathlib import Path

from tests.programs.conftest import SCRIPT, Run


def test_a_reader_that_has_gone_is_no_error(folder: Path):
    """`wetside kinds | head -1` says nothing of pipes."""
    process = subprocess.Popen(
        [str(SCRIPT), "kinds", "--json"], cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.close()
    said = process.stderr.read()
    process.stderr.close()
    assert (said, process.wait(timeout=60)) == (b"", 141)


def test_a_terminal_with_few_characters_gets_escapes(wetside: Run):
    done = wetside("solve", "potting_shed.plant.json", PYTHONIOENCODING="ascii")
    assert done.returncode == 0
    assert done.stderr == ""
    assert done.stdout.isascii()
