"""The feed is light: opening a recording or naming a source loads nothing heavy, and no library of another kind."""

import subprocess
import sys

import pytest


@pytest.mark.parametrize(
    ("module", "absent"),
    [
        ("sternwatch.feed.recording.reader", ("numpy", "serial", "pydantic", "textual", "rich", "socket")),
        ("sternwatch.feed.sensors.board", ("numpy", "serial", "pynmea2", "pydantic", "textual")),
        ("sternwatch.feed.sources.specs", ("numpy", "serial", "pynmea2", "pydantic", "textual")),
        ("sternwatch.feed.sources.hub", ("numpy", "serial", "pynmea2", "pydantic", "textual")),
    ],
)
def test_what_is_not_loaded(module, absent):
    code = f"import sys, {module}; print([name for name in {absent!r} if name in sys.modules])"
    found = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert found.stdout.strip() == "[]"
