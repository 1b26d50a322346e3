"""Who has a plant file open: a process of a user on a machine, and whether it still runs."""

from __future__ import annotations

import contextlib
import os
import time
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any

from core.files import processes


@dataclass(frozen=True)
class Holder:
    """A process; `started` tells it from a later one with the same number, `since` is a time [s]."""

    pid: int
    host: str
    user: str
    started: str
    since: float

    def data(self) -> dict[str, Any]:
        return asdict(self)

    @property
    def here(self) -> bool:
        """Whether it is, or was, on this machine: only then can be told whether it still runs."""
        return self.host == _host()

    @property
    def me(self) -> bool:
        return self.here and self.pid == os.getpid() and self.started == processes.started(self.pid)

    @property
    def gone(self) -> bool:
        """Whether the process is known to have ended; one on another machine never is."""
        if not self.here:
            return False
        if not processes.runs(self.pid):
            return True
        return bool(self.started) and self.started != processes.started(self.pid)

    def words(self) -> str:
        """Such as `anna on shed (process 4711)`."""
        return f"{self.user} on {self.host} (process {self.pid})"


def myself() -> Holder:
    """This process, from now on."""
    pid = os.getpid()
    return Holder(pid, _host(), _user(), processes.started(pid), time.time())


def read_holder(data: Mapping[str, Any]) -> Holder:
    """A holder as it was written; ValueError where it is none."""
    pid, since = data.get("pid"), data.get("since")
    if not isinstance(pid, int) or not isinstance(since, (int, float)) or pid <= 0:
        raise ValueError("no holder")
    host, user, started = (str(data.get(key, "")) for key in ("host", "user", "started"))
    return Holder(pid, host, user, started, float(since))


@lru_cache(maxsize=1)
def _host() -> str:
    import platform  # slow to import, and seldom asked

    return platform.node()


def _user() -> str:
    import getpass

    with contextlib.suppress(KeyError, OSError, ImportError):
        return getpass.getuser()
    return "somebody"
