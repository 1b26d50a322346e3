"""The process that goes through runs beside the window: `python -m core.simulation`."""

import sys

from core.simulation.worker_process import serve

if __name__ == "__main__":
    out = sys.stdout.buffer
    sys.stdout = sys.stderr  # nothing that prints may come between the answers
    serve(sys.stdin.buffer, out)
