"""What the solver has to say about a settled case: each note short, at its place, with what would cure it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from core.controls.signals import runs
from core.figures import EmitterFigures, OutletFigures, PumpFigures
from core.hydraulics.network import Body
from core.hydraulics.pressures import Pressures
from core.plant.model import Item
from core.solve.control_notes import ControlNotes
from core.solve.devices import REST
from core.solve.heater_notes import HeaterNotes
from core.solve.mixing_controls import Fixture
from core.solve.note_text import NEAR, NoteWriter
from core.solve.pump_controls import DeltaT
from core.solve.room_notes import RoomNotes
from core.solve.sensing import comes_back
from core.solve.solution import Note, Severity, Solution
from core.solve.valve_notes import ValveNotes
from core.solve.water_notes import WaterNotes
from core.thermal.emitters import floor_conductance
from core.thermal.heat import ZERO, heat_table
from core.thermal.roles import Giving
from core.vocabulary import Trait

if TYPE_CHECKING:
    from core.hydraulics.circulators import Drive
    from core.solve.settle import Settled

REACHED = 0.005  # share of a target by which it may be missed without a word
HELD = 20.0  # [Pa] below this a shut check valve holds nothing worth a note
UNTYPED = "figure-missing"
WAITING = (Trait.DRIVES, Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.GIVES_HEAT)


def find_notes(s: Settled, pressures: Pressures, solution: Solution) -> tuple[Note, ...]:
    """All notes of a settled case, in the order of the file's places.

    Parameters
    ----------
    s : Settled
    pressures : Pressures
    solution : Solution
        Its figures, without notes

    Returns
    -------
    tuple of Note
    """
    w = _Notes(s, pressures, solution)
    found = [
        *w.bodies(),
        *WaterNotes(s, pressures, solution).found(),
        *w.untyped(),
        *w.others(),
        *ControlNotes(s, pressures, solution).found(),
    ]
    if solution.converged:  # no advice is taken from an answer that is none
        found += [
            *w.circulators(),
            *HeaterNotes(s, pressures, solution).found(),
            *ValveNotes(s, pressures, solution).found(),
            *w.devices(),
            *w.emitters(),
            *RoomNotes(s, pressures, solution).found(),
        ]
    order = {key: k for k, key in enumerate((*s.net.plant.items, *s.net.plant.pipes))}
    gravest = list(Severity)
    unique = dict.fromkeys(found)
    return tuple(sorted(unique, key=lambda n: (gravest.index(n.severity), order.get(n.at, -1))))


class _Notes(NoteWriter):
    # bodies -----------------------------------------------------------------------------------------------

    def bodies(self) -> Iterator[Note]:
        yield from self._not_solved()
        for body in self.net.bodies:
            if not body.elements and not body.unsolved:
                continue
            yield from self._body(body)

    def _not_solved(self) -> Iterator[Note]:
        """Why the case has no answer, or none that keeps the laws."""
        s = self.s
        if s.converged or s.thermostats.hunts:
            return
        for broken in s.broken:
            if broken.law != "freezing":  # a danger, and said as one
                text = f"not solved: the law of {broken.law} is not kept here: {broken.text}."
                yield Note(broken.at, text, Severity.UNSOLVED)
        if s.stuck:
            d = next(d for d in s.devices if d.key == s.stuck)
            states = sorted(d.state_at(error) for error in s.swing)
            named = " and ".join(self.span(x) if isinstance(d, DeltaT) else self.warm(x) for x in states)
            yield Note(
                s.stuck,
                f"not solved: it has no steady state. Just where it stands it swings between {named}. "
                "Fixing its position or speed would give one.",
                Severity.UNSOLVED,
            )
        elif not s.broken:
            restless = {d.key.split()[0]: abs(d.error) for d in s.devices if not d.at_bound}
            moving = sorted((k for k in restless if restless[k] > REST), key=lambda k: (-restless[k], k))
            what = f", and with them {', '.join(moving)}" if moving else ""
            text = f"not solved: flows and temperatures still move after {s.passes} passes{what}."
            yield Note(moving[0] if moving else min(self.plant.items), text, Severity.UNSOLVED)

    def _body(self, body: Body) -> Iterator[Note]:
        for key in body.unsolved:
            kind = self.plant.items[key].kind_info
            yield Note(key, f"{_a(kind.title)} is not solved yet: its water is taken to have no flow.")
        if body.mixed:
            names = ", ".join((body.system, *body.mixed))
            yield Note(
                body.anchor,
                f"systems {names} meet in one body of water: solved with the fluid of {body.system}. "
                "Part them by an exchanger; local code and a licensed plumber decide on cross-connections.",
                rule="systems-meet",
            )
        if body.number in self.p.unpinned and len(body.items) > 1 and not body.unsolved:
            yield Note(
                self._item_at(body, self.p.unpinned[body.number]),
                "nothing sets the pressure of this body: pinned at 0 here. "
                "An expansion tank with its precharge, or a fill pressure, would set it.",
                rule="no-pressure-reference",
            )
        pushed = any(
            self.net.body_of[self.net.elements[i].start] == body.number for i in self.s.settings.drives
        )
        moves = self.moves[body.elements].any()
        bare = any(self._without_curve(k) for k in body.items)  # says so itself
        if not (body.unsolved or moves or pushed or bare) and self._could_flow(body):
            fed = any(n in self.net.mains for n in body.nodes)
            why = "nothing is drawn and nothing drives it" if fed else "nothing drives this water"
            yield Note(self._still_place(body), f"{why} in this case: no flow.")
        yield from self._range(body)

    def _item_at(self, body: Body, node: int) -> str:
        by_node = {n: key for (key, _), n in self.net.drawing.nodes.items()}
        return by_node.get(node, body.anchor)

    def _could_flow(self, body: Body) -> bool:
        """Whether water could go round here, or something waits for it."""
        waits = any(self.plant.items[k].has(*WAITING) for k in body.items)
        ways = any(self.net.branch_of[i] >= 0 for i in body.elements)
        return ways or (waits and any(self.net.elements[i].is_pipe for i in body.elements))

    def _without_curve(self, key: str) -> bool:
        item = self.plant.items[key]
        return item.has(Trait.DRIVES) and not item.si.get("curve") and runs(item.si, self.s.signals.on)

    def _still_place(self, body: Body) -> str:
        has = {k: self.plant.items[k].has for k in body.items}
        pumps = [k for k in has if has[k](Trait.DRIVES)]
        return min(pumps or [k for k in has if has[k](Trait.BRINGS_WATER)], default=body.anchor)

    def _range(self, body: Body) -> Iterator[Note]:
        if not body.elements:
            return
        t = np.concatenate([self.s.thermal.t_in[body.elements], self.s.thermal.t_out[body.elements]])
        low, high = float(t.min()), float(t.max())
        fluid = body.fluid
        if high > fluid.high + NEAR:
            yield Note(
                self.extreme(body, True),
                f"{self.warm(high)} lies above what the table of {fluid.name} covers "
                f"(to {self.warm(fluid.high)}). Figures past that are continued, not measured.",
            )
        if low < fluid.low - NEAR and fluid.kind == "custom":
            yield Note(
                self.extreme(body, False),
                f"{self.warm(low)} lies below what {fluid.name} is stated for (from {self.warm(fluid.low)}): "
                "it may freeze.",
            )

    # circulators ------------------------------------------------------------------------------------------

    def circulators(self) -> Iterator[Note]:
        for i, drive in self.s.settings.drives.items():
            e = self.net.elements[i]
            if self.net.bodies[self.net.body_of[e.start]].unsolved:
                continue
            if self.moves[i]:
                if self.s.balance.w[i] < 0.0:
                    yield Note(
                        e.key,
                        "runs against water that flows backward through it. A check valve would stop that.",
                        rule="pushed-backward",
                    )
                elif drive.target is None and drive.speed > 0 and self._past_end(i, e.key):
                    yield Note(
                        e.key, "runs past the end of its typed curve: the figure there is a continuation."
                    )
                elif drive.target is not None:
                    yield from self._target_missed(i, e.key, drive)
                continue
            head = self.head(drive.head(0.0)[0])
            check, reversed_ = self._check_in_way(i)
            why = "its way is shut" if self.net.branch_of[i] >= 0 else "no way leads round"
            if check and reversed_:
                yield Note(check, f"holds the {head} of {e.key}: water cannot pass here. Is it reversed?")
            elif check:
                shut = "its check valve" if check == e.key else check
                why = f"{shut} is held shut by what else drives the water"
            yield Note(e.key, f"runs at shut-off ({head}): no flow, {why}. Let it rest, or open a way.")

    def _target_missed(self, i: int, key: str, drive: Drive) -> Iterator[Note]:
        """Said of a circulator whose curve gives less than the head it is to keep."""
        flow = max(0.0, float(self.s.balance.w[i] / self.s.rho[i]))
        head, target = drive.head(flow)[0], drive.target or 0.0
        if head < target * (1.0 - REACHED):
            yield Note(
                key,
                f"does not keep its {self.head(target)}: at most it adds {self.head(head)} to "
                f"{self.flow(flow)}.",
            )

    def _past_end(self, i: int, key: str) -> bool:
        e = self.net.elements[i]
        if e.curve is None:
            return False
        pump = self.solution.role(key, PumpFigures)
        return pump.flow_m3_s > e.curve.x[-1] * max(pump.speed, 1e-6) * 1.001

    def _check_in_way(self, i: int) -> tuple[str, bool]:
        """A check valve that holds back the water of a circulator, and whether it points against it."""
        branch = int(self.net.branch_of[i])
        if branch < 0 or self.s.settings.closed[self.net.branches[branch].elements].any():
            return "", False
        for k in self.net.branches[branch].elements:
            e = self.net.elements[k]
            checks = e.one_way or e.has(Trait.ONE_WAY)
            if checks and abs(self.p.at[e.start] - self.p.at[e.end]) > HELD:
                return e.key, bool(self.net.sign_of[k] != self.net.sign_of[i])
        return "", False

    # controls ---------------------------------------------------------------------------------------------

    def devices(self) -> Iterator[Note]:
        for d in self.s.devices:
            if isinstance(d, DeltaT):
                yield from self._delta_t(d)
            elif isinstance(d, Fixture):
                yield from self._outlet(d)

    def _delta_t(self, d: DeltaT) -> Iterator[Note]:
        target = self.span(d.target)
        i = d.element.index
        if self.moves[i] and not comes_back(self.net, d.element, self.s.balance.w):
            yield Note(
                d.key, f"its water has no way back to it in this case, so {target} means nothing here."
            )
        elif d.stopped:
            yield Note(d.key, f"stopped: its least speed is more than {target} needs.")
        elif d.note == "no heat":
            yield Note(
                d.key, f"no heat moves in its circuit, so {target} cannot be held: at its least speed."
            )
        elif d.note:
            yield Note(d.key, f"does not hold {target}: {d.note}.")

    def _outlet(self, d: Fixture) -> Iterator[Note]:
        outlet = self.solution.role(d.key, OutletFigures)
        flow = outlet.flow_m3_s
        if flow < d.draw * (1.0 - 1e-3):
            yield Note(
                d.key,
                f"draws {self.flow(flow)} of the {self.flow(d.draw)} wanted: no pressure is left at it.",
            )
        elif d.note:
            t = self.warm(outlet.temperature_c + ZERO)
            yield Note(d.key, f"does not reach {self.warm(d.set_at)}: all hot at {t}.")

    # emitters and the rest --------------------------------------------------------------------------------

    def emitters(self) -> Iterator[Note]:
        resting: dict[str, list[tuple[str, str]]] = defaultdict(list)
        for i, role in self.s.roles.of.items():
            if not isinstance(role, Giving):
                continue
            key = role.item
            body = self.net.bodies[self.net.body_of[self.net.elements[i].start]]
            if role.emitter.estimated and self.moves[i]:
                yield Note(
                    key,
                    f"its {self.per_kelvin(role.emitter.ua or 0.0)} is estimated from area and "
                    "construction. A typed output_per_degree would be firmer.",
                )
            if self.moves[i]:
                yield from self._taken_whole(i, role)
            if body.unsolved:
                continue
            emitter = self.solution.role(key, EmitterFigures)
            short, wanted = emitter.short_w, emitter.wanted_w
            if not self.moves[i]:
                if wanted > 0.0 and self.moves[body.elements].any():
                    why, what = self._why_still(i)
                    resting[what].append((key, why))
            elif short > 0.005 * wanted:
                yield Note(
                    key,
                    f"gives {self.heat(wanted - short)} of the {self.heat(wanted)} wanted: "
                    f"short by {self.heat(short)}.",
                )
        for what, circuits in resting.items():
            key, why = circuits[0]
            if len(circuits) == 1:
                yield Note(key, f"no flow in this case, so it gives nothing: {why}.")
            else:
                others = ", ".join(other for other, _ in circuits[1:])
                yield Note(key, f"no flow in this case, nor in {others}: {what}.")

    def _taken_whole(self, i: int, role: Giving) -> Iterator[Note]:
        """Said of a floor that gives what is typed, beside what it would give by itself."""
        item = self.plant.items[role.item]
        own = floor_conductance(item)
        if own is None or role.emitter.ua is not None or not role.emitter.wanted:
            return
        supply, back = float(self.s.thermal.t_in[i]), float(self.s.thermal.t_out[i])
        rate = abs(float(self.s.balance.w[i])) * heat_table(self.body_at(i).fluid).mean_capacity(supply, back)
        could = rate * -math.expm1(-own / rate) * max(0.0, supply - role.room)
        yield Note(
            role.item,
            f"its load of {self.heat(role.emitter.wanted)} is taken as typed. By area and construction the "
            f"floor would give about {self.heat(could)} with water of {self.warm(supply)} (estimate, "
            f"{self.per_kelvin(own)}). A typed output_per_degree would be solved.",
        )

    def _why_still(self, i: int) -> tuple[str, str]:
        """What keeps the water of an element at rest, as far as its own run shows: of one, and of several."""
        branch = int(self.net.branch_of[i])
        for k in self.net.branches[branch].elements if branch >= 0 else ():
            e = self.net.elements[k]
            if self.s.settings.closed[k]:
                if e.has(Trait.OPENS_BY_SIGNAL):
                    return f"{e.key} is not called", "nothing calls them"
                return f"{e.key} is shut", "valves are shut"
            if e.has(Trait.DRIVES) and k not in self.s.settings.drives:
                return f"{e.key} is off", "nothing calls them"
        return "no pump drives this branch", "no pump drives them"

    def untyped(self) -> Iterator[Note]:
        """Items that lack the figure they live by: what was taken instead."""
        for key, elements in self.net.of_item.items():
            item = self.plant.items.get(key)
            if item is None:
                continue
            if self._without_curve(key):
                yield Note(key, "has no curve yet, so it moves nothing. Type its curve.", rule="no-curve")
            missing = self._missing(item, any(self.moves[e.index] for e in elements), elements[-1].index)
            if missing:
                yield Note(key, missing, rule=UNTYPED)
        for key in self.net.mains.values():
            if self.plant.items[key].si.get("pressure") is None:
                yield Note(key, "has no pressure typed: taken as 0.", rule=UNTYPED)

    def _missing(self, item: Item, moves: bool, last: int) -> str:
        """What was taken instead of the figure an item lives by, "" where it has it."""
        si = item.si
        if item.has(Trait.LIFTS_HEAT):
            if moves and not si.get("table"):
                return "has no table typed: taken as without limit, and its power as not known."
        elif item.has(Trait.MAKES_HEAT):
            if moves and si.get("capacity") is None:
                return "has no capacity typed: taken as without limit."
        elif item.has(Trait.HAS_COIL) and not si.get("coil_ua") and self.moves[last]:
            return "has no coil_ua, so its coil passes no heat. Type one."
        elif item.has(Trait.EXCHANGES_HEAT) and moves and not (si.get("ua") or si.get("rated")):
            return "has neither ua nor a rated point, so it passes no heat. Type one."
        elif item.has(Trait.GIVES_HEAT) and moves and last not in self.s.roles.of:
            return "has neither output nor load, so it gives nothing. Type one."
        return ""

    def others(self) -> Iterator[Note]:
        for item in self.plant.items.values():
            if not item.kind_info.solved and not item.ports:
                yield Note(item.id, f"{_a(item.kind_info.title)} is not solved yet.")


def _a(title: str) -> str:
    """A title with its article."""
    return f"an {title}" if title[0] in "aeiou" else f"a {title}"
