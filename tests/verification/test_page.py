"""README.md promises no other checks and deviations than those that the tests find."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.verification.checks import Agrees, Check
from tests.verification.page import between, page

ROOT = Path(__file__).parents[2]


def test_readme_has_the_summary_of_the_page(tmp_path: Path) -> None:
    """Where this fails after a change that is meant: `python -m tests.verification --readme`."""
    out = tmp_path / "page.md"
    words = [sys.executable, "-m", "tests.verification", "-o", str(out)]
    clean = {key: value for key, value in os.environ.items() if not key.startswith("PYTEST")}
    ran = subprocess.run(words, cwd=ROOT, env=clean, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert between((ROOT / "README.md").read_text(encoding="utf-8"))[1] == ran.stdout
    text = out.read_text(encoding="utf-8")
    assert text.count("\n## ") == len(ran.stdout.splitlines()) - 2
    assert "| allowed |" in text


def test_a_deviation_beyond_what_is_allowed_fails_and_is_kept() -> None:
    kept: list[Check] = []
    agrees = Agrees("Trial", "here", kept)
    agrees("a share", [1.0, 2.002], [1.0, 2.0], "m", source="nobody", rel=2e-3)
    agrees("a temperature", 212.9, 212.0, "degF", source="nobody", within=1.0)
    for far in ({"rel": 9e-4}, {"within": 1.9e-3}):
        with pytest.raises(AssertionError):
            agrees("too far", [1.0, 2.002], [1.0, 2.0], "m", source="nobody", **far)
    with pytest.raises(AssertionError):
        agrees("no number", [float("nan"), 2.0], [1.0, 2.0], source="nobody", rel=0.5)
    assert [round(check.deviation, 9) for check in kept[:2]] == [0.001, 0.5]
    assert kept[0].points == 2
    assert len(kept) == 5
    assert "0.1 %" in page(kept[:2])
    assert "0.5 K" in page(kept[:2])
