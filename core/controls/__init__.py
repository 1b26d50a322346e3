"""States of devices: which run, and how fast, for given calls and temperatures."""
