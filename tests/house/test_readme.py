"""README.md and .ci/run promise what is really there."""

import re
import shlex
from pathlib import Path

from app import main, preflight

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
FIRST = (
    "python3 -m venv .venv && .venv/bin/pip install -q . && "
    ".venv/bin/wetside sample_plants/kennel_clinic.plant.json"
)
SECOND = (
    "python3 -m venv .venv && .venv/bin/pip install -q -e '.[test]' && "
    ".venv/bin/pytest -n auto --dist loadfile"
)


def code_lines() -> list[str]:
    return [line for block in re.findall(r"```\n(.*?)```", README, re.DOTALL) for line in block.splitlines()]


def test_the_two_commands_stand_there_on_one_line_each():
    assert [line for line in code_lines() if line.startswith("python3")] == [FIRST, SECOND]


def test_every_file_and_picture_named_exists():
    linked = re.findall(r"\]\(([^)#:]+)\)", README)
    typed = [word for line in code_lines() for word in shlex.split(line) if word.endswith(".json")]
    assert [name for name in linked + typed if not (ROOT / name).exists()] == []
    assert linked
    assert typed


def test_every_command_named_is_built():
    named = [line.split()[1] for line in code_lines() if line.startswith("wetside ")]
    assert len(named) >= 5
    assert [word for word in named if word not in (*main.COMMANDS, "COMMAND", "FILE")] == []


def test_the_check_script_installs_every_package_the_program_would_ask_for():
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8").split()
    asked = {*preflight.DRAWING.values(), *preflight.X_WINDOW.values()}
    assert sorted(asked - {word.strip("()") for word in script}) == []
