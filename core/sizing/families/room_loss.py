"""What each room loses in the design cold: as typed, by envelope, by past fuel use, and what serves it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from core import units
from core.plant.model import Item
from core.sizing.context import Context, MissingInput
from core.sizing.result import Option, Sized
from core.thermal.room_loss import by_envelope, by_past_use, indoor_of, loss_of, typed_loss
from core.vocabulary import Trait
from core.working import Working, derived

APART = 0.25  # share by which two ways may differ before it is said
WAYS = {"typed": "as typed", "envelope": "by its envelope", "past_use": "by past fuel use"}
CAUTIONS = ("An estimate for choosing sizes, not the calculation that a permit may ask for.",)


def size(context: Context) -> list[Sized]:
    """Design loss of every room."""
    names = [i.id for i in context.plant.with_trait(Trait.ROOM)]
    return context.one_by_one(names, "room_loss", partial(_sized, context))


def design_loss(loss: Working, indoor: Working, outdoor: Working) -> Working:
    """Heat lost in the design cold, [W]; H [W/K], T_i and T_o [K]."""
    return derived("Q", "heat lost in the design cold", "power", "H * (T_i - T_o)", loss, indoor, outdoor)


def _sized(context: Context, room: str) -> Sized:
    item = context.plant.items[room]
    loss = loss_of(context.plant, item)
    if loss is None:
        raise MissingInput(
            f"{room}: neither props.loss nor props.envelope nor props.past_use is given, so none is known"
        )
    indoor = indoor_of(context.plant, item)
    outdoor = context.site("T_o", "outdoor design temperature", "outdoor_design")
    whole = design_loss(loss, indoor, outdoor)
    show = context.shown
    used = str(loss.extra.get("by", "typed"))
    words = f"{room}: loses {whole.shown(context.display)} at {outdoor.shown(context.display)} {WAYS[used]}, "
    words += show(float(loss.value), "heat_per_kelvin")
    words += _per_area(context, item, whole) + "."
    words += _served(context, room, float(whole.value))
    options = tuple(_options(context, item, indoor, outdoor, used))
    words += _contradiction(context, options)
    missing = tuple(loss.extra.get("missing", ()))
    cautions = CAUTIONS if used != "typed" else ()
    return Sized(
        room, "room_loss", words, float(whole.value), "w", "power", "", options, "", whole, missing, cautions
    )


def _per_area(context: Context, item: Item, whole: Working) -> str:
    floor = item.si.get("floor")
    if not floor:
        return ""
    return f", {context.shown(float(whole.value) / floor, 'flux')} of floor"


def _served(context: Context, room: str, loss: float) -> str:
    """What the circuits that serve a room are asked for, beside its loss."""
    serving = [item for item in context.plant.with_trait(Trait.HEATS_ROOM) if item.si.get("serves") == room]
    if not serving:
        return " No circuit serves it."
    loads = [float(item.si["load"]) for item in serving if item.si.get("load") is not None]
    if len(loads) < len(serving):
        return ""
    gain = float(context.plant.items[room].si.get("gain") or 0.0)
    total = sum(loads)
    names = " and ".join(item.id for item in serving)
    wants = "want" if len(serving) > 1 else "wants"
    words = f" {names} {wants} {context.shown(total, 'power')}"
    return words + (", enough." if total + gain >= loss * 0.995 else ", less than it loses.")


def _options(context: Context, item: Item, indoor: Working, outdoor: Working, used: str) -> Iterator[Option]:
    """Every way that is given, each as the loss one would type."""
    found = {
        "typed": typed_loss(item),
        "envelope": by_envelope(context.plant, item),
        "past_use": by_past_use(item),
    }
    unit = units.unit_for("heat_per_kelvin", context.display)
    for way, loss in found.items():
        if loss is None:
            continue
        whole = design_loss(loss, indoor, outdoor)
        text = f"{units.to_unit(float(loss.value), unit):.4g} {unit}"
        props = None if way == "typed" else {"loss": text}
        verdict = f"{whole.shown(context.display)} in the design cold"
        figures = {"loss_w_k": float(loss.value), "heat_w": float(whole.value)}
        name = f"{WAYS[way]}, in use" if way == used else WAYS[way]
        yield Option(name, figures, True, verdict, props, whole)


def _contradiction(context: Context, options: tuple[Option, ...]) -> str:
    """A word where two ways lie far apart."""
    if len(options) < 2:
        return ""
    least = min(options, key=lambda option: option.figures["heat_w"])
    most = max(options, key=lambda option: option.figures["heat_w"])
    low, high = least.figures["heat_w"], most.figures["heat_w"]
    if low <= 0.0 or high / low - 1.0 <= APART:
        return ""
    shown = (context.shown(low, "power"), context.shown(high, "power"))
    first, last = (option.name.removesuffix(", in use") for option in (least, most))
    return f" The ways differ: {shown[0]} {first}, {shown[1]} {last}."
