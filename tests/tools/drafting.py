"""Puts plant files together from a short notation, for scripts that make sample plants."""

from __future__ import annotations

import re
from typing import Any

Step = str | tuple[str, list[tuple[float, float]]]
THROUGH = {"in": "out", "out": "in", "a": "b", "b": "a", "at": "at", "trunk": "end", "end": "trunk"}
ENTRY = {
    "joint": "at",
    "shutoff": "a",
    "service_valve": "a",
    "balance_valve": "a",
    "zone_valve": "a",
    "purge_set": "a",
    "manifold": "trunk",
    "drain": "at",
    "air_vent": "at",
    "gauge": "at",
    "thermometer": "at",
    "relief_valve": "at",
    "expansion_tank": "at",
    "cold_main": "at",
    "vacuum_breaker": "at",
}
FITTING = {"e": "elbow_90", "r": "tee_run", "b": "tee_branch"}


class Drafter:
    """Collects items and pipes; `run` draws one line of pipe through a row of items."""

    def __init__(self, title: str, units: str, site: dict[str, str], systems: dict[str, Any]) -> None:
        self.data: dict[str, Any] = {
            "format": "wetside-plant",
            "version": 2,
            "title": title,
            "units": units,
            "site": site,
            "systems": systems,
            "items": [],
            "pipes": [],
            "cases": [],
            "texts": [],
            "logbook": [],
            "readings": [],
            "accepted": [],
        }
        self.kinds: dict[str, str] = {}

    def item(
        self,
        name: str,
        kind: str,
        x: float,
        y: float,
        turn: int = 0,
        flip: bool = False,
        label: str = "",
        note: str = "",
        **props: Any,
    ) -> str:
        """Put a symbol on the board; returns its id."""
        assert name not in self.kinds, name
        self.kinds[name] = kind
        self.data["items"].append(
            {
                "id": name,
                "kind": kind,
                "at": [x, y],
                "turn": turn,
                "flip": flip,
                "label": label,
                "note": note,
                "stage": "drawn",
                "props": props,
            }
        )
        return name

    def joint(self, name: str, x: float, y: float, **props: Any) -> str:
        """A dot where pipes meet."""
        return self.item(name, "joint", x, y, **props)

    def run(self, system: str, tube: str, *steps: Step, **extra: Any) -> None:
        """Pipes from item to item along a line.

        `steps` are places and pipes in turn. A place is `item`, `item<` (entered by its far port), or
        `item:port` at an end; a pipe is a length with counted fittings, `6 ft 2e 1r 1b` (elbows, tee runs,
        tee branches), with `/ 18 in` behind it where that much of it is straight, or that and its bends.
        """
        material, _, size = tube.partition(" ")
        for at in range(0, len(steps) - 2, 2):
            start = self._port(str(steps[at]), leaving=True)
            end = self._port(str(steps[at + 2]), leaving=False)
            middle = steps[at + 1]
            words, via = middle if isinstance(middle, tuple) else (middle, [])
            pipe: dict[str, Any] = {
                "id": f"L-{len(self.data['pipes']) + 1}",
                "from": list(start),
                "to": list(end),
                "system": system,
                "tube": {"material": material, "size": size},
            }
            words, _, straight = words.partition(" / ")
            length, fittings = _length(words)
            pipe["length"] = length
            if straight:
                pipe["straight"] = straight
            if fittings:
                pipe["fittings"] = fittings
            pipe.update(extra)
            if via:
                pipe["via"] = [list(point) for point in via]
            self.data["pipes"].append(pipe)

    def insert(
        self, name: str, kind: str, x: float, y: float, between: tuple[str, str], length: str, **more: Any
    ) -> None:
        """Put a symbol into the pipe from one item to the next; what was drawn before keeps its id.

        `length` is that of the pipe behind it; bends are shared out by `via` and `via_behind`.
        """
        via, behind = more.pop("via", []), more.pop("via_behind", [])
        self.item(name, kind, x, y, **more)
        pipe = next(p for p in self.data["pipes"] if (p["from"][0], p["to"][0]) == between)
        rest = {key: value for key, value in pipe.items() if key not in ("via", "fittings")}
        rest |= {
            "id": f"L-{len(self.data['pipes']) + 1}",
            "from": list(self._port(name, True)),
            "length": length,
        }
        pipe["to"] = list(self._port(name, False))
        for one, bends in ((pipe, via), (rest, behind)):
            one.pop("via", None)
            if bends:
                one["via"] = [list(bend) for bend in bends]
        self.data["pipes"].append(rest)

    def case(self, name: str, outdoor: str, signals: dict[str, bool], **more: Any) -> None:
        """One set of calls and weather."""
        self.data["cases"].append({"name": name, "outdoor": outdoor, "signals": signals, **more})

    def _port(self, place: str, leaving: bool) -> tuple[str, str]:
        name, _, port = place.partition(":")
        if port:
            return name, port
        backward = name.endswith("<")
        name = name.removesuffix("<")
        entry = ENTRY.get(self.kinds[name], "in")
        if backward:
            entry = THROUGH[entry]
        return name, THROUGH[entry] if leaving else entry


def _length(words: str) -> tuple[str, dict[str, int]]:
    fittings = {
        FITTING[word[-1]]: int(word[:-1]) for word in words.split() if re.fullmatch(r"\d+[erb]", word)
    }
    return " ".join(word for word in words.split() if not re.fullmatch(r"\d+[erb]", word)), fittings
