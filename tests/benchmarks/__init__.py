"""Speed, measured by hand with `python -m tests.benchmarks`; not part of the ordinary run."""
