"""The figures that a solved case gives of a pipe and of an item: one type for each role in water and heat.

Names are the keys of `solve --json` and end in their unit; temperatures stand in [degC], all else in base SI.
Words and dimensions of the same keys stand in `core.vocabulary.figures`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

Value = float | bool


@dataclass(frozen=True, slots=True)
class Figures:
    """Figures of one pipe or item. None stands for a figure that this one does not have."""

    @property
    def flow(self) -> float | None:
        """Flow along its one way, [m^3/s]; None of what has no single way."""
        return None

    def value(self, key: str) -> Value | None:
        """A figure by its key, as files, papers and clicks name it; None where there is none."""
        found: Value | None = getattr(self, key) if key in self.__dataclass_fields__ else None
        return found

    def as_data(self) -> dict[str, Value]:
        """Plain data for --json."""
        return {key: value for key in self.__dataclass_fields__ if (value := getattr(self, key)) is not None}


Role = TypeVar("Role", bound=Figures)


@dataclass(frozen=True, slots=True)
class PipeFigures(Figures):
    """A pipe: `_in` is its start, `_out` its end; flow, velocity and loss carry the flow's sign."""

    flow_m3_s: float
    velocity_m_s: float
    reynolds: float
    drop_pa: float
    temperature_in_c: float
    temperature_out_c: float
    pressure_in_pa: float
    pressure_out_pa: float

    @property
    def flow(self) -> float:
        """Flow from start to end, [m^3/s]."""
        return self.flow_m3_s

    def temperature_at(self, start: bool) -> float:
        """Temperature at its start or its end, [degC]."""
        return self.temperature_in_c if start else self.temperature_out_c

    @property
    def warmest_c(self) -> float:
        """The warmer of its ends, [degC]."""
        return max(self.temperature_in_c, self.temperature_out_c)

    def pressure_at(self, start: bool) -> float:
        """Pressure at its start or its end, [Pa]."""
        return self.pressure_in_pa if start else self.pressure_out_pa


@dataclass(frozen=True, slots=True)
class ThroughFigures(Figures):
    """What water passes along a single way."""

    flow_m3_s: float

    @property
    def flow(self) -> float:
        """Flow that passes, [m^3/s]."""
        return self.flow_m3_s


@dataclass(frozen=True, slots=True)
class PointFigures(Figures):
    """One point of the water."""

    pressure_pa: float
    temperature_c: float


@dataclass(frozen=True, slots=True)
class MainFigures(PointFigures):
    """Where water comes in."""

    flow_m3_s: float

    @property
    def flow(self) -> float:
        """Flow that comes in, [m^3/s]."""
        return self.flow_m3_s


@dataclass(frozen=True, slots=True)
class PumpFigures(ThroughFigures):
    """A circulator; `speed` is a share of its full speed."""

    head_m: float
    running: bool
    speed: float


@dataclass(frozen=True, slots=True)
class SourceFigures(ThroughFigures):
    """What makes heat; `duty_share` where an aquastat makes it cycle."""

    duty_w: float
    short_w: float
    running: bool
    temperature_c: float
    duty_share: float | None = None


@dataclass(frozen=True, slots=True)
class HeatPumpFigures(SourceFigures):
    """A source that takes electric power by its table; None without one."""

    power_w: float | None = None
    cop: float | None = None


@dataclass(frozen=True, slots=True)
class EmitterFigures(ThroughFigures):
    """What gives heat."""

    wanted_w: float
    delivered_w: float
    short_w: float


@dataclass(frozen=True, slots=True)
class ExchangerFigures(Figures):
    """What passes heat between two waters."""

    duty_w: float
    effectiveness: float
    a_flow_m3_s: float
    b_flow_m3_s: float


@dataclass(frozen=True, slots=True)
class TankFigures(Figures):
    """A store behind taps; `duty_share` where a stat holds it."""

    temperature_c: float
    duty_w: float
    duty_share: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CoilTankFigures(TankFigures):
    """A store with a coil."""

    coil_duty_w: float
    coil_flow_m3_s: float


@dataclass(frozen=True, slots=True)
class TwoEndsFigures(Figures):
    """A separator or buffer; its crossing flow is positive from the upper to the lower end."""

    cross_flow_m3_s: float
    upper_temperature_c: float
    lower_temperature_c: float
    duty_share: float | None = None


@dataclass(frozen=True, slots=True)
class MixingFigures(ThroughFigures):
    """What mixes hot and cold."""

    hot_share: float
    temperature_c: float


@dataclass(frozen=True, slots=True)
class SharingFigures(ThroughFigures):
    """What shares a flow between the ways a and b."""

    a_flow_m3_s: float
    b_flow_m3_s: float
    a_share: float
    position: float
    temperature_c: float


@dataclass(frozen=True, slots=True)
class BypassFigures(ThroughFigures):
    """What opens by the pressure across it."""

    across_pa: float


@dataclass(frozen=True, slots=True)
class OutletFigures(ThroughFigures):
    """What draws water."""

    temperature_c: float


@dataclass(frozen=True, slots=True)
class UseFigures(ThroughFigures):
    """What uses up a part of the water that passes."""

    uses_m3_s: float
    temperature_c: float


@dataclass(frozen=True, slots=True)
class RoomFigures(Figures):
    """A room: `heat_w` while its emitters are on, `duty_share` of the time."""

    temperature_c: float
    wanted_c: float
    heat_w: float
    loss_w: float
    duty_share: float


@dataclass(frozen=True, slots=True)
class StatFigures(Figures):
    """A stat and what it senses; `off_temperature_c` where it would be wrong both on and off."""

    on: bool
    temperature_c: float | None = None
    off_temperature_c: float | None = None
    duty_share: float | None = None


@dataclass(frozen=True, slots=True)
class ResetFigures(Figures):
    """What sets a temperature by the weather."""

    supply_c: float
