"""What Qt needs from the machine, looked at before Qt is touched; and how Qt is loaded. Imports no Qt itself.

Qt ends the whole process when a library of its screen plugin or the display is missing, so there is no
exception to catch: whoever wants a window or a picture asks here first and gets one plain sentence.

`load_qt` runs before anything else of Qt is imported: it takes off PySide's look into the source of every
later module.
"""

import builtins
import ctypes
import gc
import os
import sys
from collections.abc import Iterable, Mapping

# Library -> Debian package that brings it. Read off with ldd from Qt and from its plugins.
DRAWING = {
    "libGL.so.1": "libgl1",
    "libEGL.so.1": "libegl1",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libdbus-1.so.3": "libdbus-1-3",
    "libfontconfig.so.1": "libfontconfig1",
    "libfreetype.so.6": "libfreetype6",
    "libglib-2.0.so.0": "libglib2.0-0",
    "libX11.so.6": "libx11-6",
}
X_WINDOW = {
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-image.so.0": "libxcb-image0",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-randr.so.0": "libxcb-randr0",
    "libxcb-render-util.so.0": "libxcb-render-util0",
    "libxcb-render.so.0": "libxcb-render0",
    "libxcb-shape.so.0": "libxcb-shape0",
    "libxcb-shm.so.0": "libxcb-shm0",
    "libxcb-sync.so.1": "libxcb-sync1",
    "libxcb-xfixes.so.0": "libxcb-xfixes0",
    "libxcb-xkb.so.1": "libxcb-xkb1",
    "libX11-xcb.so.1": "libx11-xcb1",
}
WAYLAND_WINDOW = {
    "libwayland-client.so.0": "libwayland-client0",
    "libwayland-cursor.so.0": "libwayland-cursor0",
}
SELDOM = (5000, 20, 1_000_000)
"""Objects until the newest are searched, searches until those a little older are; and never all of them."""
SCREENLESS = ("offscreen", "minimal", "vnc")


def missing_packages(libraries: Mapping[str, str]) -> list[str]:
    """Debian packages of those libraries that cannot be loaded here, in the table's order."""
    return [package for library, package in libraries.items() if not _loads(library)]


def picture_trouble() -> str:
    """One line saying what is missing to draw without a screen; empty when all is there."""
    return _packages_line(missing_packages(DRAWING)) if _is_linux() else ""


def window_trouble(environment: Mapping[str, str] = os.environ) -> str:
    """One line saying what is missing to open a window; empty when all is there."""
    if not _is_linux():
        return ""
    platform = environment.get("QT_QPA_PLATFORM", "").split(":")[0]
    if platform in SCREENLESS:
        return picture_trouble()
    drawing = missing_packages(DRAWING)
    wayland = environment.get("WAYLAND_DISPLAY", "") if platform != "xcb" else ""
    if wayland and not drawing and not missing_packages(WAYLAND_WINDOW) and _wayland_answers():
        return ""
    display = environment.get("DISPLAY", "")
    missing = drawing + missing_packages(X_WINDOW if display or not wayland else WAYLAND_WINDOW)
    if not display and not wayland:
        return "A window needs a display, and there is none here" + _also(missing)
    if missing:
        return _packages_line(missing)
    if display and _x_answers():
        return ""
    return f"A window needs a display, and none answers at {display or wayland}."


def load_qt() -> None:
    """Load Qt's bindings, and let all that is imported after them come in as fast as Python can.

    They read the source of every module that is imported later, to see whether it wants Qt's names spelled
    otherwise. Nothing here does; looking took a third of the time of every import. Searches for lost objects
    find none while modules are loaded, and took a twentieth of the start.
    """
    gc.set_threshold(*SELDOM)
    import PySide6.QtCore  # noqa: F401

    if (plain := getattr(builtins, "__orig_import__", None)) is not None:
        builtins.__import__ = plain


def _is_linux() -> bool:
    return sys.platform.startswith("linux")


def _loads(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def _packages_line(packages: Iterable[str]) -> str:
    names = " ".join(packages)
    return f"Qt needs system libraries that are missing here: apt-get install {names}" if names else ""


def _also(packages: Iterable[str]) -> str:
    names = " ".join(packages)
    return f"; system libraries are missing too: apt-get install {names}" if names else "."


# A display that is named but gone (a stale DISPLAY after a remote login) would make Qt abort the process.


def _x_answers() -> bool:
    xcb = ctypes.CDLL("libxcb.so.1")
    xcb.xcb_connect.restype = ctypes.c_void_p
    connection = ctypes.c_void_p(xcb.xcb_connect(None, None))
    failed = bool(xcb.xcb_connection_has_error(connection))
    xcb.xcb_disconnect(connection)
    return not failed


def _wayland_answers() -> bool:
    wayland = ctypes.CDLL("libwayland-client.so.0")
    wayland.wl_display_connect.restype = ctypes.c_void_p
    display = wayland.wl_display_connect(None)
    if display:
        wayland.wl_display_disconnect(ctypes.c_void_p(display))
    return bool(display)
