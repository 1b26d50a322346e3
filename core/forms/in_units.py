"""Quantities of fields and tables in the units of the plant, and in the other ones. No Qt."""

from __future__ import annotations

from core import units
from core.errors import Refusal
from core.vocabulary import Property, spellings

_AMERICAN = ("gpm", "gal", "ft", "in", "ft2", "psi", "ft_head", "hp", "MBH", "degF", "delta_degF")


def in_system(text: str, dimension: str | None, system: str) -> str:
    """A quantity of a table in the units of the plant: `-60 degC` is `-76 °F` there."""
    if dimension is None:
        return text
    try:
        value = units.parse(spellings.quantity(text, dimension), dimension)
    except Refusal:
        return text
    if dimension == "time":  # days stay days, and seconds seconds
        return "7 days" if text == "7 day" else spellings.readable(text)
    unit = units.unit_for(dimension, "si" if system == "si" else "us")
    if dimension == "length" and 0 < abs(value) < 0.3:
        unit = "mm" if system == "si" else "in"
    return f"{plain_number(units.to_unit(value, unit) + 0.0, system)} {units.sign_of(unit)}"


def plain_number(value: float, system: str) -> str:
    """Four digits, without powers of ten; thousands are grouped in an American plant alone.

    Examples
    --------
    >>> plain_number(99998.7, "us"), plain_number(99998.7, "si"), plain_number(0.8333, "us")
    ('100,000', '100000', '0.8333')
    """
    if not 0.0 < abs(value) < 1e-3 and abs(value) < 1e4:
        return f"{value:.4g}"
    rounded = float(f"{value:.4g}")
    if abs(value) < 1e4:
        return f"{rounded:.6f}".rstrip("0")
    return f"{rounded:,.0f}" if system == "us" else f"{rounded:.0f}"


def beside(prop: Property, text: str) -> str:
    """The same quantity in the other units, beside the field."""
    if (
        prop.name == "watts"
        or prop.type not in ("quantity", "lift", "target")
        or not text
        or (prop.dimension is None and prop.type == "quantity")
    ):
        return ""
    dimension = prop.dimension if prop.type == "quantity" else _dimension_of(text)
    return other_units(text, dimension)


def other_units(text: str, dimension: str | None) -> str:
    """`= 165.1 mm` for `6 1/2 in`; empty where the text is none or the other system would say the same."""
    if not text or dimension is None:
        return ""
    typed_text = spellings.quantity(text, dimension)
    try:
        value = units.parse(typed_text, dimension)
        _, unit = units.split_quantity(typed_text)
    except Refusal:
        return ""
    american = unit in _AMERICAN or "Btu" in unit
    if dimension == "length" and unit in ("in", "mm", "cm"):
        shown = f"{value * 1000:.4g} mm" if unit == "in" else f"{value / 0.0254:.3g} in"
        return f"= {shown}"
    shown = units.show(value, dimension, "si" if american else "us")
    return "" if shown == text else f"= {shown}"


def _dimension_of(text: str) -> str | None:
    try:
        _, unit = units.split_quantity(spellings.quantity(text, "head", "pressure", "temperature_difference"))
    except Refusal:
        return None
    return next(
        (name for name in ("head", "pressure", "temperature_difference") if unit in units.units_of(name)),
        None,
    )
