"""Reads the symbols' drawings (SVG, package icons) into plain strokes, fits them to branches and taps."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import icons
from core.diagram.geometry import Point
from core.vocabulary import KINDS, FreePorts

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

Command = tuple[str | float, ...]
"""("M", x, y), ("L", x, y), ("C", x1, y1, x2, y2, x, y) or ("Z",)."""

_SVG = "{http://www.w3.org/2000/svg}"
HEATS = ("flame", "element")
_KAPPA = 0.5523  # a quarter circle as one cubic: four thirds of tan(pi/8)


class Part(NamedTuple):
    """One stroke of a symbol and what it means."""

    path: tuple[Command, ...]
    solid: bool = False  # filled with ink
    body: bool = False  # filled with the board's colour, so that pipes do not show through
    state: bool = False  # filled or hollow by the item's state
    letter: str = ""  # strokes of one letter share this word; letters stay upright
    port: str = ""  # the stub of this port takes the weight of its pipe
    branch: str = ""  # belongs to this branch of a manifold
    dashed: bool = False
    fine: bool = False  # left out in small icons
    small: bool = False  # stands in small icons alone, for what is fine elsewhere
    heat: str = ""  # "flame" of what burns, "element" in its place where electricity heats

    @property
    def points(self) -> list[Point]:
        """Every point named in the path, control points among them."""
        out: list[Point] = []
        for command in self.path:
            numbers = [float(v) for v in command[1:]]
            out += list(zip(numbers[::2], numbers[1::2], strict=True))
        return out

    def mapped(self, move: Callable[[float, float], Point]) -> Part:
        """The same stroke with every point put through `move`."""
        path: list[Command] = []
        for command in self.path:
            numbers = [float(v) for v in command[1:]]
            moved: list[float] = []
            for x, y in zip(numbers[::2], numbers[1::2], strict=True):
                moved += move(x, y)
            path.append((command[0], *moved))
        return self._replace(path=tuple(path))


def of_size(parts: Iterable[Part], small: bool) -> tuple[Part, ...]:
    """The strokes of a small icon, or those of board and paper."""
    return tuple(part for part in parts if not (part.fine if small else part.small))


def of_heat(parts: Iterable[Part], electric: bool) -> tuple[Part, ...]:
    """The strokes of what burns, or of what is heated by electricity and so has no flame."""
    return tuple(part for part in parts if part.heat != HEATS[0 if electric else 1])


class Drawing(NamedTuple):
    """All strokes of one symbol, and the places of its ports, about the middle of its body."""

    parts: tuple[Part, ...]
    ports: dict[str, Point]


@cache
def drawing(kind: str) -> Drawing:
    """The drawing of a kind as it lies in icons/; a kind without one is a plain box."""
    name = KINDS[kind].drawing if kind in KINDS else ""
    source = Path(icons.__file__).with_name(f"{name or kind}.svg")
    if not source.is_file():
        return Drawing((Part(_rectangle(-20, -20, 40, 40, 0), body=True),), {})
    from xml.etree import ElementTree  # slow to import

    root = ElementTree.fromstring(source.read_text(encoding="utf-8"))
    ports: dict[str, Point] = {}
    for entry in filter(None, root.get("data-ports", "").split(";")):
        name, place = entry.split(":")
        x, y = place.split(",")
        ports[name] = (float(x), float(y))
    group = root.find(f"{_SVG}g")
    parts = [] if group is None else [_part(element) for element in group]
    return Drawing(tuple(parts), ports)


def fitted(kind: str, ports: tuple[str, ...], heights: tuple[tuple[str, float], ...]) -> Drawing:
    """The drawing with the branches of a manifold or the taps of a tank; other kinds as they lie in icons/.

    `ports` are the names the item has; `heights` gives a tap's height as a share of the tank's, 0 to 1.
    """
    base = drawing(kind)
    free = KINDS[kind].free_ports if kind in KINDS else None
    if free is FreePorts.BRANCHES:
        return _with_branches(base, [name for name in ports if name.isdigit()])
    if free is FreePorts.TAPS:
        return _with_taps(base, ports, dict(heights))
    missing = [name for name in ports if name not in base.ports]
    if not missing:
        return base
    places = {name: (-30.0 if i % 2 == 0 else 30.0, 20.0 * (i // 2)) for i, name in enumerate(missing)}
    return Drawing(base.parts, {**base.ports, **places})


def _with_branches(base: Drawing, branches: list[str]) -> Drawing:
    """A manifold of any number of branches, 20 units apart; the drawing has three."""
    spread = 10.0 * (max(len(branches), 1) - 3)

    def widen(x: float, y: float) -> Point:
        return (x + spread if x > 25 else x - spread if x < -25 else x), y

    parts = [part.mapped(widen) for part in base.parts if not part.branch]
    ports = {name: widen(*base.ports[name]) for name in ("trunk", "end")}
    model = [part for part in base.parts if part.branch == "2"]
    for i, name in enumerate(branches):
        x = 20.0 * i - 10.0 * (len(branches) - 1)
        for part in model:
            shifted = part.mapped(partial(_shifted, x))
            parts.append(shifted._replace(port=name if part.port else "", branch=name))
        ports[name] = (x, base.ports["2"][1])
    return Drawing(tuple(parts), ports)


def _shifted(by: float, x: float, y: float) -> Point:
    return x + by, y


def _with_taps(base: Drawing, names: Iterable[str], share: dict[str, float]) -> Drawing:
    """A tank: the six usual taps at their drawn places, all others on the sides by their height."""
    wanted = list(names)
    ports = {name: base.ports[name] for name in wanted if name in base.ports}
    others = sorted((n for n in wanted if n not in base.ports), key=lambda n: (-share.get(n, 0.5), n))
    usable = [float(y) for y in range(-40, 50, 10)]
    taken = {(x, y) for x, y in ports.values()}
    grow = 0.0
    while 2 * len(usable) - len(taken) < len(others):
        grow += 10.0
        usable = [usable[0] - 10.0, *usable, usable[-1] + 10.0]
        taken = set()

    def taller(x: float, y: float) -> Point:
        return x, (y + grow if y > 30 else y - grow if y < -30 else y)

    ports = {name: taller(*place) for name, place in ports.items()}
    taken = set(ports.values())
    for name in others:
        ideal = usable[-1] - share.get(name, 0.5) * (usable[-1] - usable[0])
        place = min(
            ((x, y) for x in (-40.0, 40.0) for y in usable if (x, y) not in taken),
            key=lambda p: abs(p[1] - ideal) + _crowding(p, taken),
        )
        taken.add(place)
        ports[name] = place
    parts = [part.mapped(taller) for part in base.parts if not part.port or part.port in ports]
    parts += [
        Part((("M", x * 0.75, y), ("L", x, y)), port=name) for name, (x, y) in ports.items() if name in others
    ]
    return Drawing(tuple(parts), {name: ports[name] for name in wanted})


def _crowding(place: Point, taken: set[Point]) -> float:
    """A tap would rather stand 20 units from its neighbour, and on the emptier side."""
    same = [y for x, y in taken if x == place[0]]
    return 15.0 * any(abs(y - place[1]) < 20 for y in same) + 1.0 * len(same)


def _part(element: Element) -> Part:
    get = element.get
    tag = element.tag.removeprefix(_SVG)
    if tag in ("polyline", "polygon"):
        points = [tuple(float(v) for v in pair.split(",")) for pair in get("points", "").split()]
        path: tuple[Command, ...] = tuple(("L" if i else "M", *point) for i, point in enumerate(points))
        path += (("Z",),) if tag == "polygon" else ()
    elif tag == "rect":
        x, y, w, h, r = (float(get(name, "0")) for name in ("x", "y", "width", "height", "rx"))
        path = _rectangle(x, y, w, h, r)
    elif tag == "circle":
        cx, cy, r = (float(get(name, "0")) for name in ("cx", "cy", "r"))
        path = _rectangle(cx - r, cy - r, 2 * r, 2 * r, r)
    else:
        path = _path(get("d", ""))
    words = get("class", "").split()
    return Part(
        path,
        solid=get("fill") == "currentColor",
        body="body" in words,
        state="state" in words,
        letter=get("data-letter", "letter") if "letter" in words else "",
        port=get("data-port", ""),
        branch=get("data-branch", ""),
        dashed=get("stroke-dasharray") is not None,
        fine="fine" in words,
        small="small" in words,
        heat=next((word for word in HEATS if word in words), ""),
    )


def _rectangle(x: float, y: float, w: float, h: float, r: float) -> tuple[Command, ...]:
    """A rectangle with round corners; a circle is one whose corners meet."""
    if not r:
        return (("M", x, y), ("L", x + w, y), ("L", x + w, y + h), ("L", x, y + h), ("Z",))
    k = r * (1 - _KAPPA)
    right, bottom = x + w, y + h
    return (
        ("M", x + r, y),
        ("L", right - r, y),
        ("C", right - k, y, right, y + k, right, y + r),
        ("L", right, bottom - r),
        ("C", right, bottom - k, right - k, bottom, right - r, bottom),
        ("L", x + r, bottom),
        ("C", x + k, bottom, x, bottom - k, x, bottom - r),
        ("L", x, y + r),
        ("C", x, y + k, x + k, y, x + r, y),
        ("Z",),
    )


def _path(text: str) -> tuple[Command, ...]:
    """Path data of our own drawings: absolute M, L, C and Z."""
    out: list[Command] = []
    for letter, rest in re.findall(r"([A-Za-z])([^A-Za-z]*)", text):
        numbers = [float(v) for v in re.findall(r"-?[\d.]+", rest)]
        size = {"M": 2, "L": 2, "C": 6, "Z": 0}[letter]
        if not size:
            out.append((letter,))
        out += [(letter, *numbers[i : i + size]) for i in range(0, len(numbers), size or 1)]
    return tuple(out)
