"""What the gauges said against what the plant as drawn would show, and what would explain the difference."""
