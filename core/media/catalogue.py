"""Reading the csv tables that lie in this folder; no values and no search rules here."""

from __future__ import annotations

import csv
from collections.abc import Iterable
from pathlib import Path


def read_rows(name: str) -> list[dict[str, str]]:
    """Rows of the table `name` in this folder as dicts by column; lines that begin with # are remarks."""
    with Path(__file__).with_name(name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


def nearest_word(word: str, known: Iterable[str]) -> str:
    """Hint naming the known word most like `word`, or an empty text."""
    import difflib

    like = difflib.get_close_matches(word.lower(), list(known), n=1)
    return f"Did you mean {like[0]}?" if like else ""
