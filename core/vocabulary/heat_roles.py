"""What a kind does to heat. Data, nothing solved; `core.thermal` makes the roles of a case of them."""

from __future__ import annotations

from enum import StrEnum
from typing import NamedTuple

from core.vocabulary.waterways import Plain

FAHRENHEIT = 5.0 / 9.0  # [K]
# Design temperature differences, [K], US and SI rounded apart. Common practice, no source.
USUAL_DIFFERENCE = (20.0 * FAHRENHEIT, 10.0)
FLOOR_DIFFERENCE = (15.0 * FAHRENHEIT, 8.0)
MELT_DIFFERENCE = (25.0 * FAHRENHEIT, 14.0)


class Gives(StrEnum):
    """How much heat an emitter with a conductance and a load gives."""

    AS_WANTED = "the lesser of what is wanted and what is possible"
    ALL_POSSIBLE = "all that is possible"


class HeatSource(Plain):
    """Heats what passes to its set temperature, as far as its capacity goes."""


class HeatEmitter(NamedTuple):
    """Gives heat to a room, the ground or outdoors.

    `by_area`: area and construction alone tell its output. `difference`: design temperature difference where
    nothing else tells it, US and SI [K].
    """

    gives: Gives
    by_area: bool = False
    difference: tuple[float, float] = USUAL_DIFFERENCE


class HeatExchanger(Plain):
    """Passes heat between its sides a and b."""


class HeatStore(NamedTuple):
    """Fully mixed store with a loss and an electric element; with `coil`, heated through it as well."""

    coil: bool = False


class MixedStore(Plain):
    """Two ends that mix; a case may give the temperature."""


class HeatedRoom(Plain):
    """A room with a loss, a gain, and the emitters that serve it."""


HeatRole = HeatSource | HeatEmitter | HeatExchanger | HeatStore | MixedStore | HeatedRoom
