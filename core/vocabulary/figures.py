"""Figures that a solved case gives of an item: keys of `solve --json`, with title, dimension and meaning."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from core.vocabulary.traits import Report


class Figure(NamedTuple):
    """One figure; `dimension` is "" for shares, speeds and yes or no. The key ends in its unit in SI."""

    key: str
    title: str
    dimension: str
    help: str


_FLOW = Figure("flow_m3_s", "flow", "flow", "Water that passes.")
_WATER = Figure("temperature_c", "temperature", "temperature", "Its water.")
_DUTY = Figure("duty_w", "duty", "power", "Heat it gives to the water.")
_SHORT = Figure("short_w", "short by", "power", "Heat that lacks of what is wanted.")
_SHARE = Figure("duty_share", "runs", "", "Share of the time that its heat is on.")
_SOURCE = (_FLOW, _DUTY, _SHORT, Figure("running", "running", "", "Whether it heats."), _WATER, _SHARE)
_TANK = (_WATER, Figure("duty_w", "duty", "power", "Heat that its water absorbs."), _SHARE)
_POINT = (Figure("pressure_pa", "pressure", "pressure", "Pressure over that of the air."), _WATER)

FIGURES: Mapping[Report, tuple[Figure, ...]] = {
    Report.THROUGH: (_FLOW,),
    Report.POINT: _POINT,
    Report.MAIN: (*_POINT, Figure("flow_m3_s", "flow", "flow", "Water that comes in.")),
    Report.PUMP: (
        _FLOW,
        Figure("head_m", "head", "head", "Head it gives."),
        Figure("running", "running", "", "Whether it runs."),
        Figure("speed", "speed", "", "Share of its full speed."),
    ),
    Report.SOURCE: _SOURCE,
    Report.HEAT_PUMP: (
        *_SOURCE,
        Figure("power_w", "power", "power", "Electric power it takes."),
        Figure("cop", "COP", "", "Heat it gives for the power it takes."),
    ),
    Report.EMITTER: (
        _FLOW,
        Figure("wanted_w", "needed", "power", "Heat wanted of it."),
        Figure("delivered_w", "delivered", "power", "Heat it gives."),
        _SHORT,
    ),
    Report.EXCHANGER: (
        Figure("duty_w", "duty", "power", "Heat that passes between its sides."),
        Figure("effectiveness", "effectiveness", "", "Share of the most heat that could pass."),
        Figure("a_flow_m3_s", "a flow", "flow", "Water that passes side a."),
        Figure("b_flow_m3_s", "b flow", "flow", "Water that passes side b."),
    ),
    Report.TANK: _TANK,
    Report.COIL_TANK: (
        *_TANK,
        Figure("coil_duty_w", "coil duty", "power", "Heat that its coil gives."),
        Figure("coil_flow_m3_s", "coil flow", "flow", "Water that passes its coil."),
    ),
    Report.TWO_ENDS: (
        _SHARE,
        Figure(
            "cross_flow_m3_s", "crossing flow", "flow", "Water that passes from its upper to its lower end."
        ),
        Figure("upper_temperature_c", "upper temperature", "temperature", "Water at its upper end."),
        Figure("lower_temperature_c", "lower temperature", "temperature", "Water at its lower end."),
    ),
    Report.MIXING: (
        _FLOW,
        Figure("hot_share", "share of hot", "", "Share of the mix from the hot side."),
        _WATER,
    ),
    Report.SHARING: (
        _FLOW,
        Figure("a_flow_m3_s", "a flow", "flow", "Water that passes way a toward ab."),
        Figure("b_flow_m3_s", "b flow", "flow", "Water that passes way b toward ab."),
        Figure("a_share", "a share", "", "Share of the flow at ab that passes a."),
        Figure("position", "position", "", "Share of its travel open to a."),
        _WATER,
    ),
    Report.BYPASS: (_FLOW, Figure("across_pa", "across", "pressure", "Pressure across it.")),
    Report.MANIFOLD: (Figure("flow_m3_s", "flow", "flow", "Water in its trunk."),),
    Report.OUTLET: (Figure("flow_m3_s", "flow", "flow", "Water drawn."), _WATER),
    Report.USES: (_FLOW, Figure("uses_m3_s", "uses", "flow", "Water it uses up."), _WATER),
    Report.ROOM: (
        Figure("temperature_c", "temperature", "temperature", "Its air."),
        Figure("wanted_c", "wanted", "temperature", "Temperature wanted."),
        Figure("heat_w", "heat", "power", "Heat of all its emitters while they are on."),
        Figure("loss_w", "loss", "power", "Heat it loses."),
        _SHARE,
    ),
    Report.STAT: (
        Figure("on", "on", "", "Whether it calls."),
        Figure("temperature_c", "temperature", "temperature", "What it feels."),
        Figure(
            "off_temperature_c",
            "off temperature",
            "temperature",
            "What it feels while it is off, where it hunts.",
        ),
        _SHARE,
    ),
    Report.RESET: (Figure("supply_c", "supply", "temperature", "Supply temperature by the weather."),),
}
"""Keys that an item may have; a stat's temperature, a share and the like only where there is one."""

PIPE_FIGURES: tuple[Figure, ...] = (
    _FLOW._replace(help="Water that passes; positive from its start to its end."),
    Figure("velocity_m_s", "velocity", "velocity", "Mean velocity, with the sign of the flow."),
    Figure("reynolds", "Reynolds", "", "Reynolds number."),
    Figure("drop_pa", "pressure loss", "pressure", "By friction, fittings and k, with the flow's sign."),
    Figure("temperature_in_c", "temperature in", "temperature", "Water at its start."),
    Figure("temperature_out_c", "temperature out", "temperature", "Water at its end."),
    Figure("pressure_in_pa", "pressure in", "pressure", "Pressure over that of the air at its start."),
    Figure("pressure_out_pa", "pressure out", "pressure", "Pressure over that of the air at its end."),
)
"""Figures that a solved case gives of a pipe."""
