"""The text of Help, "How Wetside counts": what a plumber should know of how figures are reached.

Each line here is kept true by the module that it is about, whose docstring says the same more exactly.
"""

from __future__ import annotations

from typing import NamedTuple


class Section(NamedTuple):
    """A heading and its paragraphs."""

    title: str
    paragraphs: tuple[str, ...]


TITLE = "How Wetside counts"

SECTIONS = (
    Section(
        "Before you rely on a figure",
        (
            "Wetside does sums on what you typed. It does not see the job. Hot water scalds, lukewarm "
            "water can breed Legionella, closed vessels burst, gas and electricity kill. The local code, "
            "the authority having jurisdiction and a licensed trade come first.",
            "A case that says “not solved” has no figures to build by. Its note says where and why. "
            "Solved cases are checked once more against the laws of flow and heat; one that does not keep "
            "them is not called solved.",
            "Every case stands alone and starts cold. The order in which you look at cases, and what you "
            "edited before, do not change an answer.",
        ),
    ),
    Section(
        "Flow",
        (
            "Every loop is balanced so that the head of the circulators, and of warm water rising, meets "
            "the pressure drop of pipes, fittings, valves and equipment. What you leave out drops no "
            "pressure: a valve without a Cv, a floor circuit without tube and loops.",
            "A valve size is the bore: 3/4 in is 19.05 mm. Tube sizes are trade names. Fittings follow "
            "Crane TP-410.",
            "A mixing valve without a Cv gets a very wide one (50). A three-way valve without a position "
            "or a target stands halfway.",
            "A flow setting holds flow in both directions. A fill valve gives no steady flow: a closed "
            "loop takes none. A pressure reducer passes water forward only. A differential bypass is shut "
            "below its setting.",
            "A heat trap only drops pressure. Water creeping up and down inside one pipe is not counted.",
            "Where nothing but warm water drives a loop, both directions are tried. A flow that keeps "
            "turning round is shown as no flow.",
        ),
    ),
    Section(
        "Heat",
        (
            "Heat is carried by mass flow and the fluid's own heat capacity at its temperature. All flows "
            "of heat in a solved case add up.",
            "A source heats to its set point, or as far as its capacity goes. Electric or fuel input is "
            "what the output needs at the efficiency you gave.",
            "Between two rows of a heat pump's table, capacity runs straight along the supply "
            "temperature, then straight along the outdoor temperature. Outside the table it stays at the "
            "last row. Defrost and cycling losses are not counted.",
            "An exchanger counts as counter-flow when both sides run as drawn, or both in reverse. With "
            "one side reversed it is parallel flow and carries less.",
            "Water that flows but is not heated anywhere stands at the indoor temperature of the site, or "
            "at the one its pipes name.",
            "A fixture without a set temperature that has both pipes mixes to 105 °F (common practice, no "
            "source). That is no protection from scalding: use a listed mixing valve, and measure at the "
            "tap.",
        ),
    ),
    Section(
        "When there is too little heat",
        (
            "A load that is just a figure (a load item, or a floor, melt circuit or radiator with a load "
            "and no heat output per degree) wants its heat whatever the water temperature. When its "
            "sources cannot carry all such loads, each gets the same share, the largest with which a "
            "running source still leaves at its set point.",
            "Loads are cut with the sources whose water reaches them. Loads on water that nothing heats "
            "get nothing. A water supply, or a tank that you hold at a temperature, makes up for its own "
            "users only, not for those behind an exchanger or coil.",
            "Emitters with a heat output per degree are not cut. They give less as their water gets colder.",
        ),
    ),
    Section(
        "Thermostats and aquastats",
        (
            "A thermostat or aquastat that a case leaves free works by itself. One that holds a room or "
            "tank runs for the share of time that keeps the place at its set temperature. Where the water "
            "brings too little it is on all the time and the place gets colder; where nothing is needed "
            "it is off.",
            "An aquastat on flowing water that neither stays on nor off cycles. Heat is then the mean "
            "over time, with the water at the sensor in the middle of the differential.",
            "Some plants have no steady state: each position of a control brings about the other. The "
            "note then names the two states between which it swings.",
            "Of several thermostats that heat one place, the one set higher runs first. The next one runs "
            "only where the first cannot hold the place.",
            "Switches and signals that depend on themselves start off.",
        ),
    ),
    Section(
        "Rooms",
        (
            "A typed heat loss wins over the envelope (walls, windows, floor, ceiling, air changes), and "
            "that over past fuel use. Degree days count from 65 °F unless you give a base.",
            "A room without any of these is shown at the temperature it wants. A room kept off drifts to "
            "where its loss meets its gains.",
            "A room on a circuit that other thermostats switch gets heat for their share of the time. "
            "Domestic hot water with priority leaves rooms the rest of the time.",
        ),
    ),
    Section(
        "Tanks",
        (
            "A tank without taps of your own has top, hot, supply, return, cold and bottom at usual "
            "heights (from memory). A coil sees the tank's temperature at its own height.",
            "In a steady case a tank may be held at temperatures you give. In a case of minutes or hours "
            "its water warms and cools from where it began.",
            "For sizing, seven tenths of a storage tank are usable (a published rule; the working names "
            "it). A peak lasts ten minutes, and a buffer keeps its source running ten minutes.",
        ),
    ),
    Section(
        "Calls, receptacles and the year",
        (
            "Calls are the thermostats and switches that run something. Where there are none, receptacles "
            "with a load count. Hand valves count as open when Wetside asks which circuits can be called.",
            "Every electric load counts as continuous. Where current is not known, no receptacle is "
            "called good.",
            "Each case lasts all its hours of the year. Thermostats are taken to come and go "
            "independently. One heater fewer leaves out the largest.",
            "Part load moves the weather toward indoors, and typed loads with it; snow melting stays as "
            "it is.",
            "Hot water from 50 °C (122 °F) up is checked for boiling at the pressure where it is, with "
            "the air pressure of the site's altitude.",
        ),
    ),
    Section(
        "Sizing",
        (
            "The design temperature difference is what a delta-T circulator holds, else that of the rated "
            "point, else 15 °F for floors, 25 °F for snow melting, 20 °F for others (common practice, no "
            "source). What flows as drawn does not change it.",
            "A pipe is sized for what all circuits behind it need together. What flows as drawn counts only "
            "where none of them says what it needs.",
            "A circulator serves when its curve meets the critical path at 98 % of the flow. The one "
            "drawn stays as long as it uses at most 1.3 times the least power.",
            "Velocity limits of copper rule a size out for drinking water. In closed loops they are only "
            "said.",
            "An expansion tank is sized to nine tenths of the lowest relief setting, less the pressure by "
            "which that place exceeds the tank. A relief valve must carry all that the sources can give, "
            "those behind an exchanger included. Relief valves, expansion and combustion safety are for "
            "licensed practice to confirm.",
            "Antifreeze is chosen to freeze 5 °F below the outdoor design temperature (from memory). Never "
            "put it into drinking water.",
        ),
    ),
    Section(
        "A second circulator",
        (
            "Wetside tries a copy of the circulator beside it, full speed, running with it, in series and "
            "in parallel. It is worth it only with at least 5 % more flow, or heat where heat was short, "
            "and no other circuit put short or reversed.",
            "Whether it fits is flange to flange with both flanges (1/2 in each where you gave none; "
            "common practice, no source). Unknown lengths give “unknown”.",
        ),
    ),
    Section(
        "Papers and the logbook",
        (
            "Flow, velocity and pressure drop carry no sign; the arrow tells the direction. A pipe's "
            "temperature is the one where its water comes in.",
            "The sheet shows the first case unless you choose another, in the units the plant was last "
            "seen in.",
            "The logbook only grows. An entry asks to be looked at again when a figure leaves the "
            "recorded one by more than its limit (10 % where you set none; temperatures against 20 K).",
        ),
    ),
)
"""In the order in which the page shows them."""
