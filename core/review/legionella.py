"""Rules against Legionella: how hot water is stored and circulated, how cold the cold stays."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from core.plant.model import Item
from core.review.drinking_water import cold_pipes
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.recirculation import circulators
from core.review.scald import store_c
from core.review.sources import tank_stats
from core.review.study import Study
from core.solve.solution import Solution
from core.vocabulary import Trait, signal_names
from core.water.no_flow import NO_FLOW

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
ASK = (
    "Temperatures against Legionella and against scalds are for local code, the health authority and a "
    "licensed plumber: ask what this building must hold."
)
STORE, RETURN, LOOP, COLD = 60.0, 50.0, 48.9, 20.0  # [degC]
GROWS = (25.0, 45.0)  # [degC]
NEAR = 0.1  # [K]


def hot_tanks(study: Study) -> list[Item]:
    """Tanks whose own water is drinking water."""
    return [item for item in study.items(Trait.TANK) if study.is_potable(study.water_body(item))]


@rule(
    "store-too-cool",
    "Hot water stored too cool",
    Severity.CONSIDER,
    "Legionella lives and grows below about {55 °C|131 °F}; at {60 °C|140 °F} it dies within the hour.",
    "OSHA, HSE and ASHRAE Guideline 12, published",
    "Hold {60 °C|140 °F}, with a mixing valve before the taps.",
    origin="store-60",
    ask=ASK,
    solved=True,
)
def store_too_cool(study: Study) -> Iterator[Found]:
    """Tanks of drinking water held below 60 °C."""
    for tank in hot_tanks(study):
        held = [set_at - 273.15 for _, one, set_at in tank_stats(study) if one.id == tank.id]
        t = min(held) if held else store_c(study, tank)
        if t is not None and t < STORE - NEAR:
            words = f"{tank.id} is held at {study.celsius(t)}; {study.celsius(STORE)} keep Legionella down."
            yield Found((tank.id,), words, (Figure("store_c", t, -1),))


def _runs(solution: Solution, pump: Item) -> bool:
    return bool(solution.value(pump.id, "running")) and abs(solution.flow(pump.id) or 0.0) > NO_FLOW


@rule(
    "return-too-cool",
    "Circulation comes back too cool",
    Severity.CONSIDER,
    "Where the return is below {50 °C|122 °F} the far end of the loop lets Legionella grow.",
    "OSHA, ASHRAE Guideline 12 and HSE, published",
    "Raise the flow of the loop, insulate its pipes, or raise the supply within what scalding allows.",
    origin="return-50",
    ask=ASK,
    solved=True,
)
def return_too_cool(study: Study) -> Iterator[Found]:
    """Returns of hot water circulations below 50 °C while they run."""
    for pump in circulators(study):
        run = study.run(pump)
        pipes = run.pipes if run is not None else ()
        for one in study.solutions:
            there = [one.pipes[key].temperature_at(False) for key in pipes if key in one.pipes]
            if _runs(one, pump) and there and min(there) < RETURN - NEAR:
                words = f"Water comes back by {pump.id} at {study.celsius(min(there))}."
                figures = (Figure("return_c", min(there), -1),)
                yield Found((pump.id, pipes[-1]), words, figures, case=one.case)


@rule(
    "loop-too-cool",
    "Circulating hot water too cool",
    Severity.CONSIDER,
    "Every part of a hot water loop should stay above {49 °C|120 °F}, or Legionella settles in it.",
    "CDC, published",
    "Raise the supply within what scalding allows, or the flow, or insulate the pipes.",
    origin="loop-49",
    ask=ASK,
    solved=True,
)
def loop_too_cool(study: Study) -> Iterator[Found]:
    """The coolest pipe of each loop while it runs, where it is below 49 °C."""
    cold = cold_pipes(study)
    for pump in circulators(study):
        circuit: list[str] = []
        for one, stream in study.each():
            if not _runs(one, pump):
                continue
            circuit = circuit or stream.circuit(pump.id)
            moving = study.flowing[one.case]
            hot = [key for key in circuit if key in moving and key not in cold]
            there = [(one.pipes[key].temperature_at(s), key) for key in hot for s in (True, False)]
            worst = min(there, default=None)
            if worst is not None and worst[0] < LOOP - NEAR:
                words = f"{worst[1]} circulates at {study.celsius(worst[0])}."
                figures = (Figure("loop_c", worst[0], -1),)
                yield Found((pump.id, worst[1]), words, figures, case=one.case)


@rule(
    "cold-water-warm",
    "Cold drinking water too warm",
    Severity.CONSIDER,
    "From about {20 °C|68 °F} on Legionella begins to grow in the cold pipes too.",
    "HSE: below 20 °C, published",
    "Lead cold pipes away from hot ones and insulate both.",
    origin="cold-20",
    ask=ASK,
    solved=True,
)
def cold_water_warm(study: Study) -> Iterator[Found]:
    """Mains above 20 °C, and the warmest cold pipe that flows above it."""
    mains = study.items(Trait.BRINGS_WATER)
    typed = [item.si.get("temperature") for item in mains]
    known = [float(t) if isinstance(t, float) else study.plant.site_si.cold_water for t in typed]
    for item, t in zip(mains, known, strict=True):
        if t > COLD + 273.15 + NEAR:
            yield Found((item.id,), f"{item.id} brings water of {study.warm(t)}.", (Figure("cold_k", t),))
    if any(t > COLD + 273.15 for t in known):
        return
    cold = cold_pipes(study) - study.driven  # what circulates is hot water's
    for one in study.solutions:
        there = [
            (found.temperature_at(start), key)
            for key, found in one.pipes.items()
            if key in cold and abs(found.flow_m3_s) > NO_FLOW
            for start in (True, False)
            if study.plant.systems[study.plant.pipes[key].system].use == "potable"
        ]
        worst = max(there, default=None)
        if worst is not None and worst[0] > COLD + NEAR:
            words = f"Cold water in {worst[1]} comes to {study.celsius(worst[0])}."
            yield Found((worst[1],), words, (Figure("cold_c", worst[0]),), case=one.case)


@rule(
    "tank-bottom-lukewarm",
    "Lower part of a tank stays lukewarm",
    Severity.CONSIDER,
    "Legionella grows best between {32 and 42 °C|90 and 108 °F}: a preheat store or a tank bottom left "
    "there breeds it.",
    "WHO, quoted in published guidance",
    "Bring all of it to {60 °C|140 °F} once a day, or take the preheat out of drinking water.",
    origin="tank-stagnant-bottom",
    ask=ASK,
    solved=True,
)
def tank_bottom_lukewarm(study: Study) -> Iterator[Found]:
    """Tanks of drinking water with a part at 25 to 45 °C in some case, and at 60 °C in none."""
    for tank in hot_tanks(study):
        parts: dict[str, list[tuple[float, str]]] = {}
        for one in study.solutions:
            for tap, t in _levels(study, one, tank).items():
                parts.setdefault(tap, []).append((t, one.case))
        low = [
            (t, case, tap)
            for tap, found in parts.items()
            if max([*found, *parts.get("", ())])[0]
            < STORE - NEAR  # where it is warm throughout, so is each part
            for t, case in found
            if GROWS[0] <= t <= GROWS[1]
        ]
        if low:
            t, case, tap = min(low)
            where = f"{tap} of {tank.id}" if tap else tank.id
            words = f"{where} stands at {study.celsius(t)}, and comes to {study.celsius(STORE)} in no case."
            yield Found((tank.id,), words, (Figure("low_c", t, -1),), case=case)


def _levels(study: Study, solution: Solution, tank: Item) -> dict[str, float]:
    """Temperatures of a tank in a case by tap as the case sets them, else of the whole, [degC]."""
    case = next((one for one in study.plant.solve_cases if one.name == solution.case), None)
    said = None if case is None else case.si.tanks.get(tank.id)
    if isinstance(said, Mapping):
        return {tap: float(t) - 273.15 for tap, t in said.items()}
    t = solution.value(tank.id, "temperature_c")
    return {} if t is None else {"": float(t)}


@rule(
    "circulation-on-timer",
    "Hot water circulation on a timer",
    Severity.CONSIDER,
    "Off hours let the loop cool: in hospitals, care homes and hotels circulation should never stop.",
    "OSHA: run continuously, published",
    "Let it run always; in a house at little risk a timer saves heat.",
    origin="recirc-timer",
    ask=ASK,
)
def circulation_on_timer(study: Study) -> Iterator[Found]:
    """Circulators of hot water whose call hangs on the clock."""
    for pump in circulators(study):
        names = {n for prop in ("run_when", "powered_by") for n in signal_names(pump.si.get(prop))}
        chain = names | {more for name in names for more in study.signals.needs.get(name, ())}
        timers = [item.id for item in study.items(Trait.TIMED) if item.id in chain]
        if timers:
            yield Found((pump.id, *timers), f"{pump.id} circulates hot water only while {timers[0]} is on.")
