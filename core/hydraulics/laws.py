"""The loss laws of all branches that may flow, evaluated together. No iteration here."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from core.hydraulics.circulators import Drive, G
from core.hydraulics.curves import CurveTable
from core.hydraulics.friction import bridge, friction_number
from core.hydraulics.network import Network

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

BARRIER = (
    1e13  # slope beyond a bound (shut, held), [Pa/(kg/s)]: 1 bar leaks 1e-8 kg/s before it is set to zero
)
FLOOR = 0.02  # slope every branch has at least, [Pa/(kg/s)], so that lossless ways can share


@dataclass
class Settings:
    """What a case and its controls set on the elements of a network.

    Attributes
    ----------
    closed : ndarray of bool, shape (n elements,)
        Ways that nothing can pass
    upper : ndarray, shape (n elements,)
        Most flow a way lets pass, [kg/s]; inf where free
    square : ndarray, shape (n elements,)
        Loss coefficient of cv and k as set now, [Pa/(kg/m^3)/(m^3/s)^2]
    push : ndarray, shape (n elements,)
        Made-up driving pressure used to start gravity flow, [Pa]
    drives : dict
        Running circulators by element index
    """

    closed: npt.NDArray[np.bool_]
    upper: Array
    square: Array
    push: Array
    drives: dict[int, Drive] = field(default_factory=dict)


def fresh_settings(net: Network) -> Settings:
    """Everything open, nothing running."""
    n = len(net.elements)
    square = np.array([e.square for e in net.elements])
    return Settings(np.zeros(n, bool), np.full(n, np.inf), square, np.zeros(n))


class Laws:
    """Loss and slope of each active branch as functions of its mass flow.

    Parameters
    ----------
    net : Network
    active : ndarray of int, shape (m,)
        Branches taken, by number
    """

    def __init__(self, net: Network, active: Indices) -> None:
        self.net = net
        self.active = active
        self.m = len(active)
        place = np.full(len(net.branches) + 1, -1, np.intp)
        place[active] = np.arange(self.m)
        mine = place[net.branch_of]
        self.elements = np.flatnonzero(mine >= 0)
        self.at = mine[self.elements]
        self.sign = net.sign_of[self.elements]
        es = [net.elements[i] for i in self.elements]
        self.rows = {int(i): k for k, i in enumerate(self.elements)}
        rubs = [k for k, e in enumerate(es) if e.bore > 0.0 and e.length > 0.0]
        self.friction = np.array(rubs, np.intp)
        bore = np.array([es[k].bore for k in rubs])
        count = np.array([float(es[k].count) for k in rubs])
        self.rr = np.array([es[k].roughness / es[k].bore for k in rubs])
        self.bridge = bridge(self.rr) if rubs else np.zeros((4, 0))
        self.re_factor = 4.0 / (math.pi * bore * count)
        self.friction_factor = np.array([es[k].length for k in rubs]) / (2.0 * bore**3)
        self.minor = np.array([_minor(e.k, e.bore, e.count) for e in es])
        self.fall = np.array([e.z_start - e.z_end for e in es])
        curved = [k for k, e in enumerate(es) if e.curve is not None and e.kind != "circulator"]
        self.curved = np.array(curved, np.intp)
        self.table = CurveTable([c for k in curved if (c := es[k].curve) is not None])
        self.curve_is_head = np.array([es[k].is_head for k in curved], bool)
        self.one_way = np.array([e.one_way for e in es], bool)
        self.opens_at = np.array([e.opens_at for e in es])

    def prepare(self, settings: Settings, rho: Array, mu: Array, weight: Array) -> None:
        """Take over the properties and settings of this pass (arrays over all elements of the network).

        `weight` is the density of each element's column above that of its body's reference, [kg/m^3].
        """
        take = self.elements
        self.rho = rho[take]
        self.driving = self._sum(weight[take] * G * self.fall + settings.push[take])
        self.offset = self._sum(self.opens_at)
        self.quad = (self.minor + settings.square[take]) / self.rho
        f = self.friction
        rho_f, mu_f = self.rho[f], mu[take][f]
        self.re_per_flow = self.re_factor / mu_f
        self.rub = self.friction_factor * mu_f * mu_f / rho_f
        upper = settings.upper[take]
        low = np.where(self.one_way, 0.0, -upper)
        forward = self.sign > 0
        self.low = np.full(self.m, -np.inf)
        self.high = np.full(self.m, np.inf)
        np.maximum.at(self.low, self.at, np.where(forward, low, -upper))
        np.minimum.at(self.high, self.at, np.where(forward, upper, -low))
        self.low = np.minimum(self.low, self.high)
        rho_c = self.rho[self.curved]
        self.curve_scale = np.where(self.curve_is_head, rho_c * G, 1.0)
        self.drives = [
            (self.rows[i], int(self.at[self.rows[i]]), float(self.sign[self.rows[i]]), float(rho[i]), d)
            for i, d in settings.drives.items()
            if i in self.rows
        ]

    def _sum(self, along: Array) -> Array:
        """Sum a quantity counted along each element into its branch."""
        return np.bincount(self.at, self.sign * along, self.m)

    def loss(self, w: Array) -> tuple[Array, Array]:
        """Loss along each branch, [Pa], and its slope, [Pa/(kg/s)], at mass flows w, [kg/s]."""
        inside = np.minimum(np.maximum(w, self.low), self.high)
        loss_e, slope_e = self.along(self.sign * inside[self.at])
        loss = np.bincount(self.at, self.sign * loss_e, self.m)
        slope = np.bincount(self.at, slope_e, self.m)
        beyond = w - inside
        loss += FLOOR * inside + self.offset + BARRIER * beyond
        slope += FLOOR
        slope[beyond != 0.0] = BARRIER
        return loss, slope

    def along(self, we: Array) -> tuple[Array, Array]:
        """Loss, [Pa], and slope, [Pa/(kg/s)], of each element of these branches at its own flow, [kg/s]."""
        size = np.abs(we)
        slope_e = 2.0 * self.quad * size
        loss_e = 0.5 * slope_e * we
        if len(self.friction):
            f = self.friction
            g, slope = friction_number(self.re_per_flow * size[f], self.rr, self.bridge)
            loss_e[f] += np.copysign(self.rub * g, we[f])
            slope_e[f] += self.rub * self.re_per_flow * slope
        if len(self.curved):
            c = self.curved
            rho = self.rho[c]
            y, dy = self.table.at(size[c] / rho)
            loss_e[c] += np.copysign(y * self.curve_scale, we[c])
            slope_e[c] += dy * self.curve_scale / rho
        for row, _, _, rho, drive in self.drives:
            head, dh = drive.head(float(we[row]) / rho)
            loss_e[row] -= head * rho * G
            slope_e[row] -= dh * G
        return loss_e, slope_e


def _minor(k: float, bore: float, count: int) -> float:
    """Loss coefficient of fittings, [Pa/(kg/m^3)/(m^3/s)^2]: k rho v^2/2 at the bore."""
    if k <= 0.0 or bore <= 0.0:
        return 0.0
    area = math.pi * bore * bore / 4.0 * count
    return k / (2.0 * area * area)
