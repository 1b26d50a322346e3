"""The drawing, its files and its arithmetic, without a window. Imports nothing of its own."""

import os

# Before anything imports numpy: from 100 junctions up its matrix library shares each small solution out among
# threads that wait for one another (200 unknowns on two cores: 3 ms by two threads, 0.3 ms by one).
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
