"""Moves all controls of a case together: Newton's method on their errors, kept inside their travel.

A control at an end of its travel whose error would move it beyond is at rest there; the others meet their
targets (complementarity). A step that makes the errors much worse is halved; where passes bring no headway,
steps become shorter, until either there is some or it is plain that an error jumps over zero.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from core.solve.devices import Device

Array = npt.NDArray[np.float64]

WORSE = 3.0  # times the errors before, beyond which a step is halved: temperatures follow a pass behind
SMALL = 1e-3  # error below which no step is halved: what temperatures still lack is of that size
LEAST_PART = 0.1  # of a step
BETTER = 0.7  # of the least errors so far, which counts as headway
PATIENCE = 8  # passes without headway after which steps become shorter each time they turn back
SHORTER = 0.6
STRAIGHT_ON = 3  # steps one way after which they become longer again
STUBBORN_FROM = 40  # steps after which each control goes where its own error points
BRACKETED_FROM = 12  # steps after which each control stays between the positions that wanted more and less
NARROW = 1e-3  # of the longest step: a bracket narrower than that is forgotten, for others have moved
LEAST_RADIUS = 1e-6  # of the longest steps: below it the errors jump over zero
NOISE = 1e-5  # error below which what does not shrink any more counts as nothing
FLAT = 1e-4  # own slope below which a control counts as moving nothing: it goes where its error points
SOFT = 1e-6  # share by which own slopes are steepened, so that no set of them is singular
NEAR_END = 0.02  # of its travel: from there a step may reach the end


def rest_error(devices: Sequence[Device]) -> float:
    """The furthest any control is from rest, [-]."""
    return max((abs(d.error) for d in devices if not d.at_bound), default=0.0)


class JointNewton:
    """Positions of the controls from pass to pass.

    Attributes
    ----------
    base, step, part : ndarray, ndarray, float
        Positions last accepted, the step tried from there, and the part of it now taken
    jumps_at : str
        A control whose error jumps over zero where it stands, so that no position holds it
    swings : dict
        By control: the errors furthest apart that it has met since there was headway
    rests : bool
        Whether what is left of the errors is no more than the arithmetic can tell
    """

    def __init__(self, devices: Sequence[Device]) -> None:
        self.devices = devices
        self.base = np.array([d.value for d in devices])
        self.step = np.zeros(len(devices))
        self.before = self.best = np.inf
        self.stale = 0
        self.turned, self.straight = False, 0
        self.steps = 0
        self.under, self.over = np.full((2, len(devices)), np.nan)
        self.radius = 1.0
        self.part = 0.0
        self.jumps_at = ""
        self.swings: dict[str, tuple[float, float]] = {}
        self.rests = False

    @property
    def taken(self) -> Array:
        """How far the last step moved each control."""
        return np.asarray([d.value for d in self.devices] - self.base)

    @property
    def given_up(self) -> bool:
        """Whether no step brings the errors down any further."""
        return self.rests or bool(self.jumps_at)

    def jump(self) -> bool:
        """Put controls where they have to go at once; whether any had to."""
        moved = False
        for d in self.devices:
            if d.jump is not None:
                d.value, moved = min(d.high, max(d.low, d.jump)), True
        if moved:
            self.part, self.before, self.best, self.rests = 0.0, np.inf, np.inf, False
        return moved

    def shorten(self, error: float) -> bool:
        """Halve the last step where it made the errors much worse; whether it was."""
        if self.part <= LEAST_PART or error <= max(SMALL, WORSE * self.before):
            return False
        self.part *= 0.5
        self._take(self.base + self.part * self.step)
        return True

    def headway(self, error: float) -> bool:
        """Whether there is hope of headway; where there is none, what stands in its way is marked."""
        if error < BETTER * self.best:
            self.best, self.stale, self.swings = error, 0, {}
            return True
        for d in self.devices:
            low, high = self.swings.get(d.key, (d.error, d.error))
            self.swings[d.key] = (min(low, d.error), max(high, d.error))
        self.stale += 1
        if self.stale > PATIENCE:
            if self.turned:
                self.radius *= SHORTER
            elif self.straight >= STRAIGHT_ON:
                self.radius, self.straight = min(1.0, self.radius / SHORTER), 0
            self.rests = error < NOISE
            if self.radius < LEAST_RADIUS:
                worst = max((d for d in self.devices if not d.at_bound), key=lambda d: abs(d.error))
                self.jumps_at = worst.key
        return not self.given_up

    def move(self, slopes: Array, error: float) -> None:
        """Take a full step.

        Parameters
        ----------
        slopes : ndarray, shape (n, n)
            How the error of each control (row) answers to a step of each (column)
        error : float
            As of `rest_error`
        """
        devices = self.devices
        values = np.array([d.value for d in devices])
        errors = np.array([d.error for d in devices])
        longest = self.radius * np.array([d.longest for d in devices])
        down = values - np.array([max(d.low, d.fence) for d in devices])
        up = np.array([min(d.high, d.ceiling) for d in devices]) - values
        # To an end of its travel by nine tenths at a time: laws bend there, and a step may mistake it.
        fenced = np.array([d.fence > d.low for d in devices])
        down = np.where(fenced, 0.5 * down, np.where(down > NEAR_END, 0.9 * down, down))
        up = np.where(up > NEAR_END, 0.9 * up, up)
        self.steps += 1
        if self.steps > BRACKETED_FROM:  # what rests at an end leaves it only where its error points inward
            rests = np.array([d.at_bound for d in devices])
            down, up = np.where(rests, 0.0, down), np.where(rests, 0.0, up)
        if self.steps > STUBBORN_FROM:
            own = np.diagonal(slopes)
            slopes = slopes - np.diag(np.where(own > 0.0, 2.0 * own, 0.0))
        step = box_step(slopes, errors, -np.minimum(longest, down), np.minimum(longest, up))
        if self.steps > BRACKETED_FROM:
            step = self._bracketed(values, errors, step)
        scale = longest * longest
        self.turned = float((step * self.step / scale).sum()) < 0.0
        self.straight = 0 if self.turned else self.straight + 1
        self.base, self.step, self.part, self.before = values, step, 1.0, error
        self._take(values + step)

    def _bracketed(self, values: Array, errors: Array, step: Array) -> Array:
        """Halve the way to a position that was found to be too far.

        Where limits change, a control's error is nearly flat on either side of its place and steep between.
        """
        wants = np.array([0.0 if d.at_bound else np.sign(d.error) for d in self.devices])
        self.under = np.where(wants > 0.0, values, self.under)
        self.over = np.where(wants < 0.0, values, self.over)
        narrow = NARROW * np.array([d.longest for d in self.devices])
        known = self.over - self.under > narrow  # false where either is not known, or no bracket any more
        ahead = np.where(wants > 0.0, self.over, self.under) - values
        self.under = np.where(known | (wants > 0.0), self.under, np.nan)
        self.over = np.where(known | (wants < 0.0), self.over, np.nan)
        beyond = known & (wants != 0.0) & (step * wants >= np.abs(ahead))
        return np.where(beyond, 0.5 * ahead, step)

    def _take(self, values: Array) -> None:
        for d, value in zip(self.devices, values.tolist(), strict=True):
            d.value = min(d.high, max(d.low, value))


def box_step(slopes: Array, errors: Array, low: Array, high: Array) -> Array:
    """The step within bounds after which, if the slopes hold, every error is nothing or points out of the
    bounds.

    Parameters
    ----------
    slopes : ndarray, shape (n, n)
        How each error (row) answers to each position (column)
    errors, low, high : ndarray, shape (n,)
        Errors before; bounds of the step, at or below 0 and at or above 0

    Returns
    -------
    ndarray, shape (n,)

    Notes
    -----
    A linear complementarity problem with bounds on both sides, solved by active sets (primal-dual:
    Hintermueller, Ito and Kunisch, SIAM J. Optim. 13 (2002) 865). What moves nothing is pushed towards what
    it wants.

    Examples
    --------
    >>> box_step(np.array([[-2.0]]), np.array([1.0]), np.array([-1.0]), np.array([1.0])).round(6).tolist()
    [0.5]
    >>> both = np.array([[-1.0, -1.0], [-1.0, -1.0]])  # two pumps in line that want different flows
    >>> box_step(both, np.array([0.1, -0.2]), np.array([-0.7, -0.7]), np.array([0.7, 0.7])).tolist()
    [0.7, -0.7]
    """
    n = len(errors)
    own = np.diagonal(slopes)
    matrix = slopes + np.diag(np.where(np.abs(own) < FLAT, -FLAT - own, -SOFT * np.abs(own)))
    held = np.sign(errors).astype(int)  # where several answers fit, the one that the errors point to
    step = np.zeros(n)
    for _ in range(4 * n + 8):
        step = np.where(held > 0, high, np.where(held < 0, low, 0.0))
        free = np.flatnonzero(held == 0)
        if len(free):
            step[free] = _solved(matrix[np.ix_(free, free)], -(errors + matrix @ step)[free])
        left = errors + matrix @ step
        new = np.where(held == 0, np.where(step > high, 1, np.where(step < low, -1, 0)), held)
        new[(held > 0) & (left < 0.0)] = 0
        new[(held < 0) & (left > 0.0)] = 0
        if (new == held).all():
            break
        held = new
    return np.clip(step, low, high)


def _solved(matrix: Array, right: Array) -> Array:
    try:
        return np.asarray(np.linalg.solve(matrix, right))
    except np.linalg.LinAlgError:
        return np.asarray(np.linalg.lstsq(matrix, right, rcond=1e-9)[0])
