"""The real `wetside`, run as a person would: as its own process, in a folder with spaces and accents."""

import os
import shutil
import subprocess
import sysconfig
from collections.abc import Callable
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SCRIPT = Path(sysconfig.get_path("scripts")) / "wetside"
Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with copies of the sample plants in it."""
    place = tmp_path / "Mécanique, Übergabe & ¼ Zoll"
    place.mkdir()
    for plant in (ROOT / "sample_plants").glob("*.plant.json"):
        shutil.copy(plant, place)
    return place


@pytest.fixture
def wetside(folder: Path) -> Run:
    """Run `wetside WORDS…` in the folder without a display; `env` adds variables."""

    def run(*words: str, **env: str) -> subprocess.CompletedProcess[str]:
        hidden = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
        environment = {name: value for name, value in os.environ.items() if name not in hidden} | env
        return subprocess.run(
            [str(SCRIPT), *words],
            cwd=folder,
            env=environment,
            capture_output=True,
            encoding="utf-8",
            stdin=subprocess.DEVNULL,
            timeout=60,
            check=False,
        )

    return run
