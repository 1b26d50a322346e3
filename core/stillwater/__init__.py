"""Where water stands: which pipes, how long, how much, and where it can be flushed."""
