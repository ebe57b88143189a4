"""Headless Chromium by its own debugging protocol, as far as these tests need it."""

from __future__ import annotations

import base64
import itertools
import json
import shutil
import subprocess
import time
import urllib.request
from pathlib import Path

import pytest
import websocket

ARGUMENTS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-sync",
    "--disable-background-networking", "--disable-component-update", "--disable-dev-shm-usage", "--hide-scrollbars",
    "--remote-debugging-port=0",
)  # fmt: skip
STARTS_S = 30.0
PHONE = (390, 844)
TABLET = (1024, 768)


def chromium() -> str:
    """Its command; the test is skipped where there is none."""
    found = shutil.which("chromium")
    if found is None:
        pytest.skip("chromium is not installed")
    return found


class Browser:
    """One browser with an empty profile."""

    def __init__(self, profile: Path) -> None:
        self._process = subprocess.Popen(
            [chromium(), *ARGUMENTS, f"--user-data-dir={profile}", "about:blank"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        told, until_s = profile / "DevToolsActivePort", time.monotonic() + STARTS_S
        while not (told.exists() and told.read_text().strip()):
            assert time.monotonic() < until_s, "chromium did not come up"
            time.sleep(0.05)
        self.port = int(told.read_text().split()[0])

    def tab(self, size: tuple[int, int] = PHONE) -> Tab:
        """Another page, of that size."""
        asked = urllib.request.Request(f"http://127.0.0.1:{self.port}/json/new?about:blank", method="PUT")
        with urllib.request.urlopen(asked, timeout=STARTS_S) as answered:
            made = Tab(json.load(answered)["webSocketDebuggerUrl"])
        made.resize(size)
        return made

    def close(self) -> None:
        self._process.terminate()
        self._process.wait(timeout=10.0)


class Tab:
    """One page."""

    def __init__(self, url: str) -> None:
        self._wire = websocket.create_connection(url, timeout=STARTS_S, suppress_origin=True)
        self._ids = itertools.count(1)
        self.said: list[str] = []  # errors that the page wrote
        self.do("Runtime.enable")
        self.do("Log.enable")

    def do(self, method: str, **params):
        """One command; its result."""
        mine = next(self._ids)
        self._wire.send(json.dumps({"id": mine, "method": method, "params": params}))
        while True:
            came = json.loads(self._wire.recv())
            if came.get("method") == "Runtime.exceptionThrown":
                self.said.append(json.dumps(came["params"]["exceptionDetails"])[:400])
            if came.get("id") == mine:
                assert "error" not in came, came
                return came["result"]

    def resize(self, size: tuple[int, int]) -> None:
        wide, high = size
        self.do(
            "Emulation.setDeviceMetricsOverride", width=wide, height=high, deviceScaleFactor=1, mobile=True,
            screenOrientation={"type": "landscapePrimary" if wide > high else "portraitPrimary", "angle": 0},
        )  # fmt: skip

    def open(self, url: str) -> None:
        self.do("Page.navigate", url=url)

    def ask(self, script: str):
        """The value of an expression in the page."""
        return self.do("Runtime.evaluate", expression=script, returnByValue=True)["result"].get("value")

    def wait(self, script: str, within_s: float) -> float:
        """Seconds until an expression is true."""
        begun_s = time.monotonic()
        while not self.ask(script):
            assert time.monotonic() - begun_s < within_s, f"not within {within_s} s: {script} · {self.said}"
            time.sleep(0.05)
        return time.monotonic() - begun_s

    def picture(self, path: Path) -> Path:
        """What is shown, as a PNG."""
        path.write_bytes(base64.b64decode(self.do("Page.captureScreenshot", format="png")["data"]))
        return path

    def close(self) -> None:
        self._wire.close()
