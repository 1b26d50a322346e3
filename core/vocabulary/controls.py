"""Kinds of controls: what feels, switches, feeds and sets."""

from __future__ import annotations

from core.vocabulary import item_checks
from core.vocabulary.entry import CONTROLS, kind_of
from core.vocabulary.properties import POWERED_BY, choice, flag, other, quantity
from core.vocabulary.traits import Report, Trait
from core.vocabulary.words import Kind

_CALL = flag("call", "Whether it counts as a call for heat.")

_STAT = (
    other(
        "senses", "place", "What it feels: an item or pipe, and a port or sensor.", typical='["T-1", "mid"]'
    ),
    quantity("set_temperature", "temperature", "Temperature at which it acts.", typical="120 degF"),
    quantity(
        "differential", "temperature_difference", "Width of its band.", default="0 K", typical="10 delta_degF"
    ),
    choice(
        "makes_on",
        ("fall", "rise"),
        "Whether it turns on as it gets colder (fall) or hotter (rise).",
        default="fall",
    ),
    _CALL,
    POWERED_BY,
)

_PRIORITY = (
    other(
        "priority",
        "items",
        "Signals held off while it calls, when it is simulated.",
        typical='["TH-1", "TH-2"]',
    ),
    quantity("priority_limit", "time", "Longest time for which it holds them off.", typical="30 min"),
)
_ON = flag("on", "Whether it is on where no case says otherwise.", default=False)


CONTROL_KINDS: tuple[Kind, ...] = (
    kind_of(
        "aquastat",
        "aquastat",
        CONTROLS,
        (),
        "Switches on water temperature.",
        (*_STAT, *_PRIORITY),
        essential=("senses", "set_temperature", "differential", "makes_on"),
        prefix="AQ",
        report=Report.STAT,
        traits=(Trait.SIGNALS, Trait.STAT, Trait.FEELS_WATER),
    ),
    kind_of(
        "thermostat",
        "thermostat",
        CONTROLS,
        (),
        "Switches on room temperature.",
        _STAT,
        essential=("senses", "set_temperature", "differential", "makes_on"),
        prefix="TH",
        report=Report.STAT,
        traits=(Trait.SIGNALS, Trait.STAT, Trait.FEELS_ROOM),
    ),
    kind_of(
        "switch",
        "switch",
        CONTROLS,
        (),
        "Switched by hand.",
        (_ON, _CALL),
        prefix="SW",
        traits=(Trait.SIGNALS, Trait.SWITCHED_BY_HAND),
    ),
    kind_of(
        "timer",
        "timer",
        CONTROLS,
        (),
        "Switches by the clock. A case that says nothing of it has it off.",
        (
            other(
                "on",
                "intervals",
                "Times of day between which it is on; one may go on past midnight.",
                typical='[["06:00", "08:30"], ["17:00", "22:00"]]',
            ),
            other(
                "days",
                "days",
                "Days on which its intervals begin; all days where absent.",
                typical='["mon", "tue", "wed", "thu", "fri"]',
            ),
            quantity(
                "every",
                "time",
                "Or it is on once in this time, counted from midnight.",
                low="1 s",
                typical="1 h",
            ),
            quantity("for", "time", "How long it is on each time.", low="1 s", typical="10 min"),
        ),
        prefix="TM",
        traits=(Trait.SIGNALS, Trait.TIMED),
        excluding=(("on", "every", "It is on between times of day, or once in a while"),),
        ordered=(("for", "every"),),
        checks=(item_checks.check_timer,),
    ),
    kind_of(
        "outlet",
        "switched outlet",
        CONTROLS,
        (),
        "Feeds what is plugged into it.",
        (
            _ON,
            _CALL,
            quantity("rating", "current", "Current it is made for.", typical="15 A", safety=True),
            quantity("volts", "voltage", "Its voltage.", typical="120 V", safety=True),
            other("switched_by", "signals", "Signals that switch it.", typical='"SW-1"'),
        ),
        prefix="OU",
        traits=(Trait.SIGNALS, Trait.FEEDS_POWER),
    ),
    kind_of(
        "outdoor_reset",
        "outdoor reset",
        CONTROLS,
        (),
        "Sets a supply temperature by the weather.",
        (
            other(
                "line",
                "points",
                "Reset curve: supply at rising outdoor temperatures, straight between, flat beyond.",
                columns=("temperature", "temperature"),
                typical='[["5 degF", "120 degF"], ["60 degF", "80 degF"]]',
            ),
            other("sets", "items", "Id of what it sets, or a list of ids."),
        ),
        prefix="OR",
        report=Report.RESET,
        traits=(Trait.RESETS,),
    ),
)
