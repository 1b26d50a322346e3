"""A headless Chromium driven over its debugging pipe: no network, no package beside the browser itself."""

from __future__ import annotations

import base64
import json
import os
import shutil
import subprocess
import time
from pathlib import Path
from typing import Any

NAMES = ("chromium", "chromium-browser")
PATIENCE = 60.0  # [s] until a browser that does not answer counts as hung


def found() -> str | None:
    """Path of the browser; None where there is none."""
    return next((path for name in NAMES if (path := shutil.which(name))), None)


class Browser:
    """One browser with one page; answers come as plain data."""

    def __init__(self, folder: Path) -> None:
        out_r, self._write = os.pipe()
        self._read, in_w = os.pipe()
        words = [
            *(str(found()), "--headless", "--no-sandbox", "--disable-gpu", "--remote-debugging-pipe"),
            *("--no-first-run", "--disable-extensions", f"--user-data-dir={folder}", "about:blank"),
        ]
        line = ["bash", "-c", f'exec "$@" 3<&{out_r} 4>&{in_w}', "bash", *words]
        self._process = subprocess.Popen(
            line, pass_fds=(out_r, in_w), stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        os.close(out_r)
        os.close(in_w)
        self._number, self._rest = 0, b""
        self.events: list[dict[str, Any]] = []
        target = next(t for t in self._call("Target.getTargets")["targetInfos"] if t["type"] == "page")
        attached = self._call("Target.attachToTarget", targetId=target["targetId"], flatten=True)
        self._session = attached["sessionId"]
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.call(f"{domain}.enable")

    def close(self) -> None:
        """End it."""
        self._process.kill()
        self._process.wait()
        os.close(self._write)
        os.close(self._read)

    def call(self, method: str, **params: Any) -> dict[str, Any]:
        """One command of the page's own."""
        return self._call(method, session=self._session, **params)

    def _call(self, method: str, session: str | None = None, **params: Any) -> dict[str, Any]:
        self._number += 1
        message: dict[str, Any] = {"id": self._number, "method": method, "params": params}
        if session:
            message["sessionId"] = session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        until = time.monotonic() + PATIENCE
        while time.monotonic() < until:
            answer = self._next()
            if answer.get("id") == self._number:
                assert "error" not in answer, answer
                return dict(answer["result"])
            self.events.append(answer)
        raise TimeoutError(method)

    def _next(self) -> dict[str, Any]:
        while b"\0" not in self._rest:
            more = os.read(self._read, 1 << 16)
            assert more, "the browser went away"
            self._rest += more
        line, _, self._rest = self._rest.partition(b"\0")
        return dict(json.loads(line))

    def open(self, page: Path) -> None:
        """Load a file and wait until it is loaded."""
        self.events.clear()
        self.call("Page.navigate", url=page.as_uri())
        while not any(event.get("method") == "Page.loadEventFired" for event in self.events):
            self.events.append(self._next())

    def value(self, expression: str) -> Any:
        """What an expression gives in the page."""
        answer = self.call("Runtime.evaluate", expression=expression, returnByValue=True)
        assert "exceptionDetails" not in answer, answer
        return answer["result"].get("value")

    def until(self, expression: str) -> None:
        """Wait for what an expression says to become true."""
        end = time.monotonic() + PATIENCE
        while not self.value(expression):
            assert time.monotonic() < end, expression
            self.call(
                "Runtime.evaluate", expression="new Promise(r => requestAnimationFrame(r))", awaitPromise=True
            )

    def tap(self, selector: str) -> None:
        """Press and let go in the middle of an element."""
        x, y = self.value(
            f"(() => {{ const e = document.querySelector({json.dumps(selector)}); "
            "e.scrollIntoView({block: 'center'}); const r = e.getBoundingClientRect(); "
            "return [r.left + r.width / 2, r.top + r.height / 2]; })()"
        )
        for kind in ("mousePressed", "mouseReleased"):
            self.call("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    def key(self, key: str, code: int) -> None:
        """One key, down and up."""
        for kind in ("rawKeyDown", "keyUp"):
            self.call("Input.dispatchKeyEvent", type=kind, key=key, windowsVirtualKeyCode=code)

    def screen(self, width: int, height: int, dark: bool = False) -> None:
        """A screen of some size, light or dark."""
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=width < 600,
        )
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.call("Emulation.setEmulatedMedia", features=[scheme])

    def picture(self, out: Path) -> None:
        """What is seen, as PNG."""
        out.write_bytes(base64.b64decode(self.call("Page.captureScreenshot")["data"]))

    @property
    def requests(self) -> list[str]:
        """Addresses asked for since the page was opened."""
        return [
            e["params"]["request"]["url"]
            for e in self.events
            if e.get("method") == "Network.requestWillBeSent"
        ]
