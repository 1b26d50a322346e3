"""Bookmarks, links and document information, put into a PDF after it was painted. Bytes only, no Qt.

They are added behind the file as an update (ISO 32000-1, 7.5.6, from memory): nothing painted is touched.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

POINT = 72.0 / 25.4  # [pt/mm]


@dataclass(frozen=True)
class Spot:
    """A place on a page: number from 0, and mm from the upper left corner."""

    page: int
    x: float
    y: float


@dataclass
class PdfMarks:
    """What a file is to carry besides its pages; all lengths in mm."""

    high: float  # of a page
    anchors: dict[str, Spot] = field(default_factory=dict)
    bookmarks: list[tuple[int, str, Spot]] = field(default_factory=list)
    links: list[tuple[Spot, float, float, str]] = field(default_factory=list)  # corner, right, bottom, anchor
    info: dict[str, str] = field(default_factory=dict)


class _Update:
    """New and changed objects of a file."""

    def __init__(self, content: bytes) -> None:
        self.content = content
        size = re.search(rb"/Size (\d+)", content[content.rindex(b"trailer") :])
        assert size is not None
        self.size = int(size[1])
        self.objects: dict[int, bytes] = {}

    def fresh(self) -> int:
        self.size += 1
        return self.size - 1

    def found(self, number: int) -> bytes:
        if number in self.objects:
            return self.objects[number]
        match = re.search(rb"(?:^|[\r\n])%d 0 obj\s*(.*?)\s*endobj" % number, self.content, re.DOTALL)
        assert match is not None
        return match[1]

    def written(self) -> bytes:
        tail = self.content[self.content.rindex(b"trailer") :]
        before = re.search(rb"startxref\s+(\d+)", tail)
        entries = re.search(rb"<<(.*)>>", tail, re.DOTALL)
        assert before is not None
        assert entries is not None
        out = bytearray(self.content if self.content.endswith(b"\n") else self.content + b"\n")
        places: dict[int, int] = {}
        for number, body in sorted(self.objects.items()):
            places[number] = len(out)
            out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
        start = len(out)
        out += b"xref\n"
        for number, place in places.items():
            out += b"%d 1\n%010d 00000 n \n" % (number, place)
        kept = re.sub(rb"/Size \d+", b"/Size %d" % self.size, entries[1])
        out += b"trailer\n<<%s/Prev %s\n>>\nstartxref\n%d\n%%%%EOF\n" % (kept, before[1], start)
        return bytes(out)


def marked(content: bytes, marks: PdfMarks) -> bytes:
    """The file with bookmarks, links and information; as it was where it is not built as Qt builds it."""
    root = re.search(rb"/Root (\d+) 0 R", content)
    info = re.search(rb"/Info (\d+) 0 R", content)
    pages = [int(found) for found in re.findall(rb"[\r\n](\d+) 0 obj\s*<<\s*/Type /Page\s", content)]
    if root is None or info is None or not pages:
        return content
    update = _Update(content)
    _say_what_it_is(update, int(info[1]), marks.info)
    _link(update, pages, marks)
    if marks.bookmarks:
        first = _outline(update, pages, marks)
        catalog = update.found(int(root[1]))
        update.objects[int(root[1])] = catalog.replace(
            b"/Type /Catalog", b"/Type /Catalog\n/Outlines %d 0 R\n/PageMode /UseOutlines" % first, 1
        )
    return update.written()


def _say_what_it_is(update: _Update, number: int, info: Mapping[str, str]) -> None:
    body = update.found(number)
    for name, text in info.items():
        body = re.sub(rb"/%s \((?:\\.|[^\\)])*\)\s*" % name.encode(), b"", body, flags=re.DOTALL)
        body = body.replace(b"<<", b"<<\n/%s %s" % (name.encode(), _string(text)), 1)
    update.objects[number] = body


def _string(text: str) -> bytes:
    return b"<" + (b"\xfe\xff" + text.encode("utf-16-be")).hex().encode() + b">"


def _target(pages: Sequence[int], marks: PdfMarks, spot: Spot) -> bytes:
    return b"[%d 0 R /XYZ %.1f %.1f null]" % (
        pages[spot.page], max(0.0, spot.x - 2.0) * POINT, (marks.high - spot.y + 4.0) * POINT,
    )  # fmt: skip


def _link(update: _Update, pages: Sequence[int], marks: PdfMarks) -> None:
    by_page: dict[int, list[int]] = {}
    for spot, x1, y1, anchor in marks.links:
        target = marks.anchors.get(anchor)
        if target is None:
            continue
        number = update.fresh()
        corners = (spot.x, marks.high - y1, x1, marks.high - spot.y)
        rect = b" ".join(b"%.2f" % (each * POINT) for each in corners)
        update.objects[number] = b"<< /Type /Annot /Subtype /Link /Border [0 0 0] /Rect [%s] /Dest %s >>" % (
            rect,
            _target(pages, marks, target),
        )
        by_page.setdefault(spot.page, []).append(number)
    for page, numbers in by_page.items():
        annotations = b"/Annots [%s]" % b" ".join(b"%d 0 R" % n for n in numbers)
        body = update.found(pages[page])
        update.objects[pages[page]] = re.sub(rb"/Annots \d+ 0 R", annotations, body, count=1)


def _outline(update: _Update, pages: Sequence[int], marks: PdfMarks) -> int:
    """The tree of bookmarks of two levels; gives the number of its root."""
    root = update.fresh()
    numbers = [update.fresh() for _ in marks.bookmarks]
    parents: list[int] = []
    top: list[int] = []
    last_top = root
    for (level, _, _), number in zip(marks.bookmarks, numbers, strict=True):
        if level <= 1 or not top:
            parents.append(root)
            top.append(number)
            last_top = number
        else:
            parents.append(last_top)
    children: dict[int, list[int]] = {}
    for parent, number in zip(parents, numbers, strict=True):
        children.setdefault(parent, []).append(number)
    for (_, text, spot), number, parent in zip(marks.bookmarks, numbers, parents, strict=True):
        same = children[parent]
        place = same.index(number)
        body = b"<< /Title %s /Parent %d 0 R /Dest %s" % (_string(text), parent, _target(pages, marks, spot))
        if place:
            body += b" /Prev %d 0 R" % same[place - 1]
        if place + 1 < len(same):
            body += b" /Next %d 0 R" % same[place + 1]
        if under := children.get(number):
            body += b" /First %d 0 R /Last %d 0 R /Count -%d" % (under[0], under[-1], len(under))
        update.objects[number] = body + b" >>"
    update.objects[root] = b"<< /Type /Outlines /First %d 0 R /Last %d 0 R /Count %d >>" % (
        top[0], top[-1], len(top),
    )  # fmt: skip
    return root
