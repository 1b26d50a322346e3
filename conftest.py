"""Before any test or doctest: no screen, and one plain line where Qt's libraries are missing."""

import os

import pytest

from app.preflight import picture_trouble

os.environ["QT_QPA_PLATFORM"] = "offscreen"


@pytest.hookimpl(tryfirst=True)
def pytest_configure() -> None:
    """Comes before the Qt plugin's own hook, which imports Qt and would end in a loader's message."""
    if trouble := picture_trouble():
        raise pytest.UsageError(trouble)
