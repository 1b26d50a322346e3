"""Faults of one line, put in one at a time to see whether a test fails. Not in the ordinary run."""
