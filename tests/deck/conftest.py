"""The console's builders and its folders of its own serve here too, so that these tests run by themselves."""

import socket

import pytest

from console.conftest import own_folders

__all__ = ["free_port", "own_folders"]


@pytest.fixture
def free_port():
    """A port of this machine that nobody has just now."""
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        return held.getsockname()[1]
