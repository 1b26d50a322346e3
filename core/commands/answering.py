"""What commands that ask a plant questions have in common: progress, columns, JSON, lines that fit."""

from __future__ import annotations

import json
import sys
import textwrap
from collections.abc import Mapping, Sequence
from typing import Any

from core.errors import escaped

WIDTH = 110  # characters of a line


class Progress:
    """How much is done, on standard error where that is a terminal; `done` wipes the line."""

    def __init__(self, what: str) -> None:
        self.what = what
        self.shown = False

    def __call__(self, done: int, of: int) -> None:
        if sys.stderr.isatty():
            print(f"\r{done} of {of} {self.what}", end="", file=sys.stderr, flush=True)
            self.shown = True

    def done(self) -> None:
        """Wipe what was shown."""
        if self.shown:
            print("\r" + " " * (len(self.what) + 20) + "\r", end="", file=sys.stderr, flush=True)


def print_json(data: Mapping[str, Any]) -> None:
    """Plain data on standard output."""
    print(json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1))


def columns(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows as lines, each column as wide as its widest cell."""
    if not rows:
        return []
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [escaped("  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True)).rstrip()) for row in rows]


def headed(rows: Sequence[Sequence[str]]) -> list[str]:
    """A head and its rows as lines; nothing where there is a head alone."""
    return columns(rows) if len(rows) > 1 else []


def wrapped(text: str, indent: str = "", hang: str = "  ") -> list[str]:
    """A sentence in lines that fit, set in; those after the first set in by `hang` more."""
    further = indent + hang
    return textwrap.wrap(
        escaped(text), WIDTH, initial_indent=indent, subsequent_indent=further, break_on_hyphens=False
    ) or [""]


def hanging(text: str) -> list[str]:
    """A sentence in lines that fit, those after the first set in as rows of a table are."""
    return wrapped(text, hang="    ")
