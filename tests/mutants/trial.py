"""Tries faults in a copy of the checkout: a fault dies when a test fails, and survives when all pass."""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import cached_property
from pathlib import Path
from typing import Any

from tests.mutants.faults import Fault, faults, spoiled
from tests.tools.compare_answers import differences

ROOT = Path(__file__).parents[2]
COPIED = ("app", "core", "icons", "sample_plants", "tests", "pyproject.toml", "README.md")
OTHER = 1e-4  # of the largest figure of its key, by which an answer is another one
PATIENCE = 4.0  # times the sound run, after which a fault counts as dead: it never ends


class NotSound(Exception):
    """The tests fail without any fault; the text is what they printed."""


def modules(package: str) -> list[Path]:
    """The modules of a package, or the one module."""
    place = ROOT / package.replace(".", "/")
    return sorted(place.rglob("*.py")) if place.is_dir() else [place.with_suffix(".py")]


def sample(package: str, count: int, seed: int) -> list[Fault]:
    """A seeded sample of the faults that a package can be given."""
    every = [
        fault
        for path in modules(package)
        for fault in faults(str(path.relative_to(ROOT)), path.read_text(encoding="utf-8"))
    ]
    return sorted(random.Random(seed).sample(every, min(count, len(every))), key=str)


class Trial:
    """A copy of the checkout and the tests to run there.

    Parameters
    ----------
    copy : Path
    tests : sequence of str
        Folders and files, as pytest takes them
    """

    def __init__(self, copy: Path, tests: Sequence[str]) -> None:
        self.copy, self.tests = copy, [name for name in tests if (copy / name).exists()]
        begun = time.monotonic()
        code, said = self._run(3600.0)
        if code:
            raise NotSound(said)
        self.longest = 30.0 + PATIENCE * (time.monotonic() - begun)

    def _run(self, longest: float) -> tuple[int, str]:
        words = ["-m", "pytest", "-x", "-q", "-p", "no:xdist", "-p", "no:cacheprovider", *self.tests]
        clean = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(self.copy)}
        try:
            ran = subprocess.run(
                [sys.executable, *words], cwd=self.copy, env=clean,
                capture_output=True, text=True, check=False, timeout=longest,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            return 1, "the tests did not end"
        return ran.returncode, ran.stdout + ran.stderr

    @contextmanager
    def _faulty(self, fault: Fault) -> Iterator[None]:
        place = self.copy / fault.module
        sound = place.read_text(encoding="utf-8")
        place.write_text(spoiled(sound, fault), encoding="utf-8")
        try:
            yield
        finally:
            place.write_text(sound, encoding="utf-8")

    def survives(self, fault: Fault) -> bool:
        """Whether every test passes with the fault."""
        with self._faulty(fault):
            return self._run(self.longest)[0] == 0

    @cached_property
    def _sound(self) -> Any:
        return self._answers()

    def _answers(self) -> Any:
        clean = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1", "PYTHONPATH": str(self.copy)}
        words = [sys.executable, "-m", "tests.mutants.answers"]
        try:
            ran = subprocess.run(
                words, cwd=self.copy, env=clean,
                capture_output=True, text=True, check=False, timeout=self.longest,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            return None
        return json.loads(ran.stdout) if ran.returncode == 0 else None

    def changes_an_answer(self, fault: Fault) -> bool:
        """Whether a sample's figure or verdict becomes another one (words and working aside)."""
        sound = self._sound
        with self._faulty(fault):
            faulty = self._answers()
        return faulty is None or any(
            one.size > OTHER
            for key, answer in sound.items()
            for one in differences(key, "", answer, faulty[key], words=False)
        )


@contextmanager
def trial(tests: Sequence[str]) -> Iterator[Trial]:
    """A trial in a folder that is gone afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "wetside"
        copy.mkdir()
        ignored = shutil.ignore_patterns("__pycache__", ".*")
        for name in COPIED:
            if (ROOT / name).is_dir():
                shutil.copytree(ROOT / name, copy / name, ignore=ignored)
            else:
                shutil.copy(ROOT / name, copy / name)
        yield Trial(copy, tests)
