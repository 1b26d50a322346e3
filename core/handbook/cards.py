"""The card of one item or pipe: figures by case, what is typed, why its size, how to shut it off."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from core import units
from core.handbook.markup import Markup, el, join
from core.isolation.plan import ShutOff
from core.plant.model import Item, Pipe, Plant
from core.sizing.result import Sized
from core.solve.solution import Solution
from core.vocabulary.figures import Figure
from core.working import Display

PIPE_FIGURES = (
    Figure("flow_m3_s", "flow", "flow", "Positive from its start to its end."),
    Figure("velocity_m_s", "velocity", "velocity", ""),
    Figure("temperature_in_c", "temperature at its start", "temperature", ""),
    Figure("temperature_out_c", "at its end", "temperature", ""),
    Figure("pressure_in_pa", "pressure at its start", "pressure", ""),
    Figure("pressure_out_pa", "at its end", "pressure", ""),
    Figure("drop_pa", "loss", "pressure", ""),
)


class Cards:
    """Makes the cards of a plant.

    Parameters
    ----------
    plant : Plant
    solutions : sequence of Solution
    sized : iterable of Sized
    plans : mapping
        Shut-off plans by id
    findings : mapping
        What the review says at an id, ready as text
    """

    def __init__(
        self,
        plant: Plant,
        solutions: Sequence[Solution],
        sized: Iterable[Sized],
        plans: Mapping[str, ShutOff],
        findings: Mapping[str, Sequence[str]],
    ) -> None:
        self.plant, self.solutions, self.plans, self.findings = plant, solutions, plans, findings
        self.display: Display = "si" if plant.units == "si" else "us"
        self.sized: dict[str, list[Sized]] = {}
        for one in sized:
            self.sized.setdefault(one.at, []).append(one)

    def all(self) -> Markup:
        """Every card, hidden until it is asked for."""
        parts: list[Item | Pipe] = [*self.plant.items.values(), *self.plant.pipes.values()]
        return join([self.card(part) for part in parts])

    def card(self, part: Item | Pipe) -> Markup:
        """One card."""
        what = part.kind_info.title if isinstance(part, Item) else "pipe"
        plan = self.plans.get(part.id)
        inside = [
            el("h3", f"{part.id} ", el("small", f"{what}{' · ' + part.label if part.label else ''}")),
            [el("p", said, class_="finding") for said in self.findings.get(part.id, ())],
            self._figures(part),
            self._typed(part),
            self._why(part.id),
            [] if plan is None else self._plan(plan),
            el("p", part.note) if part.note else [],
        ]
        close = " ".join(plan.close) if plan is not None else ""
        return el("section", inside, id=f"card-{part.id}", class_="card", data_close=close, tabindex="-1")

    def _figures(self, part: Item | Pipe) -> Markup:
        figures = part.kind_info.figures if isinstance(part, Item) else PIPE_FIGURES
        rows = []
        for figure in figures:
            values = [one.value(part.id, figure.key) for one in self.solutions]
            if any(value is not None for value in values):
                cells = [el("td", self.shown(figure, value)) for value in values]
                rows.append(el("tr", el("th", figure.title, scope="row"), cells))
        if not rows:
            return Markup("")
        heads = [
            el("th", one.case if one.converged else f"{one.case} (not solved)", scope="col")
            for one in self.solutions
        ]
        table = el("table", el("thead", el("tr", el("td"), heads)), el("tbody", rows))
        return el(
            "div", table, class_="wide", tabindex="0", role="region", aria_label=f"Figures of {part.id}"
        )

    def shown(self, figure: Figure, value: float | bool | None) -> str:
        """A figure in the plant's units."""
        if value is None:
            return ""
        if isinstance(value, bool):
            return "yes" if value else "no"
        if not figure.dimension:
            return f"{100 * value:.0f} %" if abs(value) <= 2.0 else f"{value:.3g}"
        si = value + 273.15 if figure.dimension == "temperature" else value
        return units.show(si, figure.dimension, self.display)

    def _typed(self, part: Item | Pipe) -> Markup:
        rows: list[tuple[str, object]] = [("stage", part.stage.replace("_", " "))]
        if isinstance(part, Item):
            rows += [(name.replace("_", " "), _plain(raw)) for name, raw in part.props.items()]
        else:
            rows += [("from", ".".join(part.start)), ("to", ".".join(part.end)), ("system", part.system)]
            rows += [("tube", _plain(part.tube))] if part.tube else []
            rows += [("length", _plain(part.length))] if part.length else []
            rows += [("fittings", _plain(part.fittings))] if part.fittings else []
        cells = [el("tr", el("th", name, scope="row"), el("td", value)) for name, value in rows]
        return el("details", el("summary", "As typed"), el("table", el("tbody", cells)))

    def _why(self, key: str) -> Markup:
        sized = self.sized.get(key, [])
        if not sized:
            return Markup("")
        lines = [
            el(
                "li",
                one.words,
                [f" Missing: {'; '.join(one.missing)}." if one.missing else ""],
                [el("strong", f" {caution}") for caution in one.cautions],
            )
            for one in sized
        ]
        return el("details", el("summary", "Why this size"), el("ul", lines))

    def _plan(self, plan: ShutOff) -> Markup:
        if not plan.possible:
            missing = f" A valve in {', '.join(plan.missing)} would make it possible." if plan.missing else ""
            return el(
                "details",
                el("summary", "How to shut it off"),
                el("p", f"Not possible: {plan.reason}{missing}"),
            )
        cautions = [el("p", caution, class_="caution") for caution in plan.cautions]
        steps = el("ol", [el("li", step) for step in plan.steps])
        return el("details", el("summary", "How to shut it off"), cautions, steps, data_lights=True)


def _plain(raw: object) -> str:
    """A value as typed, in words."""
    if isinstance(raw, Mapping):
        if "guess" in raw:
            return f"~{raw['guess']}"
        return ", ".join(f"{key} {_plain(value)}" for key, value in raw.items())
    if isinstance(raw, (list, tuple)):
        return ", ".join(_plain(one) for one in raw)
    return ("yes" if raw else "no") if isinstance(raw, bool) else str(raw)
