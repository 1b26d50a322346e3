"""The process that makes call sheets beside the window: `python -m core.calls`."""

import sys

from core.calls.worker_process import serve

if __name__ == "__main__":
    out = sys.stdout.buffer
    sys.stdout = sys.stderr  # nothing that prints may come between the answers
    serve(sys.stdin.buffer, out)
