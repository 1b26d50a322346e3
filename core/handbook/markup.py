"""Elements of HTML and SVG as text. Everything that comes from a file is escaped here and nowhere else."""

from __future__ import annotations

from html import escape

from core.errors import escaped


class Markup(str):
    """Text that is markup already and is put in as it is."""

    __slots__ = ()


def text(words: object) -> Markup:
    """Words as plain text: markup escaped, control and direction-changing characters shown."""
    return Markup(escape(escaped(str(words))))


def el(tag: str, *inside: object, **attributes: object) -> Markup:
    """An element. Names of attributes: `class_` for class, `data_x` for data-x; None and False leave one out.

    Examples
    --------
    >>> el("p", "a < b", el("b", "c"), class_="x", hidden=True)
    '<p class="x" hidden>a &lt; b<b>c</b></p>'
    """
    written = []
    for name, value in attributes.items():
        key = name.rstrip("_").replace("_", "-")
        if value is True:
            written.append(f" {key}")
        elif value is not None and value is not False:
            written.append(f' {key}="{text(value)}"')
    return Markup(f"<{tag}{''.join(written)}>{join(inside)}</{tag}>")


def join(parts: object) -> Markup:
    """Parts one after the other; lists and tuples are opened, plain text is escaped."""
    if isinstance(parts, Markup):
        return parts
    if isinstance(parts, (list, tuple)):
        return Markup("".join(join(part) for part in parts))
    return text(parts)


def void(tag: str, **attributes: object) -> Markup:
    """An element without an end, such as an input."""
    return Markup(el(tag, **attributes)[: -len(f"</{tag}>")])
