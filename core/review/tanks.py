"""Rules of tanks: at which heights their taps and sensors sit."""

from __future__ import annotations

from collections.abc import Iterator

from core.plant.model import Item, PortRef
from core.review.finding import Figure, Found, Rule, Severity, registrar
from core.review.study import Study
from core.vocabulary import Trait

RULES: list[Rule] = []
rule = registrar(RULES)
PRACTICE = "common practice, no source"
LOW, HIGH = 1.0 / 3.0, 2.0 / 3.0  # shares of its inner height
EQUIPMENT = (Trait.TANK, Trait.MAKES_HEAT, Trait.EXCHANGES_HEAT, Trait.DRIVES, Trait.WATER_STANDS)


@rule(
    "tank-taps-at-the-wrong-height",
    "Tank taps at the wrong height",
    Severity.CONSIDER,
    "Cold water let in high, hot water taken low, or a warm return into the middle mixes the tank: fully "
    "mixed 40 % of it is usable, in layers 84 %.",
    "derived with tank models of ten layers",
    "Cold in at the bottom or by a dip tube, hot out at the top, the source's return in the lower third.",
    origin="tank-ports",
)
def tank_taps(study: Study) -> Iterator[Found]:
    """Tanks whose cold inlet, hot outlet or draw to the source lies in the wrong third."""
    for tank in study.items(Trait.TANK):
        tall = float(tank.si["tall"])
        said = []
        for tap, height in (tank.si.get("taps") or {}).items():
            share = float(height) / tall
            if PortRef(tank.id, tap) not in study.plant.pipes_at:
                continue
            if _cold(study, tank, tap):
                if share > LOW + 0.05:
                    said.append(f"cold water enters at {tap}, {100 * share:.0f} % up")
            elif _to(study, tank, tap, (Trait.DRAWS_WATER, Trait.TEMPERS)) and share < HIGH - 0.05:
                said.append(f"hot water leaves at {tap}, only {100 * share:.0f} % up")
            elif share > LOW + 0.05 and _to_be_heated(study, tank, tap):
                said.append(f"water goes to be heated from {tap}, {100 * share:.0f} % up")
        if said:
            yield Found((tank.id,), f"At {tank.id} {'; '.join(said)}.")


def _cold(study: Study, tank: Item, tap: str) -> bool:
    """Whether a main feeds a tap, not past other equipment."""
    place = PortRef(tank.id, tap)
    mains = [p for one in study.items(Trait.BRINGS_WATER) for p in study.graph.places_of[one.id]]
    others = {one.id for one in study.items(*EQUIPMENT, Trait.MIXES)}
    return place in study.arrows.from_(mains, {*others, ""})


def _to(study: Study, tank: Item, tap: str, goals: tuple[Trait, ...]) -> bool:
    """Whether water from a tap comes to some kind of thing before it comes to other equipment."""
    items = study.plant.items
    stop = {one.id for one in study.items(*EQUIPMENT, Trait.MIXES) if not one.has(Trait.DRIVES)}
    places = study.arrows.from_([PortRef(tank.id, tap)], {*stop, ""})
    return any(_enters(items[p.item], p.port, goals) for p in places if p.item in items and p.item != tank.id)


def _to_be_heated(study: Study, tank: Item, tap: str) -> bool:
    return _to(study, tank, tap, (Trait.MAKES_HEAT,)) and not _charged_at(study, tank, tap)


def _enters(item: Item, port: str, goals: tuple[Trait, ...]) -> bool:
    """Whether a port is where water enters something to be heated, drawn, or mixed as the hot side."""
    if not item.has(*goals):
        return False
    return port == "hot" if item.has(Trait.TEMPERS) else not port.endswith("out")


@rule(
    "sensor-too-high",
    "Tank sensor above what is heated",
    Severity.CONSIDER,
    "Above the coil or the inlet of heated water the sensor feels the cold late: the tank runs out first.",
    PRACTICE,
    "Move the sensor below that level, to about a third to a half of the height.",
    origin="tank-sensor",
)
def sensor_too_high(study: Study) -> Iterator[Found]:
    """Stats that call for heat and feel a tank above its coil, its charging inlet, or its upper quarter."""
    for stat in study.items(Trait.STAT):
        senses = stat.si.get("senses")
        tank = study.plant.items.get(str(senses[0])) if senses else None
        if tank is None or senses is None or not tank.has(Trait.TANK) or len(senses) < 2:
            continue
        if stat.si.get("makes_on") == "rise":
            continue
        at = {**(tank.si.get("taps") or {}), **(tank.si.get("sensors") or {})}.get(str(senses[1]))
        level = _heated_level(study, tank)
        if at is not None and float(at) > level + 0.02:
            yield Found(
                (stat.id, tank.id),
                f"{stat.id} feels {tank.id} at {study.length(float(at))}; it is heated up to "
                f"{study.length(level)}.",
                (Figure("above_m", float(at) - level),),
            )


def _heated_level(study: Study, tank: Item) -> float:
    coil = tank.si.get("coil_heights") or {}
    most = 0.75 * float(tank.si["tall"])
    if coil:
        return max(float(one) for one in coil.values())
    heated = [
        float(height) for tap, height in (tank.si.get("taps") or {}).items() if _charged_at(study, tank, tap)
    ]
    return min(most, max(heated, default=most))


def _charged_at(study: Study, tank: Item, tap: str) -> bool:
    """Whether water from a source or exchanger enters at a tap."""
    here = study.items_in(study.body_of(tank, tap), Trait.MAKES_HEAT)
    heating = here or study.items(Trait.EXCHANGES_HEAT)
    outlets = [PortRef(one.id, port) for one in heating for port in one.ports if port.endswith("out")]
    stop = {one.id for one in study.items(*EQUIPMENT, Trait.MIXES) if not one.has(Trait.DRIVES)}
    return PortRef(tank.id, tap) in study.arrows.from_(outlets, {*stop, ""})
