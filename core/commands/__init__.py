"""Commands without a window: arguments in, text or JSON out, exit code back. Each module has `run`."""

from __future__ import annotations

import importlib
from collections.abc import Sequence

_MODULES = {"kinds": "kinds", "check-file": "check_file", "solve": "solve"}


def main(argv: Sequence[str]) -> int | None:
    """Run a command by its first word; None where it is not one of ours."""
    if not argv or argv[0] not in _MODULES:
        return None
    module = importlib.import_module(f"core.commands.{_MODULES[argv[0]]}")
    return int(module.run(list(argv[1:])))
