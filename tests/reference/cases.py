"""The published thermal cases of data/cases.csv, by id; each row names its source."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

with (Path(__file__).parent / "data" / "cases.csv").open(newline="", encoding="utf-8") as _file:
    CASES = {row["id"]: row for row in csv.DictReader(_file)}


def given(ident: str) -> dict[str, Any]:
    values: dict[str, Any] = json.loads(CASES[ident]["inputs"])
    return values


def expected(ident: str) -> dict[str, float]:
    values: dict[str, float] = json.loads(CASES[ident]["expected"])
    return values


def tolerance(ident: str) -> float:
    return float(CASES[ident]["rel_tol"])


def source(ident: str) -> str:
    """Where a case's figures come from; "same" in the table means the row above."""
    named = ""
    for key, row in CASES.items():
        named = named if row["source"].startswith("same") else row["source"]
        if key == ident:
            break
    memory = " (from memory)" if row["provenance"] == "memory" else ""
    return f"{named}{memory}, case {ident}"
