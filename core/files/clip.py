"""Excerpts as text: what the clipboard carries from window to window. Reads strictly, like plant files.

An assembly is kept as a plant file; that is read here too.
"""

from __future__ import annotations

import json
from typing import Any

from core.errors import Refusal, value_text
from core.plant.excerpt import Excerpt
from core.vocabulary.values import read_object

FORMAT = "wetside-clip"
VERSION = 1
_EXPECTED = "items and pipes copied from a board, or the text of a plant file"


def to_text(part: Excerpt) -> str:
    """An excerpt as text of the clipboard's format."""
    from core.files import write

    data = {
        "format": FORMAT,
        "version": VERSION,
        "plant": json.loads(write.dumps(part.plant)),
        "outside": {name: dict(props) for name, props in part.outside.items()},
        "kinds": dict(part.kinds),
    }
    return json.dumps(data, ensure_ascii=False, allow_nan=False, indent=1)


def from_text(text: str) -> Excerpt:
    """The excerpt in a text; the text of a plant file counts as all of that plant.

    Raises
    ------
    Refusal
        Anything else
    """
    from core.files import read, syntax

    if not text.lstrip().startswith("{"):
        raise Refusal("", value_text(text) if text else "nothing", _EXPECTED)
    data = syntax.parsed(text)
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        return Excerpt(read.from_data(data))
    given = read_object(data, "", ("format", "version", "plant", "outside", "kinds"), ("plant",))
    if given.get("version") != VERSION:
        raise Refusal("version", value_text(given.get("version")), f"{VERSION}")
    part = read.from_data(given["plant"])
    outside = {
        name: _object(props, f"outside.{name}")
        for name, props in _object(given.get("outside", {}), "outside").items()
        if name in part.items
    }
    kinds = {name: str(kind) for name, kind in _object(given.get("kinds", {}), "kinds").items()}
    return Excerpt(part, outside, kinds)


def _object(raw: Any, path: str) -> dict[str, Any]:
    if not isinstance(raw, dict):
        raise Refusal(path, value_text(raw), "an object")
    return raw
