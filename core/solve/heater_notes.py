"""Notes on what heats: flow, inlet, rise and output against what units are made for, alone and together.

The smallest call of a heater is the least that one circuit switched by itself takes now.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from core.figures import CoilTankFigures, EmitterFigures, SourceFigures
from core.hydraulics.network import Body
from core.plant.model import Item
from core.solve.mixing_controls import MixingValve
from core.solve.note_text import NEAR, NoteWriter
from core.solve.solution import Note
from core.thermal.heat import ZERO
from core.thermal.limits import RESTING
from core.thermal.roles import Giving, Source
from core.thermal.temperatures import STILL
from core.vocabulary import Trait
from core.water.numbers import grouped, side_by_side

COOLED = 0.5  # [K] a mix cooled by less is not worth a note


class HeaterNotes(NoteWriter):
    """Notes on heaters, boilers and heat pumps."""

    def found(self) -> Iterator[Note]:
        """All of them."""
        for i, role in self.s.roles.of.items():
            if not isinstance(role, Source) or self.body_at(i).unsolved:
                continue
            if self.s.running.get(role.item):
                yield from self._called(i, role)
                yield from self._outside_table(i, role)
            yield from self._inlet_and_flow(i, role)
            yield from self._idle_in_the_mix(i, role)
        yield from self._smallest_calls()
        yield from self._combined_use()
        yield from self._linked_beside_unlinked()

    # one by itself ----------------------------------------------------------------------------------------

    def _called(self, i: int, role: Source) -> Iterator[Note]:
        key, figures = role.item, self.solution.role(role.item, SourceFigures)
        flow = abs(figures.flow_m3_s)
        mode = self.s.thermal.source.get(i)
        why, rests = self.s.idle_sources.get(key, ""), role.share < RESTING
        if role.set_at is None:
            yield Note(key, "has no set temperature: it passes water unchanged. Type one.")
        elif why == "flow":
            least = self.flow(role.least_flow)
            reason = self._held_back(i)
            text = f"is off for want of flow: {self.flow(flow)} of the {least} it needs to start{reason}."
            yield Note(key, text)
        elif not self.moves[i] and why != "linked":
            yield Note(key, "is called but no water flows through it: off for want of flow.")
        elif (cycling := any(key in c.sources for c in self.s.setup.regime.cycles.values())) and rests:
            yield Note(key, f"cycles by its aquastat: on {100.0 * role.share:.0f} % of the time.")
        elif mode == "limit" and not cycling and not self.s.thermal.cut.get(i, 0.0) > 0.0:
            yield Note(key, self._at_capacity(i, role, flow))
        elif self.s.thermal.given_share.get(i, 1.0) < 1.0 - 1e-9:
            yield Note(
                key,
                f"is at its capacity of {self.heat(role.capacity or 0.0)}: the loads behind it are cut.",
            )
        elif mode == "hot" and self.moves[i]:
            warm = self.warm(float(self.s.thermal.t_in[i]))
            yield Note(
                key,
                f"takes in water at {warm}, above its set point of {self.warm(role.set_at)}: "
                "it passes unheated.",
            )
        elif 0.0 < figures.duty_w < role.least_output * (1.0 - 1e-6):
            share = 100.0 * figures.duty_w / role.least_output
            yield Note(
                key,
                f"gives {self.heat(figures.duty_w)} on average, below its least output of "
                f"{self.heat(role.least_output)}: it will go on and off, lit {share:.0f} % of the time.",
                rule="source-cycles-short",
            )
        if why == "" and role.on and self.moves[i] and flow < role.least_flow * (1.0 - 1e-6):
            yield Note(
                key,
                f"comes and goes: cold it gets its flow, hot it draws {self.flow(flow)} of the "
                f"{self.flow(role.least_flow)} it needs to run. Shown is the average.",
                rule="source-cycles-short",
            )

    def _held_back(self, i: int) -> str:
        """What holds back the water of a source, where a mixing valve on its run is shut to hot."""
        branch = int(self.net.branch_of[i])
        run = set(self.net.branches[branch].elements) if branch >= 0 else set()
        for d in self.s.devices:
            if isinstance(d, MixingValve) and d.hot.index in run and d.position <= 0.0:
                return f": {d.key} is shut to its hot side, its cold side being warm enough"
        return ""

    def _at_capacity(self, i: int, role: Source, flow: float) -> str:
        figures, t_in = self.solution.role(role.item, SourceFigures), float(self.s.thermal.t_in[i])
        outlet, set_at = figures.temperature_c + ZERO, float(role.set_at or 0.0)
        if abs(set_at - outlet) < NEAR and self.plant.items[role.item].si.get("throttles"):
            return (
                f"is at its capacity of {self.heat(figures.duty_w)}: it throttles its water to "
                f"{self.flow(flow)}, which it brings to {self.warm(outlet)}."
            )
        weather = f" at {self.warm(role.output.outdoor)} outdoors" if role.output is not None else ""
        return (
            f"is at its capacity of {self.heat(figures.duty_w)}{weather}: outlet at {self.warm(outlet)} "
            f"instead of {self.warm(set_at)}, short by {self.heat(figures.short_w)}. At {self.flow(flow)} "
            f"it raises water by {self.span(outlet - t_in)}, not by the {self.span(set_at - t_in)} wanted."
        )

    def _outside_table(self, i: int, role: Source) -> Iterator[Note]:
        if role.output is None or self.s.thermal.source.get(i) not in ("set", "limit") or not self.moves[i]:
            return
        output, supply = role.output, float(self.s.thermal.t_out[i])
        if output.covers(supply):
            return
        cold, mild = output.weather
        supplies = (
            f"supply {self.warm(output.low)} to {self.warm(output.high)} there"
            if output.high - output.low > NEAR
            else "and not for that supply there"
        )
        yield Note(
            role.item,
            f"{self.warm(output.outdoor)} outdoors with {self.warm(supply)} supply lies outside its table "
            f"(outdoors {self.warm(cold)} to {self.warm(mild)}, {supplies}): taken as at the table's edge.",
        )

    def _inlet_and_flow(self, i: int, role: Source) -> Iterator[Note]:
        si, t_in = self.plant.items[role.item].si, float(self.s.thermal.t_in[i])
        flow = abs(self.solution.flow(role.item))
        warmest, most = si.get("max_inlet"), si.get("max_flow")
        if warmest is not None and self.moves[i] and t_in > float(warmest) + NEAR:
            yield Note(
                role.item,
                f"takes in water at {self.warm(t_in)}, warmer than the {self.warm(float(warmest))} it is "
                "made for. Cooler return water, or a way past it, would help.",
                rule="circulation-does-not-fire-heater",
            )
        if most is not None and flow > float(most) * (1.0 + 1e-6):
            text = f"passes a flow of {self.flow(flow)}, more than its {self.flow(float(most))}."
            yield Note(role.item, text, rule="source-above-most-flow")

    # beside others ----------------------------------------------------------------------------------------

    def _idle_in_the_mix(self, i: int, role: Source) -> Iterator[Note]:
        """An idle unit whose cool water meets what other units have heated."""
        heats = self.s.thermal.source.get(i) in ("set", "limit", "hot")
        if heats or not self.moves[i] or not self._another_heats(i):
            return
        branch = self.net.branches[self.net.branch_of[i]]
        forward = self.s.balance.branch_flow[self.net.branch_of[i]] > 0.0
        meets, last = (branch.end, branch.elements[-1]) if forward else (branch.start, branch.elements[0])
        own = float(self.s.thermal.t_out[last])
        others = weight = 0.0
        for b, w in zip(self.net.branches, self.s.balance.branch_flow.tolist(), strict=True):
            end, element = (b.end, b.elements[-1]) if w > 0.0 else (b.start, b.elements[0])
            if b is not branch and end == meets and abs(w) > STILL:
                others += abs(w) * float(self.s.thermal.t_out[element])
                weight += abs(w)
        mix = self.s.node.get(meets)
        if weight <= 0.0 or mix is None or others / weight - mix < COOLED:
            return
        flow = self.flow(abs(self.solution.flow(role.item)))
        yield Note(
            role.item,
            f"is idle, yet {flow} passes it at {self.warm(own)} and cools what it meets from "
            f"{self.warm(others / weight)} to {self.warm(mix)}. "
            "A valve that shuts while it is idle (shut_when_idle) would stop that.",
            rule="idle-source-lets-water-by",
        )

    def _another_heats(self, i: int) -> bool:
        body = self.body_at(i).number
        return any(
            mode in ("set", "limit") and self.net.body_of[self.net.elements[k].start] == body
            for k, mode in self.s.thermal.source.items()
        )

    def _joined(self) -> dict[int, int]:
        """Bodies that heat one another through exchangers and coils: a common number for each body."""
        return grouped((b.number for b in self.net.bodies), self._walls().values())

    def _walls(self) -> dict[str, tuple[int, int]]:
        """Exchangers and coils that pass heat, each with the bodies on its two sides."""
        body_of = self.net.body_of
        walls = {
            key: (body_of[p.a.start], body_of[p.b.start])
            for key, p in self.s.roles.exchangers.items()
            if p.ua > 0.0
        }
        for i, coil in self.s.roles.coils.items():
            if coil.ua > 0.0:
                walls[coil.item] = (body_of[self.net.elements[i].start], body_of[coil.node])
        return walls

    def _smallest_calls(self) -> Iterator[Note]:
        """Units whose least output is more than the smallest of the calls they now answer together."""
        firm = {
            i: role
            for i, role in self.s.roles.of.items()
            if isinstance(role, Source) and self.solution.duty(role.item) >= role.least_output > 0.0
        }
        if not firm:
            return
        delivered = self._delivered()
        joined = self._joined()
        stores = {joined[b] for key in self.net.standing for b in self._bodies_of(key) if self._evens(key)}
        calls: dict[int, dict[tuple[str, ...], list[str]]] = defaultdict(lambda: defaultdict(list))
        for i, role in self.s.roles.of.items():
            if isinstance(role, Giving) and delivered[role.item] > 0.0:
                calls[joined[self.body_at(i).number]][self._switched_by(i)].append(role.item)
        for i, source in firm.items():
            group = joined[self.body_at(i).number]
            if group in stores or len(calls[group]) < 2:
                continue  # a store evens it out; and one call alone is the case at hand
            takes = {tuple(ids): sum(delivered[k] for k in ids) for ids in calls[group].values()}
            ids, least = min(takes.items(), key=lambda one: one[1])
            if least < source.least_output * (1.0 - 1e-6):
                yield Note(
                    source.item,
                    f"its least output of {self.heat(source.least_output)} is more than the "
                    f"{self.heat(least)} that {' and '.join(ids)} takes: called by that alone, it will go on "
                    "and off. A store beside it would help.",
                    rule="source-cycles-short",
                )

    def _delivered(self) -> dict[str, float]:
        """Heat that each emitter gives, [W]."""
        return {key: found.delivered_w for key, found in self.solution.of(EmitterFigures).items()}

    def _bodies_of(self, item: str) -> set[int]:
        return {self.net.body_of[e.end] for e in self.net.standing[item]}

    def _evens(self, item: str) -> bool:
        return self.plant.items[item].has(Trait.STORES_HEAT)

    def _switched_by(self, i: int) -> tuple[str, ...]:
        """Zone valves and circulators with calls of their own on the run of an emitter."""
        branch = int(self.net.branch_of[i])
        run = self.net.branches[branch].elements if branch >= 0 else []
        items = [self.plant.items.get(self.net.elements[k].key) for k in run]
        return tuple(sorted(item.id for item in items if item is not None and "run_when" in item.props))

    def _combined_use(self) -> Iterator[Note]:
        """Heaters that serve drinking water and heating at once, and are not known to be made for both."""
        by_body: dict[int, list[Item]] = defaultdict(list)
        for i, role in self.s.roles.of.items():
            item = self.plant.items[role.item] if isinstance(role, Source) else None
            if item is not None and item.has(Trait.STARTS_BY_FLOW) and self.solution.running(item.id):
                by_body[self.body_at(i).number].append(item)
        for number, heaters in by_body.items():
            body = self.net.bodies[number]
            doubtful = [h for h in heaters if h.si.get("combined_use") is not True]
            if body.use != "potable" or not doubtful:
                continue
            through, heat = self._heating_beyond(body)
            if heat <= 0.0:
                continue
            first = doubtful[0]
            known = first.si.get("combined_use") is False
            said = "it is not made for both" if known else "whether it may is not known (combined_use)"
            others = f" So it is with {', '.join(h.id for h in doubtful[1:])}." if doubtful[1:] else ""
            yield Note(
                first.id,
                f"serves drinking water and, through {' and '.join(through)}, {self.heat(heat)} of heating: "
                f"{said}. Ask its maker; local code and a licensed plumber decide.{others}",
            )

    def _heating_beyond(self, body: Body) -> tuple[list[str], float]:
        """What passes heat from a body to emitters, and how much now [W]: its own, exchangers and coils."""
        walls = self._walls()
        with_emitters = {
            self.body_at(i).number for i, role in self.s.roles.of.items() if isinstance(role, Giving)
        }
        through = [k for k in body.items if self.plant.items[k].has(Trait.GIVES_HEAT)]
        delivered = self._delivered()
        heat = sum(max(0.0, delivered[k]) for k in through)
        numbers = (b.number for b in self.net.bodies)
        beyond = grouped(numbers, (w for w in walls.values() if body.number not in w))
        for key, sides in walls.items():
            if body.number not in sides:
                continue
            far = beyond[sides[1] if sides[0] == body.number else sides[0]]
            tank = self.solution.at(key, CoilTankFigures)
            duty = abs(self.solution.duty(key) if tank is None else tank.coil_duty_w)
            if duty > 0.0 and far in {beyond[b] for b in with_emitters - {body.number}}:
                through.append(key)
                heat += duty
        return through, heat

    def _linked_beside_unlinked(self) -> Iterator[Note]:
        """Units side by side of which some share one start and others do not."""
        by_body: dict[int, list[tuple[int, Item]]] = defaultdict(list)
        for i, role in self.s.roles.of.items():
            item = self.plant.items[role.item] if isinstance(role, Source) else None
            if item is not None and item.has(Trait.STARTS_BY_FLOW) and self.s.running.get(item.id):
                by_body[self.body_at(i).number].append((i, item))
        for units_ in by_body.values():
            names = {item.si.get("linked") for _, item in units_}
            if len(names) < 2:
                continue
            for i, item in units_:
                beside = [o for k, o in units_ if self._apart(item, o) and self._side_by_side(i, k)]
                if beside and not self._first_of_its_kind(item, beside):
                    yield Note(item.id, self._unlike(item, beside))

    def _apart(self, item: Item, other: Item) -> bool:
        return bool(other.si.get("linked")) and other.si["linked"] != item.si.get("linked")

    def _first_of_its_kind(self, item: Item, beside: list[Item]) -> bool:
        """Of two linked groups the later one speaks, at its first unit."""
        name = item.si.get("linked")
        if not name:
            return False
        order = list(self.plant.items)
        own = [k for k in order if self.plant.items[k].si.get("linked") == name]
        return item.id != own[0] or order.index(item.id) < min(order.index(o.id) for o in beside)

    def _unlike(self, item: Item, beside: list[Item]) -> str:
        own, theirs = self.solution.duty(item.id), sum(self.solution.duty(o.id) for o in beside)
        groups = " and ".join(dict.fromkeys(str(o.si["linked"]) for o in beside))
        least = float(item.si.get("min_flow") or 0.0)
        start = f"it starts by itself at {self.flow(least)}" if least > 0.0 else "it starts by itself"
        name = f"is linked as {item.si['linked']}" if item.si.get("linked") else "is not linked"
        return (
            f"{name}, but stands beside {', '.join(o.id for o in beside)}, linked as {groups}: {start}, "
            f"whatever they do (now it gives {self.heat(own)}, they {self.heat(theirs)}). "
            "Link them all or none."
        )

    def _side_by_side(self, i: int, k: int) -> bool:
        """Whether the outlets of two units meet and their inlets meet, without a way through either."""
        branches = self.net.branches
        of = {element: int(self.net.branch_of[element]) for element in (i, k)}
        if min(of.values()) < 0 or of[i] == of[k]:
            return False
        one, other = (
            (b.start, b.end) if self.net.sign_of[element] > 0.0 else (b.end, b.start)
            for element, b in ((element, branches[number]) for element, number in of.items())
        )
        rest = ((b.start, b.end) for n, b in enumerate(branches) if n not in of.values())
        return side_by_side(rest, one, other)
