"""How large a plant file may be. Beyond these a file is a mistake or mischief, not a plant."""

from __future__ import annotations

LARGEST_FILE = 20 * 1024 * 1024  # [bytes]
DEEPEST = 40  # objects and lists inside one another
MOST_ITEMS = 20_000
MOST_PIPES = 40_000
MOST_SYSTEMS = 200
MOST_CASES = 500
MOST_RECORDS = 20_000
MOST_BENDS = 200
FARTHEST = 1_000_000.0  # board units from the middle
