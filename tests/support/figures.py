"""Made-up figures of the right types: what is not given is zero."""

from __future__ import annotations

from dataclasses import MISSING, fields
from typing import Any

from core import figures as f
from core.vocabulary import KINDS
from core.vocabulary.traits import Report

ROLES: dict[Report, type[f.Figures]] = {
    Report.THROUGH: f.ThroughFigures,
    Report.POINT: f.PointFigures,
    Report.MAIN: f.MainFigures,
    Report.PUMP: f.PumpFigures,
    Report.SOURCE: f.SourceFigures,
    Report.HEAT_PUMP: f.HeatPumpFigures,
    Report.EMITTER: f.EmitterFigures,
    Report.EXCHANGER: f.ExchangerFigures,
    Report.TANK: f.TankFigures,
    Report.COIL_TANK: f.CoilTankFigures,
    Report.TWO_ENDS: f.TwoEndsFigures,
    Report.MIXING: f.MixingFigures,
    Report.SHARING: f.SharingFigures,
    Report.BYPASS: f.BypassFigures,
    Report.MANIFOLD: f.ThroughFigures,
    Report.OUTLET: f.OutletFigures,
    Report.USES: f.UseFigures,
    Report.ROOM: f.RoomFigures,
    Report.STAT: f.StatFigures,
    Report.RESET: f.ResetFigures,
}
"""The type in which each kind of report is made."""


def figures_of(role: type[f.Role], given: dict[str, Any]) -> f.Role:
    """Figures of a role; keys that it does not have are left out."""
    needed = {one.name: 0.0 for one in fields(role) if one.default is MISSING}
    return role(
        **{**needed, **{key: value for key, value in given.items() if key in role.__dataclass_fields__}}
    )


def pipe_figures(**given: float) -> f.PipeFigures:
    """Figures of a pipe."""
    return figures_of(f.PipeFigures, given)


def item_figures(kind: str, **given: Any) -> f.Figures:
    """Figures of an item of a kind."""
    report = KINDS[kind].report
    assert report is not None
    return figures_of(ROLES[report], given)
