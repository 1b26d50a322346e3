"""Long work in a process of its own, so that the window's thread has its processor to itself. Latest wins.

Runs a module that answers questions on its standard streams, as `core.calls` does; knows no plants.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import subprocess
import sys
import threading
from typing import Any

from PySide6.QtCore import QObject, Signal

PATIENCE = 5.0  # [s] for the process to end by itself


class WorkerProcess(QObject):
    """One such process; started with the first question, ended by `stop`.

    Signals arrive on the thread that made it. Who asks numbers the questions, and knows old answers by that.
    """

    answered = Signal(object)
    broken = Signal(str)
    """The process ended by itself; the next question starts another."""
    _came = Signal(object)
    _ended = Signal(str)

    def __init__(self, module: str, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._module = module
        self._process: subprocess.Popen[bytes] | None = None
        self._threads: list[threading.Thread] = []
        self._stopped = False
        self._newest: bytes | None = None
        self._wake = threading.Condition()
        self._came.connect(self._arrive)
        self._ended.connect(self._report_end)

    def ask(self, question: Any) -> None:
        """Send a question; one that still waits to be sent is forgotten."""
        if self._stopped:
            return
        load = pickle.dumps(question, pickle.HIGHEST_PROTOCOL)
        if not self.running:
            self._close()
            self._start()
        with self._wake:
            self._newest = load
            self._wake.notify()

    def _arrive(self, answer: object) -> None:
        if not self._stopped:
            self.answered.emit(answer)

    def _report_end(self, text: str) -> None:
        if not self._stopped:
            self.broken.emit(text)

    @property
    def running(self) -> bool:
        return self._process is not None and self._process.poll() is None

    def stop(self) -> None:
        """End the process and the threads that speak with it."""
        self._stopped = True
        self._close()

    def _close(self) -> None:
        process, self._process = self._process, None
        with self._wake:
            self._wake.notify_all()
        if process is None:
            return
        process.terminate()  # what it is in the middle of is wanted by nobody
        try:
            process.wait(PATIENCE)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        for thread in self._threads:
            thread.join(PATIENCE)
        self._threads = []
        for stream in (process.stdin, process.stdout):
            if stream is not None:
                with contextlib.suppress(OSError):
                    stream.close()

    def _start(self) -> None:
        path = os.pathsep.join(part or os.getcwd() for part in sys.path)
        process = subprocess.Popen(
            [sys.executable, "-m", self._module],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            env={**os.environ, "PYTHONPATH": path},
        )
        self._process = process
        self._threads = [
            threading.Thread(target=run, args=(process,), name=f"wetside-process-{name}", daemon=True)
            for name, run in (("ask", self._send), ("hear", self._hear))
        ]
        for thread in self._threads:
            thread.start()

    def _send(self, process: subprocess.Popen[bytes]) -> None:
        """The newest question whenever there is one: a full pipe must not hold up the window."""
        assert process.stdin is not None
        while True:
            with self._wake:
                while self._newest is None and process is self._process:
                    self._wake.wait()
                if process is not self._process:
                    return
                load, self._newest = self._newest, None
            try:
                if load is not None:
                    process.stdin.write(load)
                    process.stdin.flush()
            except OSError:
                return

    def _hear(self, process: subprocess.Popen[bytes]) -> None:
        """Answers as they come. What is unpickled was pickled by our own process."""
        assert process.stdout is not None
        try:
            while True:
                answer = pickle.load(process.stdout)
                if process is not self._process:
                    return
                self._came.emit(answer)
        except (EOFError, OSError):
            why = f"ended ({process.wait()})"
        except Exception as broken:  # an answer that cannot be read must not pass for none
            why = f"could not be understood ({type(broken).__name__}: {broken})"
        if process is self._process and not self._stopped:
            self._ended.emit(f"The process that works beside the window {why}.")
