"""Makes the builders that lie beside these tests importable by name."""

import sys
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(autouse=True)
def own_folders(tmp_path, monkeypatch):
    """Nothing is read from or written to the folders of whoever runs the tests."""
    for name in ("CONFIG", "DATA", "CACHE", "LOG"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path / name.lower()))
    return tmp_path


@pytest.fixture(autouse=True)
def able_terminal(monkeypatch):
    """A terminal that shows colours and signs, whatever the tests run in."""
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("LC_ALL", "C.UTF-8")


@pytest.fixture
def at_rest(own_folders, monkeypatch):  # noqa: ARG001 - for its folders
    """Clocks in UTC, so that a picture is the same on every machine."""
    monkeypatch.setenv("TZ", "UTC")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()
