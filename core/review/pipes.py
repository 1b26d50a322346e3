"""Rules of pipes: how fast water runs in them, lagging, metals that meet, antifreeze too thin."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from core.media.fluids import fluid_of
from core.plant.model import Pipe, PortRef
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.recirculation import circulators
from core.review.study import Study
from core.solve.solution import Solution
from core.vocabulary import Trait
from core.water.no_flow import NO_FLOW

if TYPE_CHECKING:
    from core.sizing.families.limits import Limit

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
HOT_C = 105.0 / 1.8 - 32.0 / 1.8  # [degC] 105 degF


@rule(
    "water-too-fast",
    "Water too fast",
    Severity.CONSIDER,
    "Fast water wears copper away at its bends, and is heard.",
    "limits of velocity by material, use and temperature, each with its source in the text",
    "Take a larger tube, or send less water.",
    solved=True,
)
def water_too_fast(study: Study) -> Iterator[Found]:
    """Runs with water over a firm limit for its material, use and temperature, the worst pipe first."""
    returning = _returning(study)
    for run in study.runs.all:
        over = [
            (grave, speed / limit.value, pipe, speed, limit, solution.case)
            for solution, _ in study.each()
            for pipe in map(study.plant.pipes.__getitem__, run.pipes)
            for grave, speed, limit in _too_fast(study, solution, pipe, returning)
        ]
        if not over:
            continue
        grave, _, pipe, speed, limit, case = max(over, key=lambda one: one[:2])
        others = dict.fromkeys(one[2].id for one in over if one[2] is not pipe)
        also = f", and too fast in {', '.join(others)} beside it" if others else ""
        yield Found(
            (pipe.id, *others),
            f"Water runs at {study.velocity(speed)} in {pipe.id}{also}; {limit.words} from "
            f"{study.velocity(limit.value)} ({limit.source}).",
            (Figure("velocity_m_s", speed),),
            case,
            Severity.MEND if grave else Severity.CONSIDER,
        )


def _too_fast(
    study: Study, solution: Solution, pipe: Pipe, returning: set[str]
) -> Iterator[tuple[bool, float, Limit]]:
    """Whether a pipe's water is gravely over a limit, its speed [m/s], and the lowest limit it passes."""
    from core.sizing.families.limits import firm_limit

    found = solution.pipes.get(pipe.id)
    if found is None or pipe.si.joined or abs(found.flow_m3_s) <= NO_FLOW:
        return
    material = str((pipe.tube or {}).get("material", ""))
    closed = study.plant.systems[pipe.system].use != "potable"
    use = "closed" if closed else "recirculation" if pipe.id in returning else "potable"
    speed = abs(found.velocity_m_s)
    least = firm_limit(material, use, found.warmest_c + 273.15, pipe.si.bore)
    if least is not None and speed > least.value * 1.01:
        yield least.what == "erosion" and speed > 1.25 * least.value, speed, least


def _returning(study: Study) -> set[str]:
    """Pipes of hot water circulation, from its circulator back to what heats."""
    runs = [study.run(pump) for pump in circulators(study)]
    return {key for run in runs if run is not None for key in run.pipes}


@rule(
    "bare-hot-pipe",
    "Hot pipe without insulation",
    Severity.CONSIDER,
    "A bare pipe at {60 °C loses about 29 W a meter|140 °F loses about 30 Btu/h a foot}, and burns who "
    "touches it.",
    "ASHRAE Standard 90.1 (from memory): insulation of pipes over 105 °F",
    "Insulate it.",
    origin="insulation",
    solved=True,
)
def bare_hot_pipe(study: Study) -> Iterator[Found]:
    """Runs with bare pipes of flowing water over 105 degF, but through emitters and to taps."""
    for run in study.runs.all:
        items = study.runs.items(run)
        ends = [study.plant.items.get(place.item) for place in (run.start, run.end)]
        if any(one.has(Trait.HEATS_ROOM) for one in items) or any(
            one is not None and one.has(Trait.DRAWS_WATER) for one in (*items, *ends)
        ):
            continue
        hot = [(t, key, case) for key in run.pipes if (warm := _bare(study, key)) for t, case in [warm]]
        if hot:
            warmest, _, case = max(hot)
            pipes = tuple(key for _, key, _ in hot)
            yield Found(
                pipes,
                f"{', '.join(pipes)} {'carries' if len(pipes) == 1 else 'carry'} water of "
                f"{study.celsius(warmest)} with no insulation.",
                (Figure("water_c", warmest),),
                case,
            )


def _bare(study: Study, key: str) -> tuple[float, str] | None:
    """Warmest flowing water of a bare pipe over the limit, [degC], and the case."""
    pipe = study.plant.pipes[key]
    if pipe.si.joined or pipe.si.insulation is not None or pipe.si.length <= 0.0:
        return None
    found = [
        (one.pipes[key].warmest_c, one.case)
        for one in study.solutions
        if key in one.pipes and key in study.flowing[one.case]
    ]
    worst = max(found, default=None)
    return worst if worst is not None and worst[0] > HOT_C else None


@rule(
    "copper-meets-steel",
    "Copper joined to steel",
    Severity.CONSIDER,
    "Joined directly, steel rusts away beside copper.",
    PRACTICE,
    "Put a dielectric union, or a length of brass, between.",
    origin="dielectric",
)
def copper_meets_steel(study: Study) -> Iterator[Found]:
    """Joints at which copper and steel pipes meet, and flanged joints of the two."""
    for item in study.items(Trait.JOINS):
        pipes = [
            study.plant.pipes[key] for key in study.plant.pipes_at.get(PortRef(item.id, item.ports[0]), ())
        ]
        kinds = {_metal(one): one.id for one in pipes if one.stage != "to_remove"}
        if "copper" in kinds and "steel" in kinds:
            yield Found(
                (item.id, kinds["steel"], kinds["copper"]),
                f"{kinds['copper']} of copper and {kinds['steel']} of steel meet at {item.id}.",
            )


def _metal(pipe: Pipe) -> str:
    material = str((pipe.tube or {}).get("material", ""))
    return "copper" if "copper" in material else "steel" if "steel" in material else ""


@rule(
    "antifreeze-too-thin",
    "Antifreeze too thin for the site",
    Severity.MEND,
    "It turns to ice in the design cold, and below about a quarter its inhibitors do not work.",
    "freezing points of the fluid's table; margin of 5 °F from memory of ASHRAE Applications",
    "Raise its share.",
)
def antifreeze_too_thin(study: Study) -> Iterator[Found]:
    """Glycol that freezes less than 5 degF below the site's design temperature, in no snow-melt circuit."""
    from core.sizing.families.antifreeze import LEAST_SHARE, MARGIN

    cold = study.plant.site_si.outdoor_design
    for body in study.bodies:
        if study.fluid_kind(body) in ("", "water", "custom") or study.items_in(body, Trait.MELTS_SNOW):
            continue
        items = study.items_in(body, Trait.LIFTS_HEAT, Trait.EXPANDS, Trait.DRIVES, Trait.GIVES_HEAT)
        names = study.systems_of(body)
        if not items or not names:
            continue
        fluid = fluid_of(study.plant.systems[names[0]].si.fluid)
        if fluid.freezing is None:
            continue
        at = next(iter(study.items_in(body, Trait.LIFTS_HEAT, Trait.EXPANDS)), items[0])
        if fluid.freezing > cold - MARGIN + 0.5 or fluid.fraction < LEAST_SHARE:
            yield Found(
                (at.id,),
                f"The {100 * fluid.fraction:.0f} % antifreeze at {at.id} forms ice at "
                f"{study.warm(fluid.freezing)}; the site is designed for {study.warm(cold)}.",
                (Figure("freezing_k", fluid.freezing),),
                severity=None if study.items_in(body, Trait.LIFTS_HEAT) else Severity.CONSIDER,
            )
