"""Bytes of a file to plain JSON data, strictly: encoding, depth, duplicate keys, odd numbers.

Not for what the data mean: that is `core.files.read`.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from typing import Any

from core.errors import Refusal, value_text
from core.files.limits import DEEPEST, LARGEST_FILE
from core.vocabulary.values import LONGEST_NUMBER, under

_UTF16 = (b"\xff\xfe", b"\xfe\xff")
_UTF8_MARK = b"\xef\xbb\xbf"
_TOKEN = re.compile(r'"(?:[^"\\]|\\.)*"|[\[{]|[\]}]', re.DOTALL)
_JSON = "UTF-8 JSON, a plant file"
_OTHERS = (
    (b"%PDF", "a PDF"),
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"PK\x03\x04", "a packed archive or an office document"),
    (b"\x1f\x8b", "a packed file"),
    (b"<svg", "an SVG picture"),
    (b"<?xml", "an XML file"),
)
"""How files of other sorts begin."""


class _Doubled(dict[str, Any]):
    """An object in which one key stands twice."""

    key = ""


class _Odd:
    """A number that JSON or a plant cannot hold, kept until its place is known."""

    def __init__(self, text: str, expected: str) -> None:
        self.text = text
        self.expected = expected


class _Marks:
    """Hooks of the JSON reader that keep what must be refused."""

    def __init__(self) -> None:
        self.any = False

    def pairs(self, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        data = dict(pairs)
        if len(data) == len(pairs):
            return data
        self.any = True
        doubled = _Doubled(data)
        seen: set[str] = set()
        doubled.key = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
        return doubled

    def constant(self, text: str) -> _Odd:
        self.any = True
        return _Odd(text, "a finite number")

    def real(self, text: str) -> Any:
        value = float(text)
        if math.isfinite(value):
            return value
        self.any = True
        return _Odd(text, "a number that is not too large for any plant")

    def whole(self, text: str) -> Any:
        if len(text) <= LONGEST_NUMBER:
            return int(text)
        self.any = True
        return _Odd(text, f"a whole number of at most {LONGEST_NUMBER} digits")


def decoded(raw: bytes) -> str:
    """Bytes as text; a leading byte-order mark of UTF-8 is let pass."""
    if len(raw) > LARGEST_FILE:
        raise Refusal("", "a larger file", f"at most {LARGEST_FILE} bytes")
    for beginning, sort in _OTHERS:
        if raw.startswith(beginning):
            raise Refusal("", sort, _JSON, "This is not a plant file")
    if raw.startswith(_UTF8_MARK):
        raw = raw[len(_UTF8_MARK) :]
    elif raw[:2] in _UTF16 or b"\0" in raw[:4]:
        raise Refusal("", "UTF-16 or UTF-32 text", _JSON, "Save it again as UTF-8")
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        found = f"byte 0x{raw[error.start]:02x}, which is not UTF-8"
        raise Refusal(f"line {line}", found, _JSON, "Save it again as UTF-8") from None


def parsed(text: str) -> Any:
    """Text as JSON data; every refusal names its line or its path."""
    if not text.strip():
        raise Refusal("", "an empty file", _JSON)
    _check_depth(text)
    marks = _Marks()
    try:
        data = json.loads(
            text,
            object_pairs_hook=marks.pairs,
            parse_constant=marks.constant,
            parse_float=marks.real,
            parse_int=marks.whole,
        )
    except json.JSONDecodeError as error:
        raise _syntax_refusal(text, error) from None
    except RecursionError:
        raise Refusal("", "objects and lists nested too deep", f"at most {DEEPEST} levels") from None
    if marks.any:
        _refuse_marked(data)
    return data


def _check_depth(text: str) -> None:
    depth = 0
    for match in _TOKEN.finditer(text):
        token = match.group()
        if token in "[{":
            depth += 1
            if depth > DEEPEST:
                line = text.count("\n", 0, match.start()) + 1
                raise Refusal(
                    f"line {line}", "objects and lists nested too deep", f"at most {DEEPEST} levels"
                )
        elif token in "]}":
            depth -= 1


def _syntax_refusal(text: str, error: json.JSONDecodeError) -> Refusal:
    place = f"line {error.lineno}, column {error.colno}"
    rest = text[error.pos :].lstrip()
    if not rest or error.msg.startswith("Unterminated string"):
        return Refusal(place, "the end of the file", "more: it is cut off", "Fetch a whole copy of it")
    expected = error.msg[0].lower() + error.msg[1:].removesuffix(" at")
    expected = {
        "expecting value": "a value",
        "expecting ',' delimiter": "a comma, or the end of the list or object",
        "expecting ':' delimiter": "a colon after the key",
        "expecting property name enclosed in double quotes": "a key between double quotes",
        "illegal trailing comma before end of object": "no comma before the end of an object",
        "illegal trailing comma before end of array": "no comma before the end of a list",
        "extra data": "nothing after the end of the plant",
        "invalid control character": "no bare control character inside a text",
    }.get(expected, f"JSON ({expected})")
    hint = "" if text.lstrip()[:1] in "{[" else "This is not a plant file"
    return Refusal(place, value_text(rest[:20]), expected, hint)


def _walk(data: Any, path: str) -> Iterator[tuple[str, Any]]:
    yield path, data
    if isinstance(data, dict):
        for key, value in data.items():
            yield from _walk(value, under(path, key))
    elif isinstance(data, list):
        for number, value in enumerate(data):
            yield from _walk(value, f"{path}[{number}]")


def _refuse_marked(data: Any) -> None:
    for path, value in _walk(data, ""):
        if isinstance(value, _Doubled):
            raise Refusal(under(path, value.key), "this key twice", "each key once")
        if isinstance(value, _Odd):
            raise Refusal(path, value.text[:60], value.expected)
    # A marked value inside the first of two equal keys is gone, but then the doubled object is not.
    raise AssertionError("something was marked but is not in the data")
