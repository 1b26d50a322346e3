"""Which tests reach a package: tried in this order, until one fails."""

REACH: dict[str, tuple[str, ...]] = {
    "core.calls": ("tests/core/calls", "tests/core/logbook", "tests/core/commands/test_call_sheet.py"),
    "core.controls": ("tests/core/controls", "tests/closed_form", "tests/core/solve"),
    "core.hydraulics": (
        "tests/core/hydraulics",
        "tests/reference/test_friction.py",
        "tests/reference/test_networks.py",
        "tests/reference/test_pumps.py",
        "tests/closed_form",
    ),
    "core.media": ("tests/core/media",),
    "core.plant": ("tests/core/plant",),
    "core.sizing": (
        "tests/core/sizing",
        "tests/reference/test_sizing.py",
        "tests/core/commands/test_size.py",
    ),
    "core.solve": ("tests/core/solve", "tests/closed_form", "tests/invariants/test_gone_wrong.py"),
    "core.thermal": (
        "tests/core/thermal",
        "tests/core/solve",
        "tests/reference/test_heat.py",
        "tests/reference/test_exchangers.py",
        "tests/closed_form",
        "tests/invariants/test_heat_grids.py",
    ),
    "core.water": ("tests/core/water", "tests/core/sizing", "tests/core/calls"),
}


def reaching(package: str) -> tuple[str, ...]:
    """The tests that reach a package or module; the package's own folder where nothing is said."""
    known = max((name for name in REACH if f"{package}.".startswith(f"{name}.")), key=len, default="")
    return REACH[known] if known else (package.replace("core", "tests/core", 1).replace(".", "/"),)
