"""The first screen waits for nothing heavy: the solver's libraries are loaded behind it."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("numba", "scipy", "matplotlib", "jinja2", "gpxpy", "serial", "pynmea2")


SCREENS = (
    "console.app",
    "console.ashore.start",
    "console.editor.screen",
    "console.ashore.questions",
    "cli.common.session",
    "watch.sessions.playback",
)


@pytest.mark.parametrize("module", [f"sternwatch.{name}" for name in SCREENS])
def test_the_screen_comes_up_without_the_solver(module: str) -> None:
    code = f"import sys, {module}; print([name for name in {HEAVY!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
