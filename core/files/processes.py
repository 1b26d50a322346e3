"""Whether a process still runs, and when it began: on Linux and the like, and on Windows."""

from __future__ import annotations

import contextlib
import os
import sys
from functools import lru_cache
from pathlib import Path
from typing import Any

QUERY_LIMITED = 0x1000
"""PROCESS_QUERY_LIMITED_INFORMATION, Windows API `OpenProcess`; from memory, as are the two below."""
NO_SUCH = 87
"""ERROR_INVALID_PARAMETER: what `OpenProcess` says where no process has the number."""
STILL_ACTIVE = 259


def runs(pid: int) -> bool:
    """Whether a process of this number runs on this machine; True where the system does not say."""
    if sys.platform == "win32":
        return _runs_on_windows(pid)
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    except OSError:
        pass  # somebody else's process: it runs
    return True


def started(pid: int) -> str:
    """What tells a process from a later one of the same number; empty where the system does not say."""
    if sys.platform == "win32":
        return _started_on_windows(pid)
    with contextlib.suppress(OSError, IndexError):
        text = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8", errors="replace")
        return f"{_boot()} {text.rpartition(')')[2].split()[19]}"
    return ""


@lru_cache(maxsize=1)
def _boot() -> str:
    with contextlib.suppress(OSError):
        return Path("/proc/sys/kernel/random/boot_id").read_text(encoding="utf-8").strip()
    return ""


def kernel() -> Any:  # replaced by tests, as there is none elsewhere
    """Windows' library of processes."""
    import ctypes

    return ctypes.WinDLL("kernel32", use_last_error=True)  # type: ignore[attr-defined, unused-ignore]


def last_error() -> int:
    """Why Windows' last call failed."""
    import ctypes

    return int(ctypes.get_last_error())  # type: ignore[attr-defined, unused-ignore]


def _runs_on_windows(pid: int) -> bool:
    import ctypes

    library = kernel()
    library.OpenProcess.restype = ctypes.c_void_p
    handle = library.OpenProcess(QUERY_LIMITED, False, pid)
    if not handle:
        return last_error() != NO_SUCH
    code = ctypes.c_ulong(STILL_ACTIVE)
    library.GetExitCodeProcess(ctypes.c_void_p(handle), ctypes.byref(code))
    library.CloseHandle(ctypes.c_void_p(handle))
    return code.value == STILL_ACTIVE


def _started_on_windows(pid: int) -> str:
    import ctypes

    library = kernel()
    library.OpenProcess.restype = ctypes.c_void_p
    handle = library.OpenProcess(QUERY_LIMITED, False, pid)
    if not handle:
        return ""
    times = [(ctypes.c_ulong * 2)() for _ in range(4)]
    done = library.GetProcessTimes(ctypes.c_void_p(handle), *map(ctypes.byref, times))
    library.CloseHandle(ctypes.c_void_p(handle))
    return f"{times[0][1]}.{times[0][0]}" if done else ""
