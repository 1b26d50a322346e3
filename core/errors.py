"""Error classes of the core, each with its place, what was found and what was expected.

Not for notes of the solver or findings of the review: those are results, not errors.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

LONGEST_VALUE = 80


class WetsideError(Exception):
    """Anything the program can say in one plain line instead of going on."""


class Refusal(WetsideError):
    """Something read, typed or drawn that cannot be taken as it is.

    Parameters
    ----------
    path : str
        Place inside the document, such as ``items[3].props.speed``; empty for the whole of it
    found : str
        What stands there
    expected : str
        What would be taken
    hint : str
        A cure, or the nearest known word; empty where there is none
    file : str
        Name of the file; empty where the text came from elsewhere
    """

    def __init__(self, path: str, found: str, expected: str, hint: str = "", file: str = "") -> None:
        super().__init__(path, found, expected, hint, file)
        self.path = path
        self.found = found
        self.expected = expected
        self.hint = hint
        self.file = file

    def __str__(self) -> str:
        place = "".join(f"{escaped(part)}: " for part in (self.file, self.path) if part)
        line = f"{place}found {escaped(self.found)}; expected {escaped(self.expected)}"
        return f"{line}. {escaped(self.hint)}" if self.hint else line

    def located(self, path: str = "", file: str = "") -> Refusal:
        """Same refusal with `path` put in front of its own path, and the file named."""
        joint = "" if not path or not self.path or self.path.startswith("[") else "."
        whole = f"{path}{joint}{self.path}"
        return Refusal(whole, self.found, self.expected, self.hint, file or self.file)


class PlainRefusal(Refusal):
    """A refusal that one plain sentence says better than found and expected."""

    def __init__(self, words: str, file: str = "") -> None:
        super().__init__("", words, "", file=file)
        self.args = (words, file)

    def __str__(self) -> str:
        return f"{escaped(self.file)}: {escaped(self.found)}" if self.file else escaped(self.found)

    def located(self, path: str = "", file: str = "") -> Refusal:
        return PlainRefusal(self.found, file or self.file)


def escaped(text: str) -> str:
    r"""Text made safe to show on one line.

    Control characters, line ends, lone surrogates and characters that change the writing
    direction are shown as ``\u202e``: they could hide or re-order what the reader sees.

    Examples
    --------
    >>> escaped("a\nb")
    'a\\u000ab'
    """
    if text.isprintable():
        return text
    return "".join(_shown(char) for char in text)


def _shown(char: str) -> str:
    code = ord(char)
    if not char.isprintable():
        return f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
    return char


def listed(names: Iterable[str], most: int = 0) -> str:
    """Names in a sentence, with commas and a last "and"; beyond `most` of them only how many more.

    Examples
    --------
    >>> listed(["P-1", "P-2", "P-3"])
    'P-1, P-2 and P-3'
    >>> listed(["P-1", "P-2", "P-3"], most=1)
    'P-1 and 2 more'
    """
    found = list(names)
    if most and len(found) > most:
        return f"{', '.join(found[:most])} and {len(found) - most} more"
    return " and ".join(filter(None, [", ".join(found[:-1]), *found[-1:]]))


def value_text(value: Any) -> str:
    """A found value as it would stand in the file, cut to a readable length."""
    if hasattr(value, "as_data"):  # a guess
        text = json.dumps(value.as_data(), ensure_ascii=False)
    elif isinstance(value, str):
        text = json.dumps(value[: LONGEST_VALUE + 1], ensure_ascii=False)
    elif isinstance(value, int) and not isinstance(value, bool) and value.bit_length() > 300:
        text = "a whole number of very many digits"  # Python itself refuses to write the longest out
    elif value is None or isinstance(value, (bool, float, int)):
        text = json.dumps(value)
    elif isinstance(value, Mapping):
        text = "{}" if not value else "an object with " + ", ".join(json.dumps(str(key)) for key in value)
    elif isinstance(value, (list, tuple)):
        text = f"a list of {len(value)}"
    else:
        text = str(value)
    text = escaped(text)
    return text if len(text) <= LONGEST_VALUE else text[:LONGEST_VALUE] + " …"
