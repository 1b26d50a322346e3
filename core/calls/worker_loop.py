"""Answers questions that come through a pipe, in a process beside the window; the newest question wins."""

from __future__ import annotations

import pickle
import queue
import threading
from collections.abc import Callable, Iterable
from typing import Any, BinaryIO

Answers = Callable[[Any, Callable[[], bool]], Iterable[Any]]
"""A question, and whether to go on with it, to the answers as they come."""


def serve(
    source: BinaryIO, sink: BinaryIO, make: Callable[[], Answers], failed: Callable[[Any, str], Any]
) -> None:
    """Answer questions until the source ends.

    Parameters
    ----------
    source, sink : binary streams
        Pickled questions in, pickled answers out
    make : callable
        Gives what answers; asked anew after a fault, so that nothing half done is kept
    failed : callable
        A question and what went wrong, to the answer that says so
    """
    questions: queue.SimpleQueue[Any] = queue.SimpleQueue()

    def listen() -> None:
        try:
            while True:
                questions.put(pickle.load(source))
        except (EOFError, OSError):
            questions.put(None)

    threading.Thread(target=listen, daemon=True).start()
    answers = make()
    while (asked := questions.get()) is not None:
        while not questions.empty():
            newer = questions.get()
            if newer is None:
                return
            asked = newer
        try:
            for answer in answers(asked, questions.empty):
                pickle.dump(answer, sink, pickle.HIGHEST_PROTOCOL)
                sink.flush()
                if not questions.empty():
                    break
        except BrokenPipeError:
            return
        except Exception as broken:  # whoever asked shall hear of it, and may ask again
            said = f"{type(broken).__name__}: {broken}"
            pickle.dump(failed(asked, said), sink, pickle.HIGHEST_PROTOCOL)
            sink.flush()
            answers = make()
