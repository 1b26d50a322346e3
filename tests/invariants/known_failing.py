"""What is known to fail of grids and ordinary rooms: to be emptied as the solver is mended."""

GRIDS_FAILING: frozenset[str] = frozenset()
ROOMS_FAILING = frozenset(
    {101}
)  # an aquastat and a mixing valve behind a heat pump and a heater, both scarce
SECOND_FAILING = frozenset({27})  # not worked by hand yet which of the two is right
ALONE_FAILING: frozenset[int] = frozenset()
