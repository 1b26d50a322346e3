"""What the trade calls a kind besides its title, so that those words find it. Trade English, from memory.

A kind may be missing here: then its title, help and group find it.
"""

from __future__ import annotations

from core.vocabulary.kinds import KINDS

TRADE_WORDS: dict[str, tuple[str, ...]] = {
    "joint": ("tee", "tee fitting", "branch", "junction", "wye"),
    "circulator": ("pump", "circulating pump", "booster pump", "recirculation pump"),
    "check_valve": ("check", "non-return valve", "swing check", "spring check", "flow check"),
    "shutoff": (
        "ball valve",
        "gate valve",
        "isolation valve",
        "stop",
        "stop valve",
        "curb stop",
        "angle stop",
        "butterfly valve",
        "valve",
    ),
    "service_valve": ("flush valve", "isolation valve with hose port", "descaling port"),
    "balance_valve": (
        "balancing valve",
        "globe valve",
        "lockshield",
        "flow setter",
        "circuit setter",
        "needle valve",
    ),
    "zone_valve": ("zone", "motorized valve", "solenoid valve", "actuator"),
    "mixing_valve": (
        "mixer",
        "tempering valve",
        "anti-scald valve",
        "shower valve",
        "thermostatic mixing valve",
        "tmv",
    ),
    "three_way_valve": ("diverter", "diverting valve", "priority valve", "3-way valve"),
    "dp_bypass": ("differential pressure bypass", "differential bypass"),
    "fill_valve": ("auto fill", "auto feeder", "feeder", "feed valve", "make-up water"),
    "pressure_reducer": ("pressure-reducing valve", "pressure regulator", "water pressure regulator"),
    "backflow_preventer": ("rpz", "double check", "reduced pressure zone assembly", "backflow"),
    "heat_trap": ("thermal trap", "trap"),
    "spacer": ("pump spacer", "flange spacer"),
    "plug": ("cap", "blank", "stub"),
    "strainer": ("filter", "wye strainer", "y-strainer", "sediment filter"),
    "flow_meter": ("water meter", "meter", "flow sensor"),
    "air_separator": ("air scoop", "air eliminator"),
    "dirt_separator": ("magnetic filter", "sludge separator"),
    "purge_set": ("purge valve", "flush and fill", "fill and purge"),
    "drain": ("boiler drain", "hose bibb", "drain cock", "blowdown"),
    "air_vent": ("bleeder", "air bleeder", "auto vent", "coin vent"),
    "gauge": ("pressure sensor", "manometer"),
    "thermometer": ("temperature gauge", "temperature sensor", "well"),
    "vacuum_breaker": ("anti-siphon", "vacuum relief"),
    "relief_valve": ("pressure-relief valve", "safety valve", "t&p", "temperature and pressure relief valve"),
    "heater": (
        *("tankless heater", "instant heater", "instantaneous heater", "on demand heater"),
        *("tankless water heater", "water heater", "geyser"),
    ),
    "boiler": ("condensing boiler", "mod con", "gas boiler", "combi", "furnace"),
    "heat_pump": ("air-to-water", "ground source", "geothermal", "chiller"),
    "exchanger": ("plate", "plate exchanger", "plate heat exchanger", "heat exchanger", "hx"),
    "tank": ("hot water tank", "cylinder", "storage water heater", "water heater", "store"),
    "coil_tank": ("indirect", "indirect water heater", "indirect tank", "cylinder with coil"),
    "buffer": ("accumulator", "thermal store", "thermal storage"),
    "separator": ("low loss header", "decoupler", "primary-secondary", "closely spaced tees"),
    "expansion_tank": ("bladder tank", "pressure tank", "expansion vessel", "diaphragm tank"),
    "cold_main": ("street main", "city water", "water main", "well pump", "service entrance"),
    "manifold": ("header", "collector", "distributor"),
    "floor_circuit": (
        "radiant floor",
        "underfloor heating",
        "in-floor heat",
        "floor loop",
        "pex loop",
        "loop",
        "slab",
        "floor heat",
    ),
    "melt_circuit": ("driveway", "snow melt", "ice melt"),
    "radiator": ("baseboard", "convector", "panel radiator", "towel warmer", "fin tube"),
    "fan_coil": ("air handler", "unit heater", "hydronic coil", "kickspace heater"),
    "load": ("pool", "hot tub", "spa", "dryer", "process heat"),
    "humidifier": ("steam humidifier",),
    "fixture": (
        *(
            "shower",
            "tap",
            "faucet",
            "sink",
            "lavatory",
            "basin",
            "tub",
            "bath",
            "bathtub",
            "toilet",
            "water closet",
            "urinal",
            "washer",
        ),
        *("hose bibb", "sillcock", "spigot", "hydrant", "dishwasher", "kitchen sink", "shower head"),
    ),
    "room": ("heated zone", "space", "bedroom"),
    "aquastat": (
        "sensor",
        "tank sensor",
        "pipe sensor",
        "tank thermostat",
        "high limit",
        "control",
        "controller",
    ),
    "thermostat": ("sensor", "room sensor", "zone control", "room stat"),
    "switch": ("manual switch", "float switch", "flow switch", "pressure switch", "end switch", "relay"),
    "timer": ("clock", "time clock", "time switch"),
    "outlet": ("receptacle", "plug-in outlet", "socket"),
    "outdoor_reset": ("outdoor sensor", "weather compensation", "reset control", "sensor"),
}

SHORT: dict[str, dict[str, str]] = {
    "prv": {"pressure_reducer": "pressure-reducing valve", "relief_valve": "pressure-relief valve"},
    "tprv": {"relief_valve": "temperature and pressure relief valve"},
    "hx": {"exchanger": "heat exchanger"},
    "tmv": {"mixing_valve": "thermostatic mixing valve"},
    "rpz": {"backflow_preventer": "reduced pressure zone assembly"},
}
"""Short forms and what each stands for: spelled out where one is typed, for some mean two things."""


_FITTING = "is a fitting: select its pipe and count it under Fittings in the particulars."
_LISTED = "is no symbol here: draw what stands for it in the water, such as a joint, and say so in its label."
ELSEWHERE: dict[str, str] = {
    **dict.fromkeys(
        ("elbow", "coupling", "union", "dielectric union", "nipple", "bushing", "adapter", "90", "45"),
        _FITTING,
    ),
    **dict.fromkeys(("water hammer arrestor", "softener", "sump pump", "expansion joint"), _LISTED),
    "glycol": "is a fluid: choose it for the system, in the sheet's particulars.",
    "antifreeze": "is a fluid: choose it for the system, in the sheet's particulars.",
    "insulation": "belongs to a pipe: select it, Insulation in its particulars.",
    "low water cutoff": "is a mark on a boiler: select it, Safety in its particulars.",
    "mixing station": "is an assembly: see the end of the shelf.",
}
"""What is looked for and is no kind: where it is found instead."""


def nothing_by(words: str) -> str:
    """What to say where no kind has such a name."""
    typed = " ".join(words.lower().split())
    for word, where in ELSEWHERE.items():
        if typed and (word == typed or (len(typed) > 2 and word.startswith(typed))):
            return f"{word.capitalize()} {where}"
    return "Nothing on the shelf fits. Try another word of the trade, or look through the groups."


def named_by(words: str) -> list[tuple[str, str]]:
    """Kinds that words of the trade name, best first, and what is meant where it should be spelled out.

    Parameters
    ----------
    words : str
        As typed: a title, a word of the trade, a short form, or parts of any of these

    Returns
    -------
    list of tuple of str
        Kind, and the short form spelled out or the word of the trade that fits; empty where the title does

    Examples
    --------
    >>> named_by("pump")[0], [kind for kind, _ in named_by("PRV")]
    (('circulator', 'pump'), ['pressure_reducer', 'relief_valve'])
    """
    typed = " ".join(words.lower().replace("-", " ").split())
    if not typed:
        return []
    if typed in SHORT:
        return list(SHORT[typed].items())
    found: list[tuple[int, str, str, str]] = []
    for name, kind in KINDS.items():
        title, also = kind.title.lower(), TRADE_WORDS.get(name, ())
        rank, word = _rank(typed, title, also)
        if rank is None and all(
            w in f"{title} {name} {kind.help.lower()} {kind.group}" for w in typed.split()
        ):
            rank = 5
        if rank is not None:
            found.append((rank, title, name, word))
    return [(name, word) for _, _, name, word in sorted(found)]


def _rank(typed: str, title: str, also: tuple[str, ...]) -> tuple[int | None, str]:
    """How well it fits, 0 best, and the word of the trade by which it does; None where it does not."""
    plain = title.replace("-", " ")
    if typed == plain:
        return 0, ""
    spelled = [(one.replace("-", " "), one) for one in also]
    if exact := [one for said, one in spelled if said == typed]:
        return 0, exact[0]
    if plain.startswith(typed):
        return 1, ""
    if begun := [one for said, one in spelled if said.startswith(typed)]:
        return 2, begun[0]
    if f" {typed}" in plain:
        return 3, ""
    parts = typed.split()
    if held := [one for said, one in spelled if all(f" {part}" in f" {said}" for part in parts)]:
        return 4, held[0]
    return (4, "") if all(f" {part}" in f" {plain}" for part in parts) else (None, "")
