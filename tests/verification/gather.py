"""Runs the tests that check against a source, and gathers what they compared."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

import pytest

from tests.verification.checks import Check

ROOT = Path(__file__).parents[2]
FIXTURE = "agrees"
KEPT: pytest.StashKey[list[Check]] = pytest.StashKey()


class Unsound(Exception):
    """A check did not hold, or its test did not run to its end; the text is what pytest said."""


class _Gather:
    def __init__(self) -> None:
        self.checks: list[Check] = []

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = [one for one in items if FIXTURE in getattr(one, "fixturenames", ())]

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        self.checks = session.config.stash.get(KEPT, [])


def files() -> list[Path]:
    """The test modules that ask for the fixture."""
    return sorted(
        path
        for path in (ROOT / "tests").rglob("test_*.py")
        if f"{FIXTURE}: Agrees" in path.read_text(encoding="utf-8")
    )


def gather() -> list[Check]:
    """All checks, in the order of the tests.

    Raises
    ------
    Unsound
        With what pytest printed.
    """
    gathered, said = _Gather(), io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        plain = ["-q", "-p", "no:xdist", "-p", "no:cacheprovider", "--rootdir", str(ROOT)]
        code = pytest.main([*plain, *map(str, files())], plugins=[gathered])
    if code:
        raise Unsound(said.getvalue())
    return gathered.checks
