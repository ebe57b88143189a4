"""Makes the builders that lie beside these tests importable by name."""

import sys
from datetime import UTC
from pathlib import Path

import pytest

from sternwatch.local_time import BoatTime

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
def at_rest(monkeypatch):
    """Clocks in UTC, so that a picture is the same on every machine; not every system can be told its zone."""
    own = BoatTime.zone.fget
    monkeypatch.setattr(BoatTime, "zone", property(lambda clock: own(clock) or UTC))
