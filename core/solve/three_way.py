"""The three-way valve that holds the temperature of ab by what it takes from a and from b."""

from __future__ import annotations

from dataclasses import dataclass

from core.solve.devices import NEAR, Look, MixingValve
from core.thermal.temperatures import STILL

ALIKE = 0.02  # [K] below it a and b are one temperature and no position changes the mix
FARTHEST_START = 0.05  # share of travel from its ends at which it starts from the last answer
MOST_TRIES = 3  # times it goes halfway to see what the two waters are
FIRST_MOVE = 0.5  # error that stands for a leg that runs backward


@dataclass
class ThreeWay(MixingValve):
    """Position x of a three-way valve: share of its travel open to a (`hot` here), the rest to b (`cold`).

    Either leg may be the warmer one, and water may run backward in either. Where it comes in at ab there is
    nothing to mix, and the valve rests where it stands.
    """

    tries: int = 0

    def start_from(self, position: float) -> None:
        """Start where it stood before, off its ends: behind a shut leg no temperature is known."""
        self.position = min(1.0 - FARTHEST_START, max(FARTHEST_START, position))

    def look(self, look: Look) -> float:
        a, b = float(look.w[self.hot.index]), float(look.w[self.cold.index])
        self.note, self.active, self.error = "", False, 0.0
        if abs(a + b) <= STILL:
            return 0.0
        if a + b < 0.0:
            self.note = "parting"
            return 0.0
        if min(a, b) < -STILL and (self.cold if b < 0.0 else self.hot).part not in self.seen:
            return self._push_back(a, float(look.node[self.hot.end]))
        t_a, t_b = self._arriving(self.hot, look), self._arriving(self.cold, look)
        if abs(t_a - t_b) <= ALIKE:
            if abs(t_a - self.set_at) <= NEAR:
                return 0.0
            self.note = "alike"
            return self._halfway()
        return super().look(look)

    def _push_back(self, a: float, mixed: float) -> float:
        """More comes by one leg than ab takes and leaves by the other, whose own water is not known yet."""
        if abs(mixed - self.set_at) <= NEAR:
            return 0.0
        self.active, self.error = True, -FIRST_MOVE if a > 0.0 else FIRST_MOVE
        return FIRST_MOVE

    def _halfway(self) -> float:
        """Where both waters seem alike, one may only stand behind its shut leg: let both come."""
        if self.position == 0.5 or self.tries >= MOST_TRIES:
            return 0.0
        self.tries += 1
        self.position = 0.5
        self.seeker.start_again()
        return 1.0

    def wanted_share(self, t_hot: float, t_cold: float) -> float:
        """Share of the water of a that gives the set temperature, 0..1."""
        if t_hot >= t_cold:
            return super().wanted_share(t_hot, t_cold)
        return 1.0 - super().wanted_share(t_cold, t_hot)
