"""The loss laws of all branches that may flow, evaluated together. No iteration here."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import cast

import numpy as np
import numpy.typing as npt

from core.hydraulics.circulators import Drive, G
from core.hydraulics.curves import CurveTable
from core.hydraulics.friction import bridge, friction_number
from core.hydraulics.network import Network

Array = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

# Slope beyond a bound (shut, held), [Pa/(kg/s)]: 1 bar leaks 1e-8 kg/s before it is set to zero.
BARRIER = 1e13
FLOOR = 0.001  # slope every branch has at least, [Pa/(kg/s)], so that lossless ways can share
USUAL_BORE = 0.02  # of a branch without any tube, [m]


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
    return Settings(np.zeros(n, bool), np.full(n, np.inf), net.columns.square.copy(), np.zeros(n))


class Laws:
    """Loss and slope of each active branch as functions of its mass flow.

    All ways but circulators lose the same forward and backward, so a branch is summed by the size of its
    flow; its elements lie in the order: tubes with friction, pieces with a drop curve, all else.

    Parameters
    ----------
    net : Network
    active : ndarray of int, shape (m,)
        Branches taken, by number
    """

    def __init__(self, net: Network, active: Indices) -> None:
        self.active = active
        self.m = len(active)
        place = np.full(len(net.branches) + 1, -1, np.intp)
        place[active] = np.arange(self.m)
        mine = place[net.branch_of]
        found = np.flatnonzero(mine >= 0)
        c = net.columns
        rubs, curved = found[c.rubs[found]], found[c.curved[found]]
        es = np.concatenate([rubs, curved, found[~(c.rubs | c.curved)[found]]])
        self.rubbing, self.curved = slice(len(rubs)), slice(len(rubs), len(rubs) + len(curved))
        self.elements = es
        self.at = mine[es]
        self.sign = net.sign_of[es]
        laws = ((self.at[self.rubbing], self._friction), (self.at[self.curved], self._drops))
        self.summed = [(at, law) for at, law in laws if len(at)]
        self.rows = {i: k for k, i in enumerate(es.tolist())}
        bore = c.bore[rubs]
        self.rr = c.roughness[rubs] / bore
        self.bridge = bridge(self.rr)
        self.re_factor = 4.0 / (math.pi * bore * c.count[rubs])
        self.friction_factor = c.length[rubs] / (2.0 * bore**3)
        drops = [(e.curve, e.is_head) for i in curved.tolist() if (e := net.elements[i]).curve is not None]
        self.table = CurveTable([curve for curve, _ in drops if curve is not None])
        self.curve_is_head = np.array([is_head for _, is_head in drops], bool)
        self.minor, self.fall, self.one_way = c.minor[es], c.fall[es], c.one_way[es]
        self.opens_at, self.opens_by_head = c.opens_at[es], c.opens_by_head[es]
        self.upper = np.full(len(es), np.nan)
        narrowest = np.full(self.m, np.inf)
        np.minimum.at(narrowest, self.at[self.rubbing], bore)
        self.bore = np.where(np.isfinite(narrowest), narrowest, USUAL_BORE)

    def prepare(
        self, settings: Settings, rho: Array, mu: Array, weight: Array, friction: Array | None = None
    ) -> None:
        """Take over the properties and settings of this pass (arrays over all elements of the network).

        `weight` is the density of each element's column above that of its body's reference, [kg/m^3];
        `friction` scales the friction of tubes.
        """
        take = self.elements
        self.rho = rho[take]
        self.driving = self._sum(self.sign * (weight[take] * G * self.fall + settings.push[take]))
        self.opens = np.where(self.opens_by_head, self.opens_at * self.rho * G, self.opens_at)
        self.offset = self._sum(self.sign * self.opens)
        self.quad_each = (self.minor + settings.square[take]) / self.rho
        self.quad = self._sum(self.quad_each)
        mu_r = mu[take[self.rubbing]]
        self.re_per_flow = self.re_factor / mu_r
        self.rub = self.friction_factor * mu_r * mu_r / self.rho[self.rubbing]
        if friction is not None:
            self.rub = self.rub * friction[take[self.rubbing]]
        self.rub_slope = self.rub * self.re_per_flow
        rho_c = self.rho[self.curved]
        self.curve_scale = np.where(self.curve_is_head, rho_c * G, 1.0)
        self.curve_volume = 1.0 / rho_c
        self.curve_slope = self.curve_scale * self.curve_volume
        upper = settings.upper[take]
        if not np.array_equal(upper, self.upper):
            self.upper = upper
            self._bounds(upper)
        self.drives = [
            (row, int(self.at[row]), float(self.sign[row]), float(rho[i]), drive)
            for i, drive in settings.drives.items()
            if (row := self.rows.get(i)) is not None
        ]

    def _bounds(self, upper: Array) -> None:
        """Least and most flow of each branch, [kg/s], from what its elements let pass."""
        self.low, self.high = np.full(self.m, -np.inf), np.full(self.m, np.inf)
        some = np.flatnonzero(self.one_way | (upper < np.inf))
        self.bounded = len(some) > 0
        if self.bounded:
            most = upper[some]
            least = np.where(self.one_way[some], 0.0, -most)
            forward = self.sign[some] > 0.0
            np.maximum.at(self.low, self.at[some], np.where(forward, least, -most))
            np.minimum.at(self.high, self.at[some], np.where(forward, most, -least))
            self.low = np.minimum(self.low, self.high)

    def _sum(self, each: Array) -> Array:
        """Sum a quantity of elements into their branches."""
        return cast(Array, np.bincount(self.at, each, self.m))

    def loss(self, w: Array) -> tuple[Array, Array]:
        """Loss along each branch, [Pa], and its slope, [Pa/(kg/s)], at mass flows w, [kg/s]."""
        inside = np.minimum(np.maximum(w, self.low), self.high) if self.bounded else w
        size = np.abs(inside)
        slope = self.quad * size
        loss = slope + FLOOR
        loss *= size
        slope += slope
        slope += FLOOR
        for at, law in self.summed:
            each, each_slope = law(size.take(at))
            loss += np.bincount(at, each, self.m)
            slope += np.bincount(at, each_slope, self.m)
        loss = np.copysign(loss, inside)
        loss += self.offset
        for _, k, sign, rho, drive in self.drives:
            head, dh = drive.head(sign * float(inside[k]) / rho)
            loss[k] -= sign * head * rho * G
            slope[k] -= dh * G
        if self.bounded:
            beyond = w - inside
            loss += BARRIER * beyond
            slope[beyond != 0.0] = BARRIER
        return loss, slope

    def along(self, we: Array) -> Array:
        """Loss of each element of these branches from its start to its end, [Pa], at its own flow, [kg/s]."""
        size = np.abs(we)
        each = self.quad_each * size * size
        each[self.rubbing] += self._friction(size[self.rubbing])[0]
        each[self.curved] += self._drops(size[self.curved])[0]
        each = np.asarray(np.copysign(each, we))
        for row, _, _, rho, drive in self.drives:
            each[row] -= drive.head(float(we[row]) / rho)[0] * rho * G
        return each

    def _friction(self, size: Array) -> tuple[Array, Array]:
        """Friction of the tubes, [Pa], and slope, [Pa/(kg/s)], at sizes of flow, [kg/s]."""
        g, slope = friction_number(self.re_per_flow * size, self.rr, self.bridge)
        return self.rub * g, self.rub_slope * slope

    def _drops(self, size: Array) -> tuple[Array, Array]:
        """Drops of the pieces with a curve, [Pa], and slope, [Pa/(kg/s)], at sizes of flow, [kg/s]."""
        y, slope = self.table.at(size * self.curve_volume)
        return y * self.curve_scale, slope * self.curve_slope
