"""Who makes runs: local processes, two by default, or an engine that somebody else runs (`cluster_at`).

All through Python's standard executor interface. A local process ends with the program that began it, and
breaks off its run when that is cancelled.
"""

from __future__ import annotations

import multiprocessing
import os
import threading
import time
from collections.abc import Callable, Generator, Iterator, Mapping
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from contextlib import contextmanager
from importlib import import_module
from multiprocessing.synchronize import Event
from queue import Empty, SimpleQueue
from typing import Any, NamedTuple, cast

from core.errors import Refusal, value_text

WORKERS = 2
AT_ONCE = 2 * WORKERS  # runs that are asked for and not made
TELL_EVERY = 0.2  # [s]
LOOK_EVERY = 1.0  # [s] at which a worker looks for its program
TRIES = 3  # times a run is begun whose worker is killed
_KIND = "forkserver" if "forkserver" in multiprocessing.get_all_start_methods() else "spawn"
_cancelled: Event | None = None  # in a worker: that of the program that began it


class LocalProcesses(ProcessPoolExecutor):
    """Processes of this program; leaving it in the middle cancels what they do."""

    def __init__(self, workers: int = WORKERS) -> None:
        # Never by a bare fork: whoever asks may have threads, whose locks a forked process would keep.
        context = multiprocessing.get_context(_KIND)
        self.cancelled = context.Event()
        super().__init__(min(workers, os.cpu_count() or 1), context, _begin, (self.cancelled,))

    def __exit__(self, *raised: object) -> bool | None:
        if raised[0] is not None:
            self.cancelled.set()
        self.shutdown(cancel_futures=raised[0] is not None)
        return None


def _begin(cancelled: Event) -> None:
    """In a worker, first of all: end with its program."""
    global _cancelled
    _cancelled = cancelled
    begun_by = os.getppid()

    def watch() -> None:
        while os.getppid() == begun_by:
            time.sleep(LOOK_EVERY)
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def keep_on() -> bool:
    """Whether the run that a worker makes is still wanted."""
    return _cancelled is None or not _cancelled.is_set()


class Made(NamedTuple):
    """One run that is made: its number, and what came of it."""

    number: int
    found: Any


def each_made(
    make: Callable[[], Executor], call: Callable[..., Any], asked: Mapping[int, tuple[Any, ...]], at_once: int
) -> Generator[Made | None, None, None]:
    """Make runs, and tell of each as it is made; None some times a second meanwhile.

    Runs whose worker was killed are begun again. Whoever stops asking ends it.

    Parameters
    ----------
    make : callable
        Gives the executor, again where its workers were killed
    call, asked : callable, mapping
        What is called, with which arguments, by the run's number
    at_once : int
        So many are asked for and not made

    Raises
    ------
    BrokenExecutor
        Where workers are killed again and again
    """
    left, tries = dict(asked), 0
    while left:
        tries += 1
        try:
            with make() as executor:
                for made in _through(executor, call, left, at_once):
                    if made is not None:
                        del left[made.number]
                    yield made
        except BrokenExecutor:
            if tries >= TRIES:
                raise


def _through(
    executor: Executor, call: Callable[..., Any], asked: Mapping[int, tuple[Any, ...]], at_once: int
) -> Iterator[Made | None]:
    todo = list(asked.items())
    waiting: dict[Future[Any], int] = {}
    ready: SimpleQueue[Future[Any]] = SimpleQueue()
    try:
        while todo or waiting:
            while todo and len(waiting) < at_once:
                number, arguments = todo.pop(0)
                future = executor.submit(call, *arguments)
                waiting[future] = number
                future.add_done_callback(ready.put)
            try:
                future = ready.get(timeout=TELL_EVERY)
            except Empty:
                yield None
                continue
            yield Made(waiting.pop(future), future.result())
    finally:
        for future in waiting:
            future.cancel()


@contextmanager
def cluster_at(address: str) -> Iterator[Callable[[], Executor]]:
    """The executor of a dask cluster at an address such as tcp://127.0.0.1:8786.

    Whoever runs a cluster takes care who may reach it: it runs any program that is sent there.

    Raises
    ------
    Refusal
        Where the extra `cluster` is not installed, or nothing answers there
    """
    try:
        distributed: Any = import_module("distributed")
    except ImportError:
        expected = "the extra `cluster`: pip install 'wetside[cluster]'"
        raise Refusal("--cluster", value_text(address), expected) from None
    try:
        client = distributed.Client(address, timeout=10, set_as_default=False)
    except (OSError, ValueError, TypeError) as fault:
        expected = f"the address of a dask scheduler that answers ({fault})"
        raise Refusal("--cluster", value_text(address), expected) from None
    with client:
        yield lambda: cast(Executor, client.get_executor(pure=False))
