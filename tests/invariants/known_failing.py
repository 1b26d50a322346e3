"""What is known to fail of grids and ordinary rooms: to be emptied as the solver is mended."""

GRIDS_FAILING = frozenset(
    {
        "two-series-load+coil-0.5",
        "two-heater-behind-load+coil-0.5",
        "two-one-idle-load+coil-0.8",
    }  # not settled
)
ROOMS_FAILING: frozenset[int] = frozenset()
SECOND_FAILING: frozenset[int] = frozenset()
ALONE_FAILING: frozenset[int] = frozenset()
