"""What the program answers for a few samples, as data: does a fault that no test sees change an answer?"""

from __future__ import annotations

import contextlib
import io
import json
import sys
from typing import Any

from core.commands import main as command
from tests.plants.edits import SAMPLES

PLANTS = ("potting_shed", "kennel_clinic", "bakery_loft")
COMMANDS = (("solve", "--all-cases"), ("size",), ("call-sheet",))


def answers() -> dict[str, Any]:
    """Answers by command and plant; what ended in a traceback is that."""
    found: dict[str, Any] = {}
    for plant in PLANTS:
        for name, *more in COMMANDS:
            told = io.StringIO()
            with contextlib.redirect_stdout(told), contextlib.redirect_stderr(io.StringIO()):
                try:
                    command([name, str(SAMPLES / f"{plant}.plant.json"), *more, "--json"])
                    found[f"{name} {plant}"] = json.loads(told.getvalue())
                except Exception as error:
                    found[f"{name} {plant}"] = type(error).__name__
    return found


if __name__ == "__main__":
    json.dump(answers(), sys.stdout)
