"""The one flow below which an answer counts as no flow; not the thresholds inside the arithmetic."""

from __future__ import annotations

NO_FLOW = 1e-9  # [m^3/s] the plant file's contract
